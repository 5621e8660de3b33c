"""Every route of one crew-day that may be part of orders as good as is asked for, with what it costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from routing.planning.bounds.ng_labels import still_to_come
from routing.planning.bounds.pricing import Pricer, order_of, pricers
from routing.planning.bounds.walk_days import Day, day_of, step_of
from routing.planning.exact.enumeration import every_route
from routing.planning.exact.looking import latest_finishes, ways_from_base
from routing.planning.exact.walk_loads import WalkLoads
from routing.planning.labelling.columns import (
    BEFORE,
    DUE,
    EACH,
    FIRST_LIMIT,
    LOADS,
    LONG,
    NODE,
    RESTED,
    SHORT,
    Bits,
    Real,
    Whole,
)
from routing.planning.model.load import stock_left
from routing.planning.model.problem import NO_LIMIT, Order, Problem
from routing.planning.running.stoppable import stoppable

MOST_LABELS = 1_500_000
MOST_TABLE = 3_000_000
"""Numbers in one table of what may still come."""

LOOKED_UP = 5
"""Neighbours that the tables remember."""


@dataclass(frozen=True, eq=False)
class Cut:
    """What the value of a route must come to at the prices of a goal, so that it may be part of an answer."""

    values: dict[int, float]
    """By task."""
    weight: float
    """Of what a route costs."""
    floors: Sequence[float]
    """By route."""


@dataclass(frozen=True)
class Column:
    """One route: which crew-day's, its tasks in turn with the visits in which they are done, and its cost."""

    route: int
    nodes: tuple[int, ...]
    tasks: tuple[int, ...]
    away: int
    metres: int


class RouteRoom:
    """Room for the labels of one enumeration after the other."""

    def __init__(self) -> None:
        self._whole, self._real, self._bits = np.empty(0, np.int64), np.empty(0), np.empty(0, np.uint64)

    def shaped(self, loads: int, goals: int, words: int) -> tuple[Whole, Real, Bits, Bits]:
        """Return labels, their values by goal, what they remember, and what they did."""
        columns = LOADS + loads
        if len(self._whole) < MOST_LABELS * columns:
            self._whole = np.empty(MOST_LABELS * columns, np.int64)
        if len(self._real) < MOST_LABELS * goals:
            self._real = np.empty(MOST_LABELS * goals)
        if len(self._bits) < 2 * MOST_LABELS * words:
            self._bits = np.empty(2 * MOST_LABELS * words, np.uint64)
        bits = self._bits[: 2 * MOST_LABELS * words].reshape(2, MOST_LABELS, words)
        return (
            self._whole[: MOST_LABELS * columns].reshape(MOST_LABELS, columns),
            self._real[: MOST_LABELS * goals].reshape(MOST_LABELS, goals),
            bits[0],
            bits[1],
        )


class RouteEnumerator:
    """The routes of one crew-day."""

    def __init__(self, problem: Problem, route: int, tasks: frozenset[int]) -> None:
        self._problem, self._route = problem, route
        self.day = day_of(problem, route, tasks)
        self._loads = WalkLoads(problem, route, self.day, stock_left(problem, ()))

    @cached_property
    def kind(self) -> tuple[object, ...]:
        """What days have in common of which each has the same routes, at the same cost."""
        day, rules = self.day, self._problem.routes[self._route]
        arrays = (
            day.tasks,
            day.seconds,
            day.out,
            day.home,
            day.costs,
            day.out_costs,
            day.home_costs,
            day.early,
            day.late,
        )
        return (
            *(array.tobytes() for array in arrays),
            *(day.rest_cost, day.longest, day.rest, day.rest_after, day.own_hours),
            *(rules.payload_grams, rules.space_millilitres, rules.most_away),
        )

    def order(self, column: Column) -> Order:
        """Return the stops of a route of this day, or of one of the same kind."""
        return order_of((self.day.visits[node] for node in column.nodes), column.tasks)

    @property
    def able(self) -> bool:
        """Whether routes of the day can be enumerated: there is a table of what may still come."""
        return not len(self.day.tasks) or step_of(self.day) > 0

    def every(self, cuts: Sequence[Cut], most: int, room: RouteRoom, *, least_cost: bool) -> list[Column] | None:
        """Return the least costly route of every set of tasks that meets all cuts; None where there are too many."""
        day = self.day
        if not len(day.tasks):
            return []
        pricer = _pricer(day)
        found: dict[tuple[int, ...], Column] = {}
        for rests in (DUE, SHORT) if day.rest else (RESTED,):
            columns = self._enumerated(pricer, rests, cuts, most, room, least_cost=least_cost)
            if columns is None:
                return None
            for key, column in columns.items():
                known = found.get(key)
                if known is None or self._cost(column) < self._cost(known):
                    found[key] = column
            if len(found) > most:
                return None
        return list(found.values())

    def _cost(self, column: Column) -> tuple[int, int]:
        return (column.metres, column.away) if self._problem.distance_first else (column.away, column.metres)

    def _enumerated(
        self, pricer: Pricer, rests: int, cuts: Sequence[Cut], most: int, room: RouteRoom, *, least_cost: bool
    ) -> dict[tuple[int, ...], Column] | None:
        day, problem = self.day, self._problem
        base = len(day.tasks)
        seconds, legs = ways_from_base(problem, self._route, day)
        late = np.minimum(day.late, (day.longest - day.home).max())
        if late.max() < 0:
            return {}
        ways = np.full((2, base + 1, base + 1), -1, dtype=np.int64)
        ways[0, :, :base], ways[0, :base, base], ways[1] = seconds, day.home, legs
        nodes = np.zeros((base, 4), dtype=np.int64)
        nodes[:, 0], nodes[:, 1], nodes[:, 2] = day.early, late, pricer.places
        most_away = problem.routes[self._route].most_away
        rules = np.array(
            [day.longest, LONG if most_away == NO_LIMIT else most_away, day.rest, rests, day.rest_after, day.own_hours,
             True, least_cost, problem.distance_first, pricer.step, LONG, 0], dtype=np.int64
        )  # fmt: skip
        views = [_tables(day, late, pricer, rests, cut) for cut in cuts]
        worth = np.stack([view[0] for view in views])
        to_come = np.stack([np.stack([view[1] for view in views]), np.stack([view[2] for view in views])])
        floors = np.array([cut.floors[self._route] for cut in cuts])
        labels, value, memory, done = room.shaped(len(self._loads.most), len(cuts), pricer.room.words)
        ends = np.empty((4 * most, 3), dtype=np.int64)
        loads, limits = loads_of(self._loads)

        def call() -> tuple[int, bool]:
            return every_route(
                ways, nodes, rules, loads, limits, latest_finishes(day, late, pricer.places), pricer.near, worth,
                to_come, floors, labels, value, memory, done, ends,
            )  # fmt: skip

        def stop() -> None:
            rules[11] = 1

        (count, whole), stopped = stoppable(call, stop)
        if stopped:
            raise KeyboardInterrupt
        if not whole:
            return None
        return self._columns(ends[:count], labels, done)

    def _columns(self, ends: Whole, labels: Whole, done: Bits) -> dict[tuple[int, ...], Column]:
        """Return the least costly of each set of tasks."""
        first, then = (2, 1) if self._problem.distance_first else (1, 2)
        did = done[ends[:, 0]]
        turns = np.lexsort((ends[:, then], ends[:, first], *did.T))
        did = did[turns]
        new = np.ones(len(turns), dtype=bool)
        new[1:] = (did[1:] != did[:-1]).any(axis=1)
        found = {}
        for end, away, metres in ends[turns[new]].tolist():
            nodes = []
            label = end
            while label > 0:
                nodes.append(int(labels[label, NODE]))
                label = int(labels[label, BEFORE])
            nodes.reverse()
            tasks = tuple(int(self.day.tasks[node]) for node in nodes)
            found[tuple(sorted(tasks))] = Column(self._route, tuple(nodes), tasks, away, metres)
        return found


def loads_of(held: WalkLoads) -> tuple[Whole, Whole]:
    """Return the loads and limits of a day in columns."""
    loads = np.vstack([held.amounts, held.most.reshape(1, -1), held.beside.reshape(1, -1)]).astype(np.int64)
    limits = np.full((FIRST_LIMIT + len(held.limits), EACH + len(held.supplies)), -1, dtype=np.int64)
    limits[0, EACH:], limits[1, EACH:], limits[2, EACH:] = held.supplies, held.packs, held.stocks
    limits[FIRST_LIMIT:, 0], limits[FIRST_LIMIT:, 1], limits[FIRST_LIMIT:, EACH:] = held.limits, held.excess, held.each
    return loads, limits


def _pricer(day: Day) -> Pricer:
    """Return the day with tables that remember as many neighbours as there is room for."""
    steps, many = day.longest // step_of(day), LOOKED_UP
    while many > 1 and (len(day.tasks) * steps << many) > MOST_TABLE:
        many -= 1
    return pricers([day], more=True, looked_up=many)[0]


def _tables(day: Day, late: Whole, pricer: Pricer, rests: int, cut: Cut) -> tuple[Real, Real, Real]:
    """Return what going on is worth, home in the last column, and what may still come, as two tables."""
    base = len(day.tasks)
    gains = np.array([cut.values.get(int(task), 0.0) for task in day.tasks])
    resting = day.rest_cost if rests == DUE else 0
    ending = -cut.weight * (day.home_costs + resting).astype(np.float64)
    last = np.minimum(day.late, day.longest - day.home)
    worth = np.zeros((base + 1, base + 1))
    worth[:base, :base] = gains[None, :] - cut.weight * day.costs
    worth[base, :base] = gains - cut.weight * day.out_costs
    worth[:base, base] = ending
    any_time = np.zeros_like(day.early)
    inner = np.ascontiguousarray(worth[:base, :base])

    def table(early: Whole, last: Whole) -> NDArray[np.float64]:
        return still_to_come(day.seconds, inner, early, late, last, ending, pricer.moves, pricer.step)

    by_clock = table(day.early, last)
    unwaited = by_clock
    if rests == SHORT:
        unwaited = table(any_time, np.minimum(day.late, min(day.longest, day.rest_after) - day.home))
    elif rests == DUE and day.own_hours:
        unwaited = table(any_time, last - day.rest)
    return worth, by_clock, unwaited
