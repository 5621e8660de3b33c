"""Crew-days as walks see them: nodes, the seconds between them, and when they may finish."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.problem import Problem

STEPS = 480
"""Steps of the clock in the table of what may still come."""

MOST_STEPS = 2000
"""The same where the shortest way asks for more; where it asks for more than that, there is no table."""

NO_WAY = 1 << 40
"""Seconds of a drive that there is not."""

SAME_WINDOW_SECONDS = 600
"""Days whose windows differ by less share a table with the wider of both windows."""


@dataclass(frozen=True, eq=False)
class Day:
    """One crew-day, or several that hardly differ, as nodes and arcs."""

    routes: tuple[int, ...]
    tasks: NDArray[np.int64]
    """Shape (nodes,): the task of each node; a task has one node a window."""
    visits: tuple[int, ...]
    """Shape (nodes,): the visit of each node, for the first of the routes."""
    seconds: NDArray[np.int64]
    """Shape (nodes, nodes): drive, set-up and work when going from one node to the next."""
    out: NDArray[np.int64]
    home: NDArray[np.int64]
    costs: NDArray[np.int64]
    """Shape (nodes, nodes): what going from one node to the next costs; seconds, or metres where these come first."""
    out_costs: NDArray[np.int64]
    home_costs: NDArray[np.int64]
    rest_cost: int
    early: NDArray[np.int64]
    """Shape (nodes,): the earliest finish that the window allows, in seconds after the earliest departure."""
    late: NDArray[np.int64]
    """Shape (nodes,): the latest finish."""
    longest: int
    """Seconds from the earliest departure to home-by."""
    rest: int
    rest_after: int
    waits: bool
    """Whether a crew may come to some node before its window opens, other than first."""
    cuts: bool
    """Whether some node may be finished too late though all that follow are in time."""

    @property
    def own_hours(self) -> bool:
        """Return whether a window may bind inside the day: else a break before the first work takes the least light."""
        return self.waits or self.cuts

    @property
    def able(self) -> frozenset[int]:
        """Return the tasks that have a node."""
        return frozenset(int(task) for task in self.tasks)

    @property
    def begins(self) -> NDArray[np.int64]:
        """Return the earliest finish of each node where it comes first, shape (nodes,)."""
        return np.maximum(self.out, self.early)


def days_of(problem: Problem, tasks: frozenset[int]) -> list[Day]:
    """Return the crew-days with these tasks; those that hardly differ are one, with the wider of their windows."""
    groups: list[Day] = []
    for number in range(len(problem.routes)):
        day = day_of(problem, number, tasks)
        for index, other in enumerate(groups):
            joined = _joined(problem, other, day)
            if joined is not None:
                groups[index] = joined
                break
        else:
            groups.append(day)
    return groups


def day_of(problem: Problem, number: int, tasks: frozenset[int]) -> Day:
    """Return one crew-day with these tasks; those done in one stop follow each other by set-up, the longest last."""
    rules = problem.routes[number]
    drive, work = rules.drive_seconds, rules.work_seconds
    found = [
        (index, visit, task)
        for index, visit in enumerate(problem.visits)
        if visit.day == rules.day
        for task in visit.tasks
        if task in tasks and rules.allowed[task]
    ]
    nodes = [(visit, task) for _, visit, task in found]
    places = np.array([visit.place for visit, _ in nodes], dtype=np.int64)
    works = np.array([work[task] for _, task in nodes], dtype=np.int64)
    set_ups = np.array([problem.tasks[task].set_up_seconds for _, task in nodes], dtype=np.int64)
    entries = set_ups + np.array([visit.walk_seconds for visit, _ in nodes], dtype=np.int64)
    ways = drive[np.ix_(places, places)].astype(np.int64)
    numbers = np.array([index for index, _, _ in found], dtype=np.int64)
    same = numbers[:, None] == numbers[None, :]
    again = np.maximum(0, set_ups[None, :] - set_ups[:, None])
    seconds = np.where(same, again, ways + entries[None, :]) + works[None, :]
    lasts = np.array([visit.last_of_day for visit, _ in nodes], dtype=bool)
    ids = np.array([task for _, task in nodes], dtype=np.int64)
    later = (set_ups[:, None] < set_ups[None, :]) | (
        (set_ups[:, None] == set_ups[None, :]) & (ids[:, None] < ids[None, :])
    )
    closed = np.where(same, ~later, ways < 0) | (lasts[:, None] & ~lasts[None, :]) | (ids[:, None] == ids[None, :])
    out = np.where(drive[0, places] < 0, NO_WAY, drive[0, places]) + entries + works
    opens = np.array([visit.opens for visit, _ in nodes], dtype=np.int64) - rules.earliest_leave
    closes = np.array([visit.closes for visit, _ in nodes], dtype=np.int64) - rules.earliest_leave
    early = opens + entries + works
    seconds = np.where(closed, -1, seconds)
    begins = np.maximum(_soonest(out, seconds), early)
    home = np.where(drive[places, 0] < 0, NO_WAY, drive[places, 0]).astype(np.int64)
    costs = (seconds, out, home, rules.break_seconds)
    if problem.distance_first:
        metres = rules.drive_metres.astype(np.int64)
        costs = (metres[np.ix_(places, places)], metres[0, places], metres[places, 0], 0)
    return Day(
        routes=(number,),
        tasks=ids,
        visits=tuple(index for index, _, _ in found),
        seconds=seconds,
        out=out,
        home=home,
        costs=costs[0],
        out_costs=costs[1],
        home_costs=costs[2],
        rest_cost=costs[3],
        early=early,
        late=closes,
        longest=rules.home_by - rules.earliest_leave,
        rest=rules.break_seconds,
        rest_after=rules.break_after_seconds,
        waits=bool(((early[None, :] > begins[:, None] + seconds) & (seconds >= 0)).any()),
        cuts=bool(((closes[:, None] + seconds < closes[None, :]) & (seconds >= 0)).any()),
    )


def _soonest(out: NDArray[np.int64], seconds: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the fewest seconds from leaving base to finishing each node, by way of whatever others."""
    ways = np.where(seconds < 0, NO_WAY, seconds)
    while len(out):
        sooner = np.minimum(out, (out[:, None] + ways).min(axis=0))
        if np.array_equal(sooner, out):
            break
        out = sooner
    return out


def _joined(problem: Problem, one: Day, two: Day) -> Day | None:
    first, second = problem.routes[one.routes[0]], problem.routes[two.routes[0]]
    alike = (
        first.work_seconds == second.work_seconds
        and np.array_equal(one.tasks, two.tasks)
        and np.array_equal(one.seconds, two.seconds)
        and np.array_equal(one.home, two.home)
        and np.array_equal(one.out, two.out)
        and np.array_equal(one.costs, two.costs)
        and (one.rest, one.rest_after) == (two.rest, two.rest_after)
        and abs(one.longest - two.longest) <= SAME_WINDOW_SECONDS
        and np.all(np.abs(one.early - two.early) <= SAME_WINDOW_SECONDS)
        and np.all(np.abs(one.late - two.late) <= SAME_WINDOW_SECONDS)
    )
    if not alike:
        return None
    return Day(
        (*one.routes, *two.routes),
        one.tasks,
        one.visits,
        one.seconds,
        one.out,
        one.home,
        one.costs,
        one.out_costs,
        one.home_costs,
        one.rest_cost,
        np.minimum(one.early, two.early),
        np.maximum(one.late, two.late),
        max(one.longest, two.longest),
        one.rest,
        one.rest_after,
        one.waits or two.waits,
        one.cuts or two.cuts,
    )


def step_of(day: Day) -> int:
    """Return the seconds in a step of the clock of the table of what may still come, 0 where there is no table."""
    longest = max(1, day.longest)
    shortest = int(day.seconds[day.seconds >= 0].min(initial=longest))
    return min(shortest, max(1, longest // STEPS)) if shortest * MOST_STEPS >= longest else 0
