"""Min-max balancing: the same jobs with the shortest longest time away of any crew-day, then the least in all.

Whether a limit on every crew-day can be kept is asked of the usual search, and the limit is halved in. What one search
comes upon serves the next, so a found round is never given up; what no search found may exist all the same.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from routing.planning import heuristics
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Orders, Planned, Problem, served
from routing.planning.model.route_pool import Column
from routing.planning.model.subproblem import is_packed, subproblem_of
from routing.planning.model.timing import timeline
from routing.planning.running.budget import Budget
from routing.planning.search.driver import Search

FEW_TASKS = 12
NEAR_SECONDS = 60
"""With more tasks than these few the halving ends where it could gain less than this."""

MOST_TRIES = 16

TRY_SHARE = 0.05
LAST_SHARE = 0.2
"""Of the work, what one limit may take, and what the least time away under the last one may."""

TRY_TIME = 0.2
"""Of the time left, what one limit may take."""

MEAN_SHARE = 0.97
"""The given orders were sought for the least time away in all, so no longest day can be far under their mean."""

LIMITS_SHARE = 0.7
"""Of a given time, what is kept for the limits; the rest is for the least time away in all under the last one."""


@dataclass(frozen=True)
class Balanced:
    """Orders of the same tasks; those that were given where nothing more even was found."""

    orders: Orders
    days_proven: bool = False
    """Each crew-day proven best for the tasks it has."""
    interrupted: bool = False


def away_of_each(problem: Problem, orders: Orders) -> list[int]:
    """Return the seconds that each crew-day is away, shape (routes,)."""
    timelines = [timeline(problem, route, order) if order else None for route, order in enumerate(orders)]
    return [0 if times is None else times.away for times in timelines]


def away_in_all(problem: Problem, orders: Orders) -> int:
    """Return the seconds away of all crew-days together."""
    return sum(away_of_each(problem, orders))


def longest(problem: Problem, orders: Orders) -> int:
    """Return the seconds that the longest crew-day is away."""
    return max(away_of_each(problem, orders), default=0)


def balanced(
    problem: Problem,
    orders: Orders,
    budget: Budget | None = None,
    *,
    progress: Callable[[Orders], None] | None = None,
) -> Balanced:
    """Return orders of the same tasks whose longest crew-day is as short as was found, then the least time away.

    `progress` hears of every more even set. Ctrl-C keeps the best.
    """
    budget = budget or Budget()
    if is_packed(problem):
        small = subproblem_of(problem, served(orders))

        def hear(even: Orders) -> None:
            if progress is not None:
                progress(small.lifted(even))

        found = balanced(small.problem, small.restricted(orders), budget, progress=hear)
        return replace(found, orders=small.lifted(found.orders))
    balancing = _Balancing(problem, orders)
    try:
        low, high = balancing.least_likely(), longest(problem, orders)
        near = 1 if len(balancing.tasks) <= FEW_TASKS else NEAR_SECONDS
        limits = _part(budget, LIMITS_SHARE)
        for number in range(MOST_TRIES):
            if high - low < near or limits.over():
                break
            limit = (low + high) // 2
            one_try = replace(_part(budget, TRY_TIME), work=budget.work * TRY_SHARE)
            search = balancing.search(limit, one_try)
            balancing.run(search, number + 1, enough=True)
            if served(search.best) != balancing.tasks:
                low = limit + 1
                continue
            balancing.best, high = search.best, longest(problem, search.best)
            if progress is not None:
                progress(search.best)
        search = balancing.search(high, replace(budget, work=budget.work * LAST_SHARE))
        balancing.run(search, 1, enough=False)
        if served(search.best) == balancing.tasks:
            balancing.best = search.best
    except KeyboardInterrupt:
        return Balanced(balancing.best, interrupted=True)
    return Balanced(balancing.best, search.days_proven)


class _Balancing:
    """The most even orders so far and every single order that a search found possible."""

    def __init__(self, problem: Problem, orders: Orders) -> None:
        self.problem, self.best = problem, orders
        self.tasks = served(orders)
        self.known: dict[tuple[int, frozenset[int]], Column] = {}

    def least_likely(self) -> int:
        """Return a time away under which no limit need be tried."""
        mean = sum(away_of_each(self.problem, self.best)) // max(1, len(self.problem.routes))
        return max(round(MEAN_SHARE * mean), _least_of_one(self.problem, self.tasks))

    def search(self, limit: int, budget: Budget) -> Search:
        """Return a search in which no crew-day is away for longer than the limit; it knows what the others found."""
        routes = tuple(replace(route, most_away=limit) for route in self.problem.routes)
        search = Search(replace(self.problem, routes=routes), self.tasks, budget)
        for column in self.known.values():
            if column.cost.main <= limit:
                search.pool.keep(column)
        search.offer(self.best)
        return search

    def run(self, search: Search, seed: int, *, enough: bool) -> None:
        """Run a search and remember what it found."""
        try:
            search.combine(polish=not enough)
            search.run(seed, (heuristics.pyvrp.PyVRP(),), enough=enough)
        finally:
            for column in search.pool:
                key = column.route, column.tasks
                if key not in self.known or column.cost < self.known[key].cost:
                    self.known[key] = column


def _part(budget: Budget, share: float) -> Budget:
    """Return the budget that ends when such a share of the time left is over."""
    if budget.deadline is None:
        return budget
    return replace(budget, deadline=time.monotonic() + share * max(0.0, budget.left()))


def _least_of_one(problem: Problem, tasks: frozenset[int]) -> int:
    """Return the longest that some task keeps a crew away that does nothing else."""
    order_costs = OrderCosts(problem)
    found = 0
    for task in tasks:
        costs = [
            order_costs.cost(number, (Planned(visit, (task,)),))
            for number, route in enumerate(problem.routes)
            for visit in order_costs.visits_with(route.day, (task,))
        ]
        found = max(found, min((cost.main for cost in costs if cost is not None), default=0))
    return found
