"""Several crews, and that nothing is left out which still fits."""

from __future__ import annotations

import pytest

from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, rank_score, served
from routing.planning.search.closing import may_be_closed
from routing.planning.search.incumbent import Incumbent
from routing.planning.search.insertion import cheapest_insertion, fill
from routing.planning.search.polish import Polish
from routing.planning.search.schedule import Schedule
from routing.planning.search.solve import solve
from tests.planning.random_problems import best_by_trying, key, random_problem


@pytest.mark.parametrize("seed", range(6))
def test_nothing_is_left_out_that_still_fits(seed: int) -> None:
    """With two crews and every constraint at once, no left-out task can be inserted anywhere."""
    features = frozenset({"hours", "two tasks", "back", "stock", "break", "last"})
    problem = random_problem(seed, visits=9, routes=2, features=features)
    everything = frozenset(range(len(problem.tasks)))
    orders = solve(problem, everything, work=10, prove=False).orders
    assert key(problem, orders) is not None
    for task in everything - served(orders):
        assert cheapest_insertion(OrderCosts(problem), orders, (task,)) is None


@pytest.mark.parametrize("seed", range(6))
def test_two_crews_do_no_less_than_the_best_of_one(seed: int) -> None:
    """A second crew never lowers what is served."""
    one = random_problem(seed, visits=5)
    two = random_problem(seed, visits=5, routes=2)
    best = best_by_trying(one)
    tasks = frozenset(range(len(two.tasks)))
    assert rank_score(two, served(solve(two, tasks).orders)) >= best[:RANKS]


def test_small_rounds_are_proven_where_routes_are_modelled_as_they_are_timed() -> None:
    """One crew, and two whose rounds the brute force of `test_closing` covers; not two that load again on the way."""
    tasks = frozenset(range(5))
    assert solve(random_problem(1), tasks).proven
    assert solve(random_problem(1, routes=2), tasks).proven
    assert not may_be_closed(random_problem(1, routes=2, features=frozenset({"returns"})), tasks)


def test_days_are_proven_of_the_orders_that_they_were_solved_for() -> None:
    """Each day best by itself is said of poor orders that were polished, and of no better ones that come after them."""
    bettered = 0
    for seed in range(12):
        problem = random_problem(seed, visits=5, routes=2, features=frozenset({"hours"}))
        tasks = frozenset(range(len(problem.tasks)))
        incumbent = Incumbent(problem, tasks, None)
        incumbent.offer(fill(OrderCosts(problem), ((), ()), tasks))
        polish = Polish(incumbent)
        assert not polish.days_proven
        polish.run(60, Schedule(0.0, None, len(tasks), 2))
        assert polish.days_proven
        if incumbent.offer(solve(problem, tasks).orders):
            assert not polish.days_proven
            bettered += 1
    assert bettered


def test_no_route_and_no_task_are_answered() -> None:
    """A day without crews or without work has an empty answer."""
    assert solve(random_problem(1, routes=0), frozenset(range(5))).orders == ()
    assert solve(random_problem(1), frozenset()).orders == ((),)
