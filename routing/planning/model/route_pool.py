"""Every single order that some engine found possible, kept by route, for recombination."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields

import numpy as np

from routing.planning.model.order_costs import Cost, OrderCosts
from routing.planning.model.problem import Order, Orders, Planned, Problem, served

MOST_POOLED = 40_000
"""Columns of a pool; those that come later are not remembered."""


@dataclass(frozen=True)
class Column:
    """One possible order of one route with what it does and costs."""

    route: int
    order: Order
    tasks: frozenset[int]
    cost: Cost


class RoutePool:
    """The cheapest known order for each route and set of tasks; orders that break a rule never enter.

    An order found for one crew-day is tried for every crew-day whose people and vehicle are the same. Of crews that
    nothing tells apart on a day, the first stands for all.
    """

    def __init__(self, order_costs: OrderCosts) -> None:
        self.order_costs = order_costs
        self._best: dict[tuple[int, frozenset[int]], Column] = {}
        self.changes = 0
        """How often an order came in or took the place of a dearer one."""
        self._tried: set[tuple[int, Order]] = set()
        self.twins = twins(order_costs.problem)
        self._alike = _alike(order_costs.problem, self.twins)
        self._index = _visit_index(order_costs.problem)

    def __len__(self) -> int:
        return len(self._best)

    def __iter__(self) -> Iterator[Column]:
        return iter(self._best.values())

    def add(self, route: int, order: Order) -> None:
        """Remember the order for its route and for those alike, where it is possible."""
        if not order or (route, order) in self._tried or len(self._best) >= MOST_POOLED:
            return
        self._tried.add((route, order))
        route = self.twins[route][0]
        cost = self.order_costs.cost(route, order)
        if cost is None and len(self._alike[route]) == 1:
            return
        for other in self._alike[route]:
            moved = order if other == route else self.moved(order, other)
            if moved is not None and (other == route or (other, moved) not in self._tried):
                self._tried.add((other, moved))
                same = other == route or self._shifted(route, order, other, moved)
                self._keep(other, moved, cost if same else self.order_costs.cost(other, moved))

    def _shifted(self, route: int, order: Order, other: int, moved: Order) -> bool:
        """Return whether the other route's day is this one's with every clock moved by the same seconds."""
        problem = self.order_costs.problem
        mine, theirs = problem.routes[route], problem.routes[other]
        by = theirs.earliest_leave - mine.earliest_leave
        return theirs.home_by - mine.home_by == by and all(
            (problem.visits[b.visit].opens - problem.visits[a.visit].opens, b.tasks) == (by, a.tasks)
            and problem.visits[b.visit].closes - problem.visits[a.visit].closes == by
            and problem.visits[b.visit].walk_seconds == problem.visits[a.visit].walk_seconds
            for a, b in zip(order, moved, strict=True)
        )

    def add_all(self, orders: Orders) -> None:
        """Remember each route's order."""
        for route, order in enumerate(orders):
            self.add(route, order)

    def columns_of(self, orders: Orders) -> list[Column]:
        """Return the columns of the orders' routes, or none where one of them is not known."""
        keys = [(self.twins[route][0], served((order,))) for route, order in enumerate(orders) if order]
        return [self._best[key] for key in keys] if all(key in self._best for key in keys) else []

    def thin(self, most: int) -> None:
        """Add every known order less one task, up to `most` in all: where the stock is short, less is more."""
        for column in list(self):
            for task in sorted(column.tasks):
                if len(self) >= most:
                    return
                self.add(column.route, without(column.order, task))

    def _keep(self, route: int, order: Order, cost: Cost | None) -> None:
        if cost is not None:
            self.keep(Column(route, order, served((order,)), cost))

    def keep(self, column: Column) -> None:
        """Remember an order that is known to be possible at that cost."""
        known = self._best.get((column.route, column.tasks))
        if known is None or column.cost < known.cost:
            self._best[column.route, column.tasks] = column
            self.changes += 1

    def moved(self, order: Order, route: int) -> Order | None:
        """Return the order with the visits of another route's day, or None where that day has none for a stop."""
        problem = self.order_costs.problem
        day = problem.routes[route].day
        moved = []
        for planned in order:
            facts = problem.visits[planned.visit]
            if facts.day == day:
                moved.append(planned)
                continue
            those = [
                v for v in self._index.get((day, facts.place), ()) if set(planned.tasks) <= set(problem.visits[v].tasks)
            ]
            if not those:
                return None
            long = facts.closes - facts.opens
            moved.append(
                Planned(
                    min(those, key=lambda v: abs(problem.visits[v].closes - problem.visits[v].opens - long)),
                    planned.tasks,
                )
            )
        return tuple(moved)


def twins(problem: Problem) -> dict[int, list[int]]:
    """Return for each route all routes that nothing tells apart, itself among them, rising."""
    groups: dict[tuple[object, ...], list[int]] = {}
    for number, route in enumerate(problem.routes):
        key = tuple(
            id(value) if isinstance(value, np.ndarray) else value
            for value in (getattr(route, field.name) for field in fields(route))
        )
        groups.setdefault(key, []).append(number)
    return {number: routes for routes in groups.values() for number in routes}


def _alike(problem: Problem, same: Mapping[int, list[int]]) -> list[list[int]]:
    """Return for each route all first twins with the same people, vehicle and rules, whatever the day."""
    groups: dict[tuple[object, ...], list[int]] = {}
    keys = []
    for number, route in enumerate(problem.routes):
        key = (
            *(route.payload_grams, route.space_millilitres, route.break_seconds, route.break_after_seconds),
            *(route.work_seconds, route.allowed, id(route.drive_seconds), route.most_away),
            *(route.most_trips, route.reload_seconds),
        )
        keys.append(key)
        if same[number][0] == number:
            groups.setdefault(key, []).append(number)
    return [groups[key] for key in keys]


def _visit_index(problem: Problem) -> dict[tuple[int, int], list[int]]:
    index: dict[tuple[int, int], list[int]] = {}
    for number, visit in enumerate(problem.visits):
        index.setdefault((visit.day, visit.place), []).append(number)
    return index


def without(order: Order, task: int) -> Order:
    """Return the order with one task undone, and its stop gone if that was all."""
    kept = []
    for planned in order:
        tasks = tuple(t for t in planned.tasks if t != task)
        if tasks:
            kept.append(Planned(planned.visit, tasks))
    return tuple(kept)
