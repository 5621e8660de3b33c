"""All labels of one crew-day's walks looked through, for the best walk that is better than what there is."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from routing.planning.bounds.ng_labels import still_to_come
from routing.planning.bounds.pricing import Pricer, order_of, pricers
from routing.planning.bounds.restricted_master import Effort
from routing.planning.bounds.walk_days import Day, step_of
from routing.planning.exact.elementary_labels import DUE, LONG, RESTED, SHORT, best_whole_walk
from routing.planning.exact.label_room import LabelRoom
from routing.planning.exact.walk_loads import WalkLoads
from routing.planning.labelling.columns import Whole
from routing.planning.model.problem import NO_LIMIT, Order, Problem
from routing.planning.running.stoppable import stoppable

MOST_TABLE = 3_000_000
"""Numbers in one table of what may still come; there are up to 24 of them."""

COMPARED_A_WORK = 5_000_000
"""Labels compared."""

QUICKLY, LONGER = 500, 2_500
"""Labels compared in one step, times the nodes squared, with tables of few neighbours and of more."""

LOOKED_UP, LOOKED_UP_LONGER = 3, 5
"""Neighbours that those tables remember."""

_Together = tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]
"""By goal: what going on is worth, the last row from base; what may still come, as the two tables of a `_View`."""


@dataclass(frozen=True, eq=False)
class _View:
    """One kind of day at the prices of a goal; what may still come, shape (nodes, steps, masks) each."""

    worth: NDArray[np.float64]
    opening: NDArray[np.float64]
    to_come: NDArray[np.float64]
    """By the clock; before the break too, since it may fall into a wait."""
    to_come_unwaited: NDArray[np.float64]
    """Before the break, by the seconds since the first start or, on a short day, since leaving base."""


@dataclass(frozen=True, eq=False)
class PricedGoal:
    """What each node brings at the prices of a goal, less `weight` times its cost."""

    gains: NDArray[np.float64]
    weight: float
    constant: float
    """What the value of a walk must come to that meets the goal."""
    views: dict[int, _View] = field(default_factory=dict)
    """By what is to be done about the break."""


@dataclass(frozen=True)
class Sought:
    """A better order, if one was found; whether all labels were looked at; the step to be tried next."""

    order: Order | None
    ended: bool
    step: int
    """0: one value at a time, for as long as it takes."""


class Looking:
    """The labels of one day, and the tables that tell which of them can still meet the goals."""

    def __init__(self, problem: Problem, route: int, day: Day, effort: Effort, loads: WalkLoads) -> None:
        self._problem, self._route, self._day, self._effort, self._loads = problem, route, day, effort, loads
        self.pricer = self._pricer(LOOKED_UP)
        self._tables = self.pricer
        """Of which the tables are: those of more neighbours take longer, and leave fewer labels."""
        self._compared = self._took = 0
        self._quickly, self._longer = (each * len(day.tasks) ** 2 for each in (QUICKLY, LONGER))
        self.interrupted = False
        self._room = LabelRoom(len(loads.most), self.pricer.room.words)
        self._stacks: dict[int, _Together] = {}
        """By what is to be done about the break."""
        self.settled: list[PricedGoal] = []
        """The goals that are met: every beginning of a day must still be able to meet them."""
        self._halt = np.zeros(1, dtype=np.bool_)
        self._seconds, self._legs = ways_from_base(problem, route, day)
        self._late = np.minimum(day.late, (day.longest - day.home).max())
        """Shape (nodes,): the latest finish from which base is still reached from anywhere."""
        self._latest = latest_finishes(day, self._late, self.pricer.places)

    def forget(self) -> None:
        """Forget what was worked out for the prices of one goal, before others are found."""
        self._stacks.clear()

    def _pricer(self, looked_up: int) -> Pricer:
        """Return the day with tables of so many neighbours, or of fewer where they would be too large."""
        steps = self._day.longest // step_of(self._day)
        while looked_up > 1 and (len(self._day.tasks) * steps << looked_up) > MOST_TABLE:
            looked_up -= 1
        return pricers([self._day], more=True, looked_up=looked_up)[0]

    def _view(self, rests: int, goal: PricedGoal) -> _View:
        """Return one kind of day at the prices of a goal; each is worked out once."""
        if rests not in goal.views:
            goal.views[rests] = self._new_view(rests, goal.gains, goal.weight)
        return goal.views[rests]

    def _new_view(self, rests: int, gains: NDArray[np.float64], weight: float) -> _View:
        day, pricer = self._day, self._tables
        resting = day.rest_cost if rests == DUE else 0
        ending = -weight * (day.home_costs + resting).astype(np.float64)
        last = np.minimum(day.late, day.longest - day.home)
        worth = gains[None, :] - weight * day.costs
        opening = gains - weight * day.out_costs
        any_time = np.zeros_like(day.early)

        def table(early: Whole, last: Whole) -> NDArray[np.float64]:
            return still_to_come(day.seconds, worth, early, self._late, last, ending, pricer.moves, pricer.step)

        rested = table(day.early, last)
        unwaited = rested
        if rests == SHORT:
            unwaited = table(any_time, np.minimum(day.late, min(day.longest, day.rest_after) - day.home))
        elif rests == DUE and day.own_hours:
            unwaited = table(any_time, last - day.rest)
        return _View(worth, opening, rested, unwaited)

    def sought(
        self, goal: PricedGoal, floor: float, points: Whole, best: Whole, step: int, *, best_cost: bool = False
    ) -> Sought:
        """Return the best order that is better than `best`, which is written over, and the step to be tried next.

        `floor` is what the goal's value must pass, but for what is the best so far.
        """
        goals, found, ended = (*self.settled, goal), None, True
        floors = np.array([*(one.constant for one in self.settled), floor])
        before = self._compared
        most = self._compared_left()
        if step:
            most = min(most, self._quickly if self._tables is self.pricer else max(self._longer, 4 * self._took))
        for rests in (DUE, SHORT) if self._day.rest else (RESTED,):
            together = self._together(rests, goals)
            nodes, whole = self._looked_through(rests, together, floors, points, best, most, best_cost=best_cost)
            ended = ended and whole
            if nodes is not None:
                found = order_of((self._day.visits[node] for node in nodes), self._day.tasks[nodes].tolist())
        if self._compared - before > self._quickly // 2 and self._tables is self.pricer:
            self._sharpen(goals)
            return Sought(found, ended, step)
        if ended:
            took = self._compared - before
            longer = 1 if took > max(self._longer // 4, 2 * self._took) else 4 if 2 * took < 3 * self._took else 2
            self._took = took
            return Sought(found, ended, longer * max(1, step))
        return Sought(found, ended, step // 4)

    def _sharpen(self, goals: Sequence[PricedGoal]) -> None:
        """Look up more neighbours from now on."""
        self._tables = self._pricer(LOOKED_UP_LONGER)
        self._stacks.clear()
        for goal in goals:
            goal.views.clear()

    def _together(self, rests: int, goals: Sequence[PricedGoal]) -> _Together:
        """Return one kind of day at the prices of all goals; worked out once for each goal that is sought."""
        if rests not in self._stacks:
            views = [self._view(rests, goal) for goal in goals]
            self._stacks[rests] = (
                np.stack([np.vstack([view.worth, view.opening]) for view in views]),
                np.stack([view.to_come for view in views]),
                np.stack([view.to_come_unwaited for view in views]),
            )
        return self._stacks[rests]

    def _looked_through(
        self,
        rests: int,
        together: _Together,
        floors: NDArray[np.float64],
        points: Whole,
        best: Whole,
        most: int,
        *,
        best_cost: bool,
    ) -> tuple[list[int] | None, bool]:
        """Return the nodes of the best walk of one kind of day, None where none is better than `best`.

        The second answer says whether all were looked through.
        """
        day, problem, pricer, room = self._day, self._problem, self._tables, self._room
        most_away = problem.routes[self._route].most_away
        most_away = LONG if most_away == NO_LIMIT else most_away
        # Where no window binds inside the day, a break before the first work is as good as any, and is never too late.
        timed = best_cost or rests == SHORT or most_away != LONG or (rests == DUE and day.own_hours)
        worth, to_come, unwaited = together
        loads = self._loads

        def call() -> tuple[int, bool, int]:
            return best_whole_walk(
                self._seconds, worth, self._legs, points, loads.amounts, loads.most, loads.beside, loads.limits,
                loads.excess, loads.each, loads.supplies, loads.packs, loads.stocks, day.early, self._late, day.home,
                day.longest, most_away, day.rest, rests, day.rest_after, day.own_hours, timed, best_cost,
                problem.distance_first, pricer.places, self._latest, pricer.near, to_come, unwaited, pricer.step,
                floors, best, most, self._halt, room.node, room.rested, room.finish, room.took, room.waited,
                room.leaves, room.soonest, room.metres, room.points, room.value(len(floors)), room.used, room.memory,
                room.before, room.link, room.following,
            )  # fmt: skip

        def stop() -> None:
            self._halt[0] = True

        (label, ended, compared), stopped = stoppable(call, stop)
        self._compared += compared
        self.interrupted = self.interrupted or stopped
        return (room.nodes(label) if label >= 0 else None), ended and not stopped

    def _compared_left(self) -> int:
        left = self._effort.work * COMPARED_A_WORK - self._compared
        if self._effort.deadline is not None:
            left = (self._effort.deadline - time.monotonic()) * COMPARED_A_WORK
        return max(0, int(left))


def ways_from_base(problem: Problem, route: int, day: Day) -> tuple[Whole, Whole]:
    """Return seconds from node to node, the last row from base, and metres, the last column to base too."""
    metres = problem.routes[route].drive_metres.astype(np.int64)
    visits = np.array([*day.visits, -1])
    places = np.array([*(problem.visits[visit].place for visit in day.visits), 0])
    legs: Whole = np.where(visits[:, None] == visits[None, :], 0, metres[np.ix_(places, places)])
    return np.vstack([day.seconds, day.out]), legs


def latest_finishes(day: Day, late: Whole, places: Whole) -> Whole:
    """Return the latest finish of each node from which each task can still be done, shape (nodes, tasks)."""
    nodes = len(day.tasks)
    ways = np.where(day.seconds >= 0, day.seconds, LONG // 4)
    np.fill_diagonal(ways, 0)
    for via in range(nodes):
        ways = np.minimum(ways, ways[:, via, None] + ways[None, via, :])
    latest = np.full((nodes, int(places.max()) + 1), -LONG, dtype=np.int64)
    for node in range(nodes):
        latest[:, places[node]] = np.maximum(latest[:, places[node]], late[node] - ways[:, node])
    return latest
