"""Rounds searched by parts: the thresholds are lowered here, so that small rounds go the way of great ones."""

from __future__ import annotations

import random

import pytest

from routing.planning.model.engine import Limit
from routing.planning.model.load import stock_left
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.part import part_of
from routing.planning.model.problem import NO_LIMIT, RANKS, Orders, Problem, rank_score, served
from routing.planning.running.parts import Here, Parts
from routing.planning.search import by_parts, parting
from routing.planning.search import solve as solving
from routing.planning.search.filling import filled, routes_for
from routing.planning.search.incumbent import measure
from routing.planning.search.insertion import construct, fill, insertions
from routing.planning.search.parting import first_groups, nearness_of, next_groups
from routing.planning.search.solve import solve
from tests.large_rounds import large_round
from tests.planning.random_problems import PressesCtrlC, best_of_two, key, random_problem

FEATURES = ["hours", "two tasks", "load", "stock", "break", "last", "moves", "returns", "crews", "spans", "closed"]
"""Of small random problems; each has some of them."""


@pytest.fixture(autouse=True)
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(solving, "MOST_WHOLE", 1)
    monkeypatch.setattr(parting, "ROUTES_A_PART", 2)
    monkeypatch.setattr(by_parts, "ITERATIONS_A_TASK", 20)


def mixed(seed: int, visits: int, routes: int) -> Problem:
    dice = random.Random(seed)
    features = frozenset(dice.sample(FEATURES, 3))
    return random_problem(seed, visits, routes, features, days=1 + seed % 2)


def everything(problem: Problem) -> frozenset[int]:
    return frozenset(range(len(problem.tasks)))


@pytest.mark.parametrize("seed", range(24))
def test_orders_keep_every_rule_and_leave_out_nothing_that_fits(seed: int) -> None:
    """Timed and loaded by arithmetic of the tests alone; four to six crew-days in parts of two."""
    problem = mixed(seed, 14, 4 + seed % 3)
    found = solve(problem, everything(problem), 10)
    assert key(problem, found.orders) is not None
    assert fill(OrderCosts(problem), found.orders, everything(problem)) == found.orders
    assert all(
        bound >= done for bound, done in zip(found.rank_bounds, rank_score(problem, served(found.orders)), strict=True)
    )
    assert not found.proven


@pytest.mark.parametrize("seed", range(12))
def test_no_better_than_the_best_and_mostly_it(seed: int) -> None:
    """Two crew-days and five visits, tried in every way: one part, which the engines come to the end of."""
    problem = random_problem(seed, 5, 2, frozenset({"hours"} if seed % 2 else {"two tasks"}), days=1 + seed % 2)
    found = solve(problem, everything(problem), 10)
    reached, best = key(problem, found.orders), best_of_two(problem)
    assert reached is not None
    assert reached[:RANKS] == best[:RANKS]
    assert -reached[RANKS] <= 1.02 * -best[RANKS]
    assert reached <= best
    assert found.away_bound <= -best[RANKS] or reached[:RANKS] != best[:RANKS]


@pytest.mark.parametrize("seed", range(12))
def test_parts_share_no_crew_day_no_task_and_no_stock(seed: int) -> None:
    problem = mixed(seed, 16, 6)
    tasks = everything(problem)
    known = nearness_of(problem, tasks)
    orders = construct(OrderCosts(problem), tasks)
    first = first_groups(problem, known)
    assert sorted(route for group in first for route in group.routes) == list(range(6))
    assert sorted(task for group in first for task in group.tasks) == sorted(tasks)
    for turn in range(3):
        groups = next_groups(problem, known, orders, turn)
        routes = [route for group in groups for route in group.routes]
        chosen = [task for group in groups for task in group.tasks]
        assert len(set(routes)) == len(routes)
        assert {route for route, order in enumerate(orders) if order} <= set(routes)
        assert len(set(chosen)) == len(chosen)
        assert served(orders) <= set(chosen)
        assert all(served((orders[route],)) <= set(group.tasks) for group in groups for route in group.routes)
        search = by_parts.ByParts(problem, tasks, Parts(Here()), None)
        search.orders = orders
        shares = search._stock(groups)
        for supply, each in enumerate(problem.supplies):
            given = [share[supply] for share in shares]
            assert given == [NO_LIMIT] * len(groups) if each.stock == NO_LIMIT else sum(given) <= each.stock


@pytest.mark.parametrize("seed", range(10))
def test_an_order_costs_in_a_part_what_it_costs_in_the_whole(seed: int) -> None:
    problem = mixed(seed, 10, 4)
    orders = construct(OrderCosts(problem), everything(problem))
    routes = (1, 3)
    tasks = sorted(served((orders[1], orders[3])))
    part = part_of(problem, routes, tasks, stock_left(problem, served((orders[0], orders[2]))))
    mine = part.restricted(orders)
    assert part.lifted(mine) == {route: orders[route] for route in routes}
    for number, route in enumerate(routes):
        assert OrderCosts(part.problem).cost(number, mine[number]) == OrderCosts(problem).cost(route, orders[route])


@pytest.mark.parametrize("seed", range(20))
def test_no_route_that_a_task_fits_into_is_passed_over(seed: int) -> None:
    """Each task is tried in every gap of orders that were thinned out; the last pass comes to what filling comes to."""
    problem = mixed(seed, 12, 3)
    order_costs, tasks = OrderCosts(problem), everything(problem)
    whole = construct(order_costs, tasks)
    orders: Orders = tuple(order[: len(order) // 2] for order in whole)
    if any(order and order_costs.cost(route, order) is None for route, order in enumerate(orders)):
        orders = tuple(() for _ in orders)
    left = tasks - served(orders)
    possible = routes_for(order_costs, orders, left)
    for task in left:
        for route, order in enumerate(orders):
            changed = insertions(problem, problem.routes[route].day, order, (task,))
            if any(order_costs.cost(route, each) is not None for each in changed):
                assert route in possible[task]
    after = filled(order_costs, orders, tasks)
    assert fill(order_costs, after, tasks) == after
    assert served(orders) <= served(after)


def test_a_part_never_comes_back_worse() -> None:
    problem = large_round(3, 40, 2, 2)
    orders = construct(OrderCosts(problem), everything(problem))
    piece = by_parts.Piece(problem, orders, Limit(200, 5), None, None)
    assert measure(OrderCosts(problem), by_parts.solved(piece)) >= measure(OrderCosts(problem), orders)


def test_ctrl_c_keeps_the_best_so_far() -> None:
    """It comes when the first part is there: the other crew-days then do what still fits."""
    problem = large_round(4, 40, 2, 3)
    presses = PressesCtrlC()
    found = solve(problem, everything(problem), 30, progress=presses)
    assert found.interrupted
    assert served(presses.told[0]) <= served(found.orders)
    assert key(problem, found.orders) is not None


def test_by_the_clock_it_ends_in_time() -> None:
    problem = large_round(4, 60, 2, 3)
    told: list[Orders] = []
    found = solve(problem, everything(problem), seconds=3, progress=told.append, parts=Parts(Here()))
    assert key(problem, found.orders) is not None
    assert told
