"""The most valuable walk of one crew-day by dynamic programming over the clock: a relaxation of its possible orders.

A walk may come back to a task it has forgotten; it remembers those of a few neighbours of where it stands, so short
loops are out. Times are cut to whole steps and waits cost nothing. Every possible order is such a walk with at most its
own cost, so what no walk beats, no order beats.
Source: R. Baldacci, A. Mingozzi, R. Roberti, "New route relaxation and pricing strategies for the vehicle routing
problem", Operations Research 59 (2011), from memory, not checked.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.problem import Order, Planned, Problem

STEPS = 480
"""The longest day is cut into about so many steps."""

REMEMBERED = 4
"""Neighbours that a walk remembers at each node: a walk over 40 nodes is found in a tenth of a second."""

REMEMBERED_FOR_MORE = 6
"""The same where a bound is not yet near: three times the work, and up to a fifth of the gap less."""

NEVER = -1e18
SAME_WINDOW_SECONDS = 600
"""Days whose windows differ by less share a table with the wider of both windows."""


@dataclass(frozen=True)
class Walk:
    """A walk of a group of crew-days: its tasks in order (with repeats), its value, and what it costs at the least."""

    tasks: tuple[int, ...]
    cost: int
    """Seconds away, or metres where the problem puts distance first."""
    value: float
    visits: tuple[int, ...] = ()
    """The visit of each task, of the group's first route."""

    def order(self) -> Order:
        """Return the stops of the walk; empty where it comes back to a task and so is no order."""
        if len(set(self.tasks)) < len(self.tasks):
            return ()
        stops: list[Planned] = []
        for visit, task in zip(self.visits, self.tasks, strict=True):
            if stops and stops[-1].visit == visit:
                stops[-1] = Planned(visit, tuple(sorted({*stops[-1].tasks, task})))
            else:
                stops.append(Planned(visit, (task,)))
        return tuple(stops)


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
    """Shape (nodes,): the earliest finish in seconds after the earliest departure."""
    late: NDArray[np.int64]
    """Shape (nodes,): the latest finish."""
    longest: int
    """Seconds from the earliest departure to home-by."""
    rest: int
    rest_after: int
    waits: bool
    """Whether a crew may come to some node before its window opens, other than first."""


def days_of(problem: Problem, tasks: frozenset[int]) -> list[Day]:
    """Return the crew-days with these tasks; those that hardly differ are one, with the wider of their windows."""
    groups: list[Day] = []
    for number in range(len(problem.routes)):
        day = _day(problem, number, tasks)
        for index, other in enumerate(groups):
            joined = _joined(problem, other, day)
            if joined is not None:
                groups[index] = joined
                break
        else:
            groups.append(day)
    return groups


def _day(problem: Problem, number: int, tasks: frozenset[int]) -> Day:
    rules = problem.routes[number]
    drive, work = rules.drive_seconds, rules.work_seconds
    found = [
        (index, visit, task)
        for index, visit in enumerate(problem.visits)
        if visit.day == rules.day and drive[0, visit.place] >= 0 and drive[visit.place, 0] >= 0
        for task in visit.tasks
        if task in tasks and rules.allowed[task]
    ]
    nodes = [(visit, task) for _, visit, task in found]
    places = np.array([visit.place for visit, _ in nodes], dtype=np.int64)
    works = np.array([work[task] for _, task in nodes], dtype=np.int64)
    set_ups = np.array([problem.tasks[task].set_up_seconds for _, task in nodes], dtype=np.int64)
    entries = set_ups + np.array([visit.walk_seconds for visit, _ in nodes], dtype=np.int64)
    ways = drive[np.ix_(places, places)].astype(np.int64)
    same = places[:, None] == places[None, :]
    again = np.maximum(0, set_ups[None, :] - set_ups[:, None])
    seconds = np.where(same, again, ways + entries[None, :]) + works[None, :]
    lasts = np.array([visit.last_of_day for visit, _ in nodes], dtype=bool)
    ids = np.array([task for _, task in nodes], dtype=np.int64)
    closed = ((ways < 0) & ~same) | (lasts[:, None] & ~lasts[None, :]) | (ids[:, None] == ids[None, :])
    out = drive[0, places] + entries + works
    opens = np.array([visit.opens for visit, _ in nodes], dtype=np.int64) - rules.earliest_leave
    closes = np.array([visit.closes for visit, _ in nodes], dtype=np.int64) - rules.earliest_leave
    early = np.maximum(out, opens + entries + works)
    seconds = np.where(closed, -1, seconds)
    home = drive[places, 0].astype(np.int64)
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
        waits=bool(((early[None, :] > early[:, None] + seconds) & (seconds >= 0)).any()),
    )


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
    )


@dataclass(frozen=True, eq=False)
class _Limits:
    """When walks may finish: home by `longest`, and `cut` seconds sooner than that and the last window allow."""

    begins: NDArray[np.int64]
    """Shape (nodes,): the earliest finish of a node that comes first."""
    early: NDArray[np.int64]
    """Shape (nodes,): the earliest finish of a node that comes later."""
    longest: int
    rest: int
    """Seconds of break that the walk pays for."""
    cut: int


@dataclass(frozen=True, eq=False)
class _End:
    """Where a walk ends in a table, and what it is worth at home."""

    value: float
    table: NDArray[np.float64]
    step: int
    state: int
    resting: int
    """What its break costs."""


class Pricer:
    """Tables of one crew-day, made once and used for many values of the tasks."""

    def __init__(self, day: Day, remembered: int = REMEMBERED) -> None:
        self.day, self.remembered = day, remembered
        self.nodes = len(day.tasks)
        longest = max(1, day.longest)
        self.step = int(max(1, longest // STEPS))
        self.starts: NDArray[np.int64] = np.zeros(0, dtype=np.int64)
        self.reached: NDArray[np.int64] = self.starts
        if self.nodes:
            self._states()

    def _states(self) -> None:
        """Give the states numbers (node, what is remembered) and list every move between two, sorted by its target."""
        day, nodes = self.day, self.nodes
        reach = np.where(day.seconds >= 0, day.seconds, np.iinfo(np.int64).max)
        near: list[list[int]] = []
        for node in range(nodes):
            tasks: list[int] = []
            for other in np.argsort(np.minimum(reach[node], reach[:, node]), kind="stable"):
                task = int(day.tasks[other])
                if task != day.tasks[node] and task not in tasks and len(tasks) < self.remembered:
                    tasks.append(task)
            near.append(tasks)
        self.masks = 1 << self.remembered
        sources, targets = [], []
        for here in range(nodes):
            for mask in range(1 << len(near[here])):
                known = {task for bit, task in enumerate(near[here]) if mask >> bit & 1} | {int(day.tasks[here])}
                for there in range(nodes):
                    if day.seconds[here, there] < 0 or int(day.tasks[there]) in known:
                        continue
                    kept = sum(1 << bit for bit, task in enumerate(near[there]) if task in known)
                    sources.append(here * self.masks + mask)
                    targets.append(there * self.masks + kept)
        order = np.argsort(np.array(targets, dtype=np.int64), kind="stable")
        self.sources = np.array(sources, dtype=np.int64)[order]
        self.targets = np.array(targets, dtype=np.int64)[order]
        self.arc_seconds = day.seconds[self.sources // self.masks, self.targets // self.masks]
        self.arc_steps = self.arc_seconds // self.step
        self.arc_costs = day.costs[self.sources // self.masks, self.targets // self.masks]
        if targets:
            self.starts = np.flatnonzero(np.diff(self.targets, prepend=-1))
            self.reached = self.targets[self.starts]

    def best(self, values: Mapping[int, float], weight: float, most: int = 12) -> tuple[float, list[Walk]]:
        """Return the highest value of any walk (0 for none), and some walks near it.

        A walk's value is the sum of its tasks' `values` less `weight` times what it costs.
        """
        if not self.nodes:
            return 0.0, []
        day = self.day
        gains = np.array([values.get(int(task), 0.0) for task in day.tasks])
        # With a break somewhere, only the last stop and the way home are sure to come after it. Where crews may wait,
        # it may fall into the wait: then the clock, and the seconds since the first start, each bound the day.
        # Without a break the day is short, however late it begins.
        rest = day.rest
        with_break = [_Limits(day.early, day.early, day.longest, rest, 0 if day.waits else rest)]
        if day.waits and rest:
            with_break.append(_Limits(day.early, day.out, day.longest, rest, rest))
        ends = [self._ends(gains, weight, limits) for limits in with_break]
        top = min(self._top(some) for some in ends)
        if rest:
            ends.append(self._ends(gains, weight, _Limits(day.out, day.out, min(day.longest, day.rest_after), 0, 0)))
            top = max(top, self._top(ends[-1]))
        found = sorted((end for some in ends for end in some), key=lambda end: -end.value)
        return top, [self._walk(end, gains, weight) for end in found[:most]]

    @staticmethod
    def _top(ends: Sequence[_End]) -> float:
        return max((end.value for end in ends), default=0.0)

    def _ends(self, gains: NDArray[np.float64], weight: float, limits: _Limits) -> list[_End]:
        """Return the best walk to each node under these limits."""
        day = self.day
        table = self._table(gains, weight, limits)
        last = np.minimum(day.late, limits.longest - day.home) - limits.cut
        ends = []
        for node in range(self.nodes):
            step = min(int(last[node]) // self.step, len(table) - 1)
            if step < 0:
                continue
            states = table[step, node * self.masks : (node + 1) * self.masks]
            state = int(np.argmax(states))
            if states[state] > NEVER / 2:
                resting = day.rest_cost if limits.rest else 0
                value = float(states[state]) - weight * (int(day.home_costs[node]) + resting)
                ends.append(_End(value, table, step, node * self.masks + state, resting))
        return ends

    def _table(self, gains: NDArray[np.float64], weight: float, limits: _Limits) -> NDArray[np.float64]:
        """Return the best value at each step and state, shape (steps + 1, nodes * masks); waiting is free."""
        day, masks = self.day, self.masks
        steps = max(1, day.longest // self.step)
        width = self.nodes * masks
        table = np.full((steps + 2, width), NEVER)
        flat = table.reshape(-1)
        profit = gains[self.targets // masks] - weight * self.arc_costs
        first = limits.early // self.step
        closing = day.late // self.step
        begin = limits.begins // self.step
        begin_at = {int(step): np.flatnonzero((begin == step) & (closing >= step)) for step in np.unique(begin)}
        opening_value = gains - weight * day.out_costs
        never = (steps + 1) * width
        soonest = int(begin.min() + self.arc_steps.min()) if len(self.starts) else steps + 1
        offsets = self.arc_steps * width - self.sources
        node = self.reached // masks
        clock = np.arange(steps + 1)[:, None]
        open_now = (first[node] <= clock) & (closing[node] >= clock)
        for step in range(steps + 1):
            row = table[step]
            if step:
                row[:] = table[step - 1]
            if step >= soonest:
                position = step * width - offsets
                np.copyto(position, never, where=(self.arc_steps > step))
                ways = flat[position] + profit
                most = np.maximum.reduceat(ways, self.starts)
                most[~open_now[step]] = NEVER
                row[self.reached] = np.maximum(row[self.reached], most)
            begun = begin_at.get(step)
            if begun is not None:
                row[begun * masks] = np.maximum(row[begun * masks], opening_value[begun])
        return table

    def _walk(self, end: _End, gains: NDArray[np.float64], weight: float) -> Walk:
        """Return the walk that ends in a state at a step, found backwards by which move gives its value."""
        day, masks, table, value = self.day, self.masks, end.table, end.value
        step, state = end.step, end.state
        cost = int(day.home_costs[state // masks]) + end.resting
        nodes: list[int] = []
        while True:
            target = float(table[step, state])
            while step and table[step - 1, state] == target:
                step -= 1
            node = state // masks
            nodes.append(node)
            if state % masks == 0 and target == gains[node] - weight * day.out_costs[node]:
                cost += int(day.out_costs[node])
                nodes.reverse()
                tasks = tuple(int(day.tasks[n]) for n in nodes)
                return Walk(tasks, cost, value, tuple(day.visits[n] for n in nodes))
            low, high = np.searchsorted(self.targets, [state, state + 1])
            moves = np.arange(low, high)
            moves = moves[self.arc_steps[moves] <= step]
            profit = gains[node] - weight * self.arc_costs[moves]
            reached = table[step - self.arc_steps[moves], self.sources[moves]] + profit
            move = moves[int(np.argmax(reached))]
            cost += int(self.arc_costs[move])
            step -= int(self.arc_steps[move])
            state = int(self.sources[move])


def pricers(days: Sequence[Day], remembered: int = REMEMBERED) -> list[Pricer]:
    """Return one pricer a day."""
    return [Pricer(day, remembered) for day in days]
