"""Every route of one crew-day that may be part of orders as good as is asked for, with what it costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from routing.planning.bounds.pricing import Pricer
from routing.planning.bounds.pricing_work import PricingWork
from routing.planning.bounds.walk_days import day_of, step_of
from routing.planning.bounds.walks import order_of
from routing.planning.exact.columns import Columns, nothing, together
from routing.planning.exact.day_arrays import DayArrays
from routing.planning.exact.enumeration import every_route
from routing.planning.exact.walk_loads import WalkLoads
from routing.planning.labelling.columns import BEFORE, DUE, HALT, LOADS, NODE, PLACE, RESTED, SHORT, Bits, Whole
from routing.planning.labelling.label_room import LabelRoom
from routing.planning.labelling.memory import WORD
from routing.planning.model.load import stock_left
from routing.planning.model.problem import Order, Problem
from routing.planning.running.compiled_ahead import ROUTES, wait_for
from routing.planning.running.stoppable import stoppable

MOST_LABELS = 1_500_000

A_STEP = 5
"""For each cut, a label with what comes after each node takes as long as to compare so many."""

LOOKED_UP = 5
"""Neighbours that the tables remember."""

ENDS_A_COLUMN = 4
"""Days of the same tasks that end differently, of which only the cheapest is kept: room for so many."""


@dataclass(frozen=True, eq=False)
class Cut:
    """What the value of a route must come to at the prices of a goal, so that it may be part of an answer."""

    values: dict[int, float]
    """By task."""
    weight: float
    """Of what a route costs."""
    floors: Sequence[float]
    """By route."""


class RouteEnumerator:
    """The routes of one crew-day."""

    def __init__(self, problem: Problem, route: int, tasks: frozenset[int]) -> None:
        self._problem, self._route, self._tasks = problem, route, sorted(tasks)
        self.day = day_of(problem, route, tasks)

    @cached_property
    def _arrays(self) -> DayArrays:
        loads = WalkLoads(self._problem, self._route, self.day, stock_left(self._problem, ()))
        return DayArrays(self._problem, self._route, self.day, loads)

    @cached_property
    def kind(self) -> tuple[object, ...]:
        """What days have in common of which each has the same routes, at the same cost."""
        day, rules = self.day, self._problem.routes[self._route]
        if not len(day.tasks):
            return ()
        arrays = (day.tasks, self._arrays.ways, day.costs, day.out_costs, day.home_costs, day.early, day.late)
        return (
            *(array.tobytes() for array in arrays),
            *(day.rest_cost, day.longest, day.rest, day.rest_after, day.own_hours),
            *(rules.payload_grams, rules.space_millilitres, rules.most_away),
        )

    def order(self, nodes: Sequence[int]) -> Order:
        """Return the stops of a column's nodes, on this day or on one of the same kind."""
        some = [node for node in nodes if node >= 0]
        return order_of((self.day.visits[node] for node in some), self.day.tasks[some].tolist())

    @property
    def able(self) -> bool:
        """Whether routes of the day can be enumerated: there is a table of what may still come."""
        return not len(self.day.tasks) or step_of(self.day) > 0

    def every(
        self, cuts: Sequence[Cut], most: int, room: LabelRoom, work: PricingWork, *, least_cost: bool
    ) -> Columns | None:
        """Return the least costly route of every set of tasks that meets all cuts.

        None where there are too many, or more than the work that is left.
        """
        found = [nothing(len(self._tasks))]
        if len(self.day.tasks) and self._arrays.late.max() >= 0:
            pricer = self._arrays.pricer(LOOKED_UP)
            for rests in (DUE, SHORT) if self.day.rest else (RESTED,):
                columns = self._enumerated(pricer, rests, cuts, most, room, work, least_cost=least_cost)
                if columns is None:
                    return None
                found.append(columns)
        cheapest = together(found).cheapest(metres_first=self._problem.distance_first)
        return cheapest if len(cheapest) <= most else None

    def _enumerated(
        self,
        pricer: Pricer,
        rests: int,
        cuts: Sequence[Cut],
        most: int,
        room: LabelRoom,
        work: PricingWork,
        *,
        least_cost: bool,
    ) -> Columns | None:
        """Return the routes of one kind of day by where the break is."""
        wait_for(ROUTES)
        arrays = self._arrays
        each = A_STEP * len(self.day.tasks) * len(cuts)
        most_labels = work.share(1) // each
        rules = arrays.rules(rests, pricer.step, least_cost=least_cost, timed=True, most_compared=most_labels)
        gains = [np.array([cut.values.get(int(task), 0.0) for task in self.day.tasks]) for cut in cuts]
        views = [arrays.tables(pricer, rests, gain, cut.weight) for cut, gain in zip(cuts, gains, strict=True)]
        worth = np.stack([view.worth for view in views])
        to_come = np.stack([[view.to_come for view in views], [view.to_come_unwaited for view in views]])
        floors = np.array([cut.floors[self._route] for cut in cuts])
        labels, value, bits = room.shaped(LOADS + arrays.loads.shape[1], len(cuts), pricer.words)
        ends = np.empty((ENDS_A_COLUMN * most, 3), dtype=np.int64)

        def call() -> tuple[int, bool, int]:
            return every_route(
                arrays.ways, arrays.nodes, rules, arrays.loads, arrays.limits, arrays.latest, pricer.near, worth,
                to_come, floors, labels, value, bits[0], bits[1], ends,
            )  # fmt: skip

        def stop() -> None:
            rules[HALT] = 1

        (count, whole, labelled), stopped = stoppable(call, stop)
        work.spend(labelled * each)
        if stopped:
            raise KeyboardInterrupt
        return self._columns(ends[:count], labels, bits[1]) if whole else None

    def _columns(self, ends: Whole, labels: Whole, done: Bits) -> Columns:
        """Return the days that end so."""
        steps, label = [], ends[:, 0]
        while label.any():
            steps.append(np.where(label > 0, labels[NODE, label], -1))
            label = np.where(label > 0, labels[BEFORE, label], 0)
        nodes = np.column_stack(steps[::-1]) if steps else np.empty((len(ends), 0), dtype=np.int64)
        does, did = np.zeros((len(ends), len(self._tasks)), dtype=bool), done[ends[:, 0]]
        index = {task: at for at, task in enumerate(self._tasks)}
        for task, place in zip(self.day.tasks.tolist(), self._arrays.nodes[:, PLACE].tolist(), strict=True):
            does[:, index[task]] = did[:, place // WORD] >> np.uint64(place % WORD) & np.uint64(1) == 1
        return Columns(np.full(len(ends), self._route), does, nodes, ends[:, 1], ends[:, 2])
