"""Bounds against trying every pair of orders: never beyond the truth, and near it."""

from __future__ import annotations

import itertools

import pytest

from routing.planning.problem import rank_score, served
from routing.planning.solve import solve
from tests.planning.random_problems import best_of_two, key, random_problem

FEATURES = ("hours", "two tasks", "load", "back", "stock", "break", "last", "spans", "space", "closed", "crews")
ALONE_AND_IN_PAIRS = [frozenset(), *(frozenset(c) for size in (1, 2) for c in itertools.combinations(FEATURES, size))]


@pytest.mark.parametrize("features", ALONE_AND_IN_PAIRS, ids=lambda chosen: "+".join(sorted(chosen)) or "plain")
def test_two_routes_are_solved_best_and_bounded_from_the_right_side(features: frozenset[str]) -> None:
    """The orders are the best of all pairs, and no bound is below (for ranks) or above (for time) what some pair does."""
    number = ALONE_AND_IN_PAIRS.index(features)
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
    assert solution.away_bound <= -best_of_two(problem, served(solution.orders))[3]
    if solution.proven:
        assert solution.rank_bounds == reached
