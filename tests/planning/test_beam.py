"""Beam search against trying every order of one route."""

from __future__ import annotations

import itertools

import pytest

from routing.planning.heuristics.beam import BeamSearch
from routing.planning.model.engine import Ask, Limit
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, rank_score, served
from routing.planning.search.repair import repaired
from routing.planning.search.solve import solve
from tests.planning.random_problems import best_by_trying, key, random_problem
from tests.planning.test_exact_day import everything
from tests.together import in_threes, then_deep

FEATURES = ("hours", "two tasks", "break", "last", "load", "stock")


@pytest.mark.parametrize(
    "features",
    then_deep(in_threes(FEATURES), (frozenset(c) for size in (1, 2) for c in itertools.combinations(FEATURES, size))),
    ids=lambda chosen: "+".join(sorted(chosen)) or "plain",
)
def test_it_comes_near_the_best_choice_and_what_it_proposes_can_be_mended(features: frozenset[str]) -> None:
    """Of four days' best must weight at least nine tenths is reached after mending, and never more than there is."""
    reached = best = 0
    for seed in range(4):
        problem = random_problem(seed, visits=4 if "two tasks" in features else 5, features=features)
        order_costs = OrderCosts(problem)
        orders = repaired(order_costs, BeamSearch()(Ask(problem, everything(problem), Limit(5000))))
        assert order_costs.cost(0, orders[0]) is not None
        assert key(problem, orders) is not None
        reached += rank_score(problem, served(orders))[0]
        best += best_by_trying(problem)[0]
    assert 0.9 * best <= reached <= best


def test_it_tells_of_orders_on_the_way_and_repeats_itself() -> None:
    """Every order told of is one of the route's, and the same question has the same answer."""
    problem = random_problem(2, visits=30, features=frozenset({"hours"}))
    told: list[Order] = []
    ask = Ask(problem, everything(problem), Limit(3000), None, lambda _, order: told.append(order))
    first = BeamSearch()(ask)
    assert len(told) > 5
    assert all(len(served((order,))) == sum(len(planned.tasks) for planned in order) for order in told)
    assert first == BeamSearch()(ask)
    assert rank_score(problem, served(first)) == max(rank_score(problem, served((order,))) for order in told)


def test_a_start_is_never_made_worse() -> None:
    """With one set of each size to follow and a good start, the start's weight is kept."""
    problem = random_problem(5, visits=8)
    good = solve(problem, everything(problem)).orders
    again = BeamSearch()(Ask(problem, everything(problem), Limit(1), good))
    assert rank_score(problem, served(again)) >= rank_score(problem, served(good))


def test_one_crew_day_of_many_candidates_is_planned_and_kept_to_every_rule() -> None:
    """Of 60 candidates for one day the search serves no less than beam search alone."""
    problem = random_problem(3, visits=60, features=frozenset({"hours", "break"}))
    alone = repaired(OrderCosts(problem), BeamSearch()(Ask(problem, everything(problem), Limit(3000))))
    solution = solve(problem, everything(problem), work=2, prove=False)
    assert OrderCosts(problem).cost(0, solution.orders[0]) is not None
    assert rank_score(problem, served(solution.orders)) >= rank_score(problem, served(alone))
