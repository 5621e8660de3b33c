"""The choice among known routes, against every choice of them by brute force, which shares no code with it."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
import pytest

from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, Order, Orders, Planned, Problem, served
from routing.planning.model.route_pool import Column, RoutePool
from routing.planning.search.set_covering import recombine
from tests.planning.random_problems import random_problem
from tests.together import then_deep

FEATURES = (
    frozenset({"hours"}),
    frozenset({"hours", "break"}),
    frozenset({"load", "stock"}),
    frozenset({"two tasks", "hours"}),
)


def some_routes(problem: Problem, pool: RoutePool, seed: int) -> None:
    """Put some possible routes of up to three visits into the pool."""
    draw = np.random.default_rng(seed)
    for route, facts in enumerate(problem.routes):
        visits = [number for number, visit in enumerate(problem.visits) if visit.day == facts.day]
        for many in (1, 2, 3):
            for order in permutations(visits, many):
                if draw.random() < 0.3:
                    pool.add(route, tuple(Planned(visit, problem.visits[visit].tasks) for visit in order))


def of_choice(problem: Problem, chosen: tuple[Column | None, ...]) -> tuple[int, ...] | None:
    """Return the weight by rank and minus the cost of a choice, None where the stock does not hold all that it does."""
    done = frozenset[int]().union(*(column.tasks for column in chosen if column))
    taken = [task for column in chosen if column for task in column.tasks]
    for supply, facts in enumerate(problem.supplies):
        if facts.stock >= 0 and facts.stock < sum(
            used for task in taken for number, used in problem.tasks[task].uses if number == supply
        ):
            return None
    ranks = [
        sum(problem.tasks[task].weight for task in done if problem.tasks[task].rank == rank) for rank in range(RANKS)
    ]
    return (*ranks, -sum(column.cost.main for column in chosen if column))


def of_orders(problem: Problem, costs: OrderCosts, orders: Orders) -> tuple[int, ...]:
    """Return the same of orders."""
    each = [costs.cost(route, order) for route, order in enumerate(orders)]
    done = served(orders)
    ranks = [
        sum(problem.tasks[task].weight for task in done if problem.tasks[task].rank == rank) for rank in range(RANKS)
    ]
    return (*ranks, -sum(cost.main for cost in each if cost))


@pytest.mark.parametrize("features", FEATURES, ids=lambda features: " ".join(sorted(features)))
@pytest.mark.parametrize("begun", ["nothing", "known orders"])
@pytest.mark.parametrize("seed", then_deep(range(4), range(60)))
def test_no_choice_of_the_pools_routes_beats_what_is_chosen(seed: int, begun: str, features: frozenset[str]) -> None:
    """What is ruled out by reduced costs is in no better choice: every rank and then the cost are as good as the best.

    A task that is done twice is then left to one route, so that the cost may be less.
    """
    problem = random_problem(seed, 5, 2, features)
    costs = OrderCosts(problem)
    pool = RoutePool(costs)
    some_routes(problem, pool, seed)
    columns = list(pool)
    by_route: list[list[Column | None]] = [[None], [None]]
    for column in columns:
        for route in pool.twins[column.route]:
            by_route[route].append(column)
    valued = [value for both in product(*by_route) if (value := of_choice(problem, both)) is not None]
    start: Orders = ()
    if begun == "known orders" and columns:
        first: list[Order] = [(), ()]
        first[columns[-1].route] = columns[-1].order
        start = tuple(first)
    found = recombine(costs, pool, frozenset(range(len(problem.tasks))), nodes=10_000, known=start)
    assert columns
    assert found is not None
    ours, best = of_orders(problem, costs, found), max(valued)
    assert ours[:RANKS] == best[:RANKS]
    assert ours[RANKS] >= best[RANKS]
