"""Pricing whose work is counted: what it then says is true, however little it may do, and it ends."""

from __future__ import annotations

import random

import pytest

from routing.planning.bounds import pricing_work
from routing.planning.bounds.column_generation import bounds
from routing.planning.bounds.pricing import pricers
from routing.planning.bounds.pricing_work import COMPARED_A_WORK, PricingWork
from routing.planning.bounds.restricted_master import WalkChoice
from routing.planning.bounds.walk_days import days_of
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, rank_score, served
from routing.planning.running.budget import Budget
from routing.planning.search.closing import Closing
from routing.planning.search.incumbent import Incumbent
from routing.planning.search.insertion import construct, fill
from tests.farm_rounds import farm_round
from tests.planning.random_problems import best_of_two, hold_ranks, random_problem

FEW = (0, 1, 7, 60)
"""Labels that may be compared for one kind of day."""


@pytest.mark.parametrize("few", FEW)
@pytest.mark.parametrize("seed", range(8))
def test_bounds_of_hardly_any_work_are_passed_by_no_pair_of_orders(
    few: int, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The best of all pairs of orders, tried one by one, passes neither a rank's bound nor that of the time away."""
    monkeypatch.setattr(pricing_work, "LEAST_COMPARED", few)
    dice = random.Random(seed)
    features = frozenset({"break", "hours", *dice.sample(("two tasks", "load", "spans", "moves", "last"), 2)})
    problem = random_problem(seed, visits=4, routes=2, features=features, days=1 + seed % 2)
    everything = frozenset(range(len(problem.tasks)))
    orders = fill(OrderCosts(problem), ((), ()), everything)
    bound = bounds(problem, everything, orders, Budget(work=1e-9))
    hold_ranks(bound.ranks, best_of_two(problem), rank_score(problem, served(orders)))
    assert bound.cost <= -best_of_two(problem, served(orders))[RANKS]


@pytest.mark.parametrize("few", FEW)
@pytest.mark.parametrize("seed", range(8))
def test_a_round_closed_with_hardly_any_work_is_the_best_where_it_says_so(
    few: int, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Proven is what no pair of orders passes; what is not proven is bounded from the right side."""
    monkeypatch.setattr(pricing_work, "LEAST_COMPARED", few)
    problem = random_problem(seed, visits=4, routes=2, features=frozenset({"break", "hours", "stock"}))
    tasks = frozenset(range(len(problem.tasks)))
    incumbent = Incumbent(problem, tasks, None)
    incumbent.offer(construct(OrderCosts(problem), tasks))
    closed = Closing(incumbent, Budget(work=1e-9)).run()
    reached, best = rank_score(problem, served(incumbent.orders)), best_of_two(problem)
    costs = [OrderCosts(problem).cost(route, order) for route, order in enumerate(incumbent.orders)]
    away = sum(cost.main for cost in costs if cost)
    if closed.proven:
        assert (*reached, -away) == best[: RANKS + 1]
    hold_ranks(closed.rank_bounds, best, reached)
    assert closed.cost_bound <= -best_of_two(problem, served(incumbent.orders))[RANKS]


@pytest.mark.parametrize("seed", range(8))
def test_a_round_that_is_closed_again_goes_on_where_it_stopped(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """With hardly any work and then with all of it: proven, and as good as the best of all pairs of orders."""
    monkeypatch.setattr(pricing_work, "LEAST_COMPARED", 20)
    problem = random_problem(seed, visits=4, routes=2, features=frozenset({"break", "hours", "stock"}))
    tasks = frozenset(range(len(problem.tasks)))
    incumbent = Incumbent(problem, tasks, None)
    incumbent.offer(construct(OrderCosts(problem), tasks))
    closing = Closing(incumbent, Budget())
    first = closing.run(1e-12)
    second = closing.run()
    assert second.proven
    assert second.rank_bounds == rank_score(problem, served(incumbent.orders)) == best_of_two(problem)[:RANKS]
    assert second.cost_bound == -best_of_two(problem)[RANKS]
    assert first.rank_bounds >= second.rank_bounds


def test_the_parts_of_a_work_count_in_the_whole() -> None:
    """A quarter of it is spent beyond its end: that is missing of the whole, and each of many calls still has some."""
    whole = PricingWork.of(Budget(work=2))
    part = whole.part(0.25)
    assert part.share(1) == COMPARED_A_WORK // 2
    part.spend(COMPARED_A_WORK)
    assert part.over
    assert not whole.over
    assert whole.share(2) == COMPARED_A_WORK // 2
    assert part.share(10) == pricing_work.LEAST_COMPARED
    assert not PricingWork.of(Budget(work=2, deadline=0.0)).part(0.5).over


def test_pricing_ends_near_its_work() -> None:
    """Of thirty places no more is done than is given, but for one last time that all are looked through."""
    problem = farm_round(1, 30, 1, 3)
    orders = construct(OrderCosts(problem), frozenset(range(30)))
    tasks = served(orders)
    everything, little = PricingWork(1e12), PricingWork(1e6)
    far = WalkChoice(problem, tasks, pricers(days_of(problem, tasks), work=everything), orders, None, None)
    near = WalkChoice(problem, tasks, pricers(days_of(problem, tasks), work=little), orders, None, None)
    whole, cut = far.run(300, Budget()), near.run(300, Budget())
    assert near.spent < far.spent
    assert cut <= whole
    last = 3 * pricing_work.LEAST_COMPARED + 30 * 30 * 481 * 16 // 10 * 2
    assert -last < little.left <= 0
    assert 1e12 - everything.left > 2 * (1e6 + last)
