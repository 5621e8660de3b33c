"""Bounds against trying every pair of orders: never beyond the truth, and near it."""

from __future__ import annotations

import dataclasses
import itertools
import random

import numpy as np
import pytest

from routing.planning.bounds.column_generation import bounds
from routing.planning.bounds.spanning_tree import least_cost
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, Planned, Task, Visit, rank_score, served
from routing.planning.search.insertion import fill
from routing.planning.search.solve import solve
from tests.farm_rounds import farm_round
from tests.planning.random_problems import best_of_two, every_order_of, hold_ranks, key, random_problem
from tests.together import in_threes, then_deep

FEATURES = ("hours", "two tasks", "load", "back", "stock", "break", "last", "spans", "space", "closed", "crews")
ALONE_AND_IN_PAIRS = [
    *(frozenset(), *(frozenset(c) for size in (1, 2) for c in itertools.combinations(FEATURES, size))),
    *(frozenset({"moves"}), *(frozenset({"moves", feature}) for feature in FEATURES)),
    *(frozenset({"returns"}), *(frozenset({"returns", feature}) for feature in (*FEATURES, "moves"))),
]
IN_THREES = in_threes((*FEATURES, "moves", "returns"))


@pytest.mark.parametrize(
    "features", then_deep(IN_THREES, ALONE_AND_IN_PAIRS), ids=lambda chosen: "+".join(sorted(chosen)) or "plain"
)
def test_two_routes_are_solved_best_and_bounded_from_the_right_side(features: frozenset[str]) -> None:
    """The orders are the best of all pairs, and no bound is below (for ranks) or above (for time) what some pair does."""
    number = (*IN_THREES, *ALONE_AND_IN_PAIRS).index(features)
    problem = random_problem(number, visits=4, routes=2, features=features, days=1 + number % 2)
    everything = frozenset(range(len(problem.tasks)))
    solution = solve(problem, everything, work=10)
    best = best_of_two(problem)
    assert key(problem, solution.orders) == best
    reached = rank_score(problem, served(solution.orders))
    for bound, got in zip(solution.rank_bounds, reached, strict=True):
        assert bound >= got
        if bound > got:
            break
    assert solution.away_bound <= -best_of_two(problem, served(solution.orders))[RANKS]
    if solution.proven:
        assert solution.rank_bounds == reached


@pytest.mark.parametrize("seed", range(36))
def test_bounds_hold_whatever_the_orders_are(seed: int) -> None:
    """From quick orders that need not be best: no bound is passed by the best of all pairs, break and hours above all."""
    dice = random.Random(seed)
    features = frozenset(
        {"break", "hours", *dice.sample((*FEATURES, "moves"), 2), *(["returns"] if seed >= 24 else [])}
    )
    problem = random_problem(seed, visits=4, routes=2, features=features, days=1 + seed % 2)
    everything = frozenset(range(len(problem.tasks)))
    orders = fill(OrderCosts(problem), ((), ()), everything)
    bound = bounds(problem, everything, orders)
    hold_ranks(bound.ranks, best_of_two(problem), rank_score(problem, served(orders)))
    assert bound.cost <= -best_of_two(problem, served(orders))[RANKS]


@pytest.mark.parametrize("seed", range(18))
def test_a_bound_on_the_distance_holds_where_distance_comes_first(seed: int) -> None:
    """No pair of orders of the same tasks drives fewer metres than the bound, by trying them all."""
    features = frozenset({"break", "hours", *(["returns"] if seed >= 12 else [])})
    problem = dataclasses.replace(
        random_problem(seed, visits=4, routes=2, features=features, days=1 + seed % 2),
        distance_first=True,
    )
    everything = frozenset(range(len(problem.tasks)))
    order_costs = OrderCosts(problem)
    orders = fill(order_costs, ((), ()), everything)
    done = served(orders)
    least = min(
        sum(cost.main for cost in costs if cost)
        for pair in itertools.product(every_order_of(problem, 0), every_order_of(problem, 1))
        if served(pair) == done and None not in (costs := [order_costs.cost(r, order) for r, order in enumerate(pair)])
    )
    bound = bounds(problem, everything, orders).cost
    assert 0 < bound <= least
    assert bound > least / 2


@pytest.mark.parametrize(
    "features", then_deep(IN_THREES, ALONE_AND_IN_PAIRS), ids=lambda chosen: "+".join(sorted(chosen)) or "plain"
)
def test_the_quick_bound_is_never_above_the_best_of_all_pairs(features: frozenset[str]) -> None:
    """What rounds of many visits are measured against holds for small ones, whatever tasks are done."""
    number = (*IN_THREES, *ALONE_AND_IN_PAIRS).index(features)
    problem = random_problem(number, visits=4, routes=2, features=features, days=1 + number % 2)
    done = served(fill(OrderCosts(problem), ((), ()), frozenset(range(len(problem.tasks)))))
    bound = least_cost(problem, done)
    assert 0 < bound <= -best_of_two(problem, done)[RANKS]


@pytest.mark.parametrize(("visits", "days"), then_deep([(90, 2)], [(180, 5), (260, 5)]))
def test_a_round_of_many_visits_says_how_far_from_the_best_it_can_be(visits: int, days: int) -> None:
    """Of so many, too many for near bounds, the time away is still bounded, and no more than a third too low."""
    problem = farm_round(3, visits, days, crews=8)
    solution = solve(problem, frozenset(range(visits)), work=0.1)
    away = sum(
        cost.main for route, order in enumerate(solution.orders) if (cost := OrderCosts(problem).cost(route, order))
    )
    assert away * 2 / 3 <= solution.away_bound <= away


@pytest.mark.parametrize("late", then_deep(range(0, 120, 30), range(0, 120, 10)))
def test_jobs_of_a_minute_at_one_site_are_not_bounded_below_what_fits(late: int) -> None:
    """Forty jobs of a minute each, which two crews can just do before the gate shuts: no bound may say fewer."""
    jobs = 40
    problem = random_problem(1, visits=1, routes=2)
    opens = problem.routes[0].earliest_leave + int(problem.routes[0].drive_seconds[0, 1]) + late
    tasks = tuple(Task(set_up_seconds=0, rank=0, weight=1) for _ in range(jobs))
    gate = Visit(1, opens, opens + 60 * jobs // 2, tuple(range(jobs)))
    routes = tuple(
        dataclasses.replace(
            route,
            work_seconds=(60,) * jobs,
            allowed=(True,) * jobs,
            break_seconds=0,
            home_by=route.earliest_leave + 10 * 3600,
        )
        for route in problem.routes
    )
    problem = dataclasses.replace(problem, tasks=tasks, visits=(gate,), routes=routes)
    done = tuple(Planned(0, tuple(range(half, half + jobs // 2))) for half in (0, jobs // 2))
    order_costs = OrderCosts(problem)
    assert all(order_costs.cost(route, (planned,)) is not None for route, planned in enumerate(done))
    fewer = (done[0].tasks[:2], done[1].tasks[:2])
    orders = tuple((Planned(0, few),) for few in fewer)
    assert bounds(problem, frozenset(range(jobs)), orders).ranks[0] >= jobs


def test_a_site_that_is_reached_only_by_way_of_another_is_not_bounded_away() -> None:
    """From base the drive to the second site is longer than the day, by way of the first it is not: both can be done."""
    problem = random_problem(1, 3)
    never = 9 * 3600
    drives = np.array([[0, 600, never, 600], [600, 0, 600, 600], [600, 600, 0, never], [600, 600, never, 0]])
    route = dataclasses.replace(problem.routes[0], drive_seconds=drives, drive_metres=drives, work_seconds=(600,) * 3)
    problem = dataclasses.replace(problem, routes=(route,))
    stops = [Planned(number, (number,)) for number in range(3)]
    ranks = [task.rank for task in problem.tasks]
    assert ranks == [1, 1, 0]
    whole, must = (stops[2], stops[0], stops[1]), (stops[2],)
    assert OrderCosts(problem).cost(0, whole) is not None
    bound = bounds(problem, frozenset(range(3)), (must,))
    assert bound.ranks >= rank_score(problem, served((whole,)))
