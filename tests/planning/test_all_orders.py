"""All sets of work at once against trying every order, one by one."""

from __future__ import annotations

import dataclasses
import itertools

import pytest

from routing.planning.exact.subset_dp import order_of_all
from routing.planning.exact.visit_options import Limits
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Problem, served
from tests.planning.random_problems import every_order, random_problem
from tests.planning.test_exact_day import everything
from tests.together import in_threes, then_deep

FEATURES = ("hours", "two tasks", "break", "last", "spans", "moves")
ALONE_AND_IN_PAIRS = [frozenset(), *(frozenset(c) for size in (1, 2) for c in itertools.combinations(FEATURES, size))]


def longer_day(problem: Problem, seconds: int) -> Problem:
    """Return the problem with later closings where light ends, and a later home."""
    return dataclasses.replace(
        problem,
        visits=tuple(
            dataclasses.replace(visit, closes=visit.closes + seconds * visit.closed_by_light)
            for visit in problem.visits
        ),
        routes=(dataclasses.replace(problem.routes[0], home_by=problem.routes[0].home_by + seconds),),
    )


@pytest.mark.parametrize(
    "features",
    then_deep(in_threes(FEATURES), ALONE_AND_IN_PAIRS),
    ids=lambda chosen: "+".join(sorted(chosen)) or "plain",
)
def test_an_order_is_found_where_there_is_one_and_a_no_is_never_wrong(features: frozenset[str]) -> None:
    """With the break taken and with none taken together they know what trying every order knows."""
    found = refused = 0
    for seed, longer in itertools.product(range(6), (0, 2400, 6000, 12000)):
        problem = random_problem(seed, visits=5 - len(features & {"two tasks", "spans"}), features=features)
        longer_problem = longer_day(problem, longer)
        whole = everything(problem)
        verdicts = [order_of_all(longer_problem, 0, whole, Limits(), rest=rest) for rest in (True, False)]
        assert all(verdict.proven for verdict in verdicts)
        orders = [verdict.order for verdict in verdicts if verdict.order]
        assert all(served((order,)) == whole for order in orders)
        order_costs = OrderCosts(longer_problem)
        fits = any(order_costs.cost(0, order) is not None for order in orders)
        assert fits or not orders or problem.routes[0].break_seconds
        expected = any(
            served((order,)) == whole and order_costs.cost(0, order) is not None
            for order in every_order(longer_problem)
        )
        assert fits <= expected
        assert expected <= bool(orders)
        found += fits
        refused += not orders
    assert found
    assert refused


def test_a_narrow_look_never_calls_its_no_a_proof() -> None:
    """Of days that do fit, a look that follows one set of each size finds some, and of the others it proves nothing."""
    missed = found = 0
    for seed in range(60):
        problem = longer_day(random_problem(seed, visits=6, features=frozenset({"hours"})), 9000)
        wide = order_of_all(problem, 0, everything(problem), Limits(), rest=False)
        narrow = order_of_all(problem, 0, everything(problem), Limits(sets_a_size=1), rest=False)
        if wide.order:
            missed += not narrow.order
            found += bool(narrow.order)
            assert narrow.order or not narrow.proven
        else:
            assert not narrow.order
    assert missed
    assert found


def test_a_spent_effort_proves_nothing() -> None:
    """With no sets allowed there is neither an order nor a proof."""
    problem = longer_day(random_problem(3, visits=5), 12000)
    verdict = order_of_all(problem, 0, everything(problem), Limits(ends=0), rest=False)
    assert not verdict.order
    assert not verdict.proven


def test_more_kinds_of_stop_than_it_can_hold_prove_nothing() -> None:
    """A hundred sites are told to be too many; nothing is said of them."""
    problem = random_problem(1, visits=100)
    verdict = order_of_all(problem, 0, everything(problem), Limits(), rest=False)
    assert verdict == dataclasses.replace(verdict, order=(), proven=False, ends=0)
