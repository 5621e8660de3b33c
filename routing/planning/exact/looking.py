"""All labels of one crew-day's walks looked through, for the best walk that is better than what there is."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from routing.planning.bounds.restricted_master import Effort
from routing.planning.bounds.walk_days import Day
from routing.planning.bounds.walks import order_of
from routing.planning.exact.day_arrays import DayArrays, Tables
from routing.planning.exact.elementary_labels import best_route
from routing.planning.exact.walk_loads import WalkLoads
from routing.planning.labelling.columns import DUE, HALT, LOADS, RESTED, SHORT, Whole
from routing.planning.labelling.label_room import LabelRoom, nodes_of
from routing.planning.model.problem import NO_LIMIT, Order, Problem
from routing.planning.running.compiled_ahead import DAY, wait_for
from routing.planning.running.stoppable import stoppable

COMPARED_A_WORK = 5_000_000
"""Labels compared."""

QUICKLY, LONGER = 500, 2_500
"""Labels compared in one step, times the nodes squared, with tables of few neighbours and of more."""

LOOKED_UP, LOOKED_UP_LONGER = 5, 6
"""Neighbours that those tables remember."""

_Together = tuple[NDArray[np.float64], NDArray[np.float64]]
"""By goal: what going on is worth; what may still come, the two tables of each."""


@dataclass(frozen=True, eq=False)
class PricedGoal:
    """What each node brings at the prices of a goal, less `weight` times its cost."""

    gains: NDArray[np.float64]
    weight: float
    constant: float
    """What the value of a walk must come to that meets the goal."""
    views: dict[int, Tables] = field(default_factory=dict)
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
        self._problem, self._route, self._day, self._effort = problem, route, day, effort
        self._arrays = DayArrays(problem, route, day, loads)
        self.pricer = self._arrays.pricer(LOOKED_UP)
        self._tables = self.pricer
        """Of which the tables are: those of more neighbours take longer, and leave fewer labels."""
        self._compared = self._took = 0
        self._quickly, self._longer = (each * len(day.tasks) ** 2 for each in (QUICKLY, LONGER))
        self.interrupted = False
        self._room = LabelRoom()
        self._stacks: dict[int, _Together] = {}
        """By what is to be done about the break."""
        self.settled: list[PricedGoal] = []
        """The goals that are met: every beginning of a day must still be able to meet them."""

    def forget(self) -> None:
        """Forget what was worked out for the prices of one goal, before others are found."""
        self._stacks.clear()

    def _view(self, rests: int, goal: PricedGoal) -> Tables:
        """Return one kind of day at the prices of a goal; each is worked out once."""
        if rests not in goal.views:
            goal.views[rests] = self._arrays.tables(self._tables, rests, goal.gains, goal.weight)
        return goal.views[rests]

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
        self._tables = self._arrays.pricer(LOOKED_UP_LONGER)
        self._stacks.clear()
        for goal in goals:
            goal.views.clear()

    def _together(self, rests: int, goals: Sequence[PricedGoal]) -> _Together:
        """Return one kind of day at the prices of all goals; worked out once for each goal that is sought."""
        if rests not in self._stacks:
            views = [self._view(rests, goal) for goal in goals]
            self._stacks[rests] = (
                np.stack([view.worth for view in views]),
                np.stack([[view.to_come for view in views], [view.to_come_unwaited for view in views]]),
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
        wait_for(DAY)
        day, arrays, pricer = self._day, self._arrays, self._tables
        # Where no window binds inside the day, a break before the first work is as good as any, and is never too late.
        limited = self._problem.routes[self._route].most_away != NO_LIMIT
        timed = best_cost or rests == SHORT or limited or (rests == DUE and day.own_hours)
        rules = arrays.rules(rests, pricer.step, least_cost=best_cost, timed=timed, most_compared=most)
        nodes = arrays.with_scores(points)
        worth, to_come = together
        labels, value, bits = self._room.shaped(LOADS + arrays.loads.shape[1], len(floors), pricer.words)

        def call() -> tuple[int, bool, int]:
            return best_route(
                arrays.ways, nodes, rules, arrays.loads, arrays.limits, arrays.latest, pricer.near, worth, to_come,
                floors, best, labels, value, bits[0],
            )  # fmt: skip

        def stop() -> None:
            rules[HALT] = 1

        (label, ended, compared), stopped = stoppable(call, stop)
        self._compared += compared
        self.interrupted = self.interrupted or stopped
        return (nodes_of(labels, label)[1:] if label >= 0 else None), ended and not stopped

    def _compared_left(self) -> int:
        left = self._effort.work * COMPARED_A_WORK - self._compared
        if self._effort.deadline is not None:
            left = (self._effort.deadline - time.monotonic()) * COMPARED_A_WORK
        return max(0, int(left))
