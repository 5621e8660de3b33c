"""The pool of known routes: what it says of one is what the route costs, on whichever day it was first found."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from routing.planning.model.order_costs import Cost, OrderCosts
from routing.planning.model.problem import Order, Planned, Problem, served
from routing.planning.model.route_pool import Column, RoutePool, twins, without
from tests.planning.day_by_hand import least_day
from tests.planning.random_problems import every_order_of, random_problem

DAY = 24 * 3600


def uneven_days(seed: int) -> Problem:
    """Return two crews on two days that are nearly alike: the second day may be shorter, or its windows and walks others."""
    dice = random.Random(seed)
    problem = random_problem(seed, 3, 4, frozenset({"hours", "break"}), days=2)
    routes = list(problem.routes)
    for number in (1, 3):
        if dice.random() < 0.4:
            routes[number] = replace(routes[number], home_by=routes[number].home_by - dice.choice([1, 3600]))
    visits = [
        replace(
            visit,
            opens=visit.opens + dice.choice([0, 0, 0, 600]),
            closes=visit.closes - dice.choice([0, 0, 0, 600]),
            walk_seconds=visit.walk_seconds + dice.choice([0, 0, 0, 60]),
        )
        if visit.day
        else visit
        for visit in problem.visits
    ]
    return replace(problem, routes=tuple(routes), visits=tuple(visits))


def test_every_route_of_the_pool_costs_what_it_takes_by_hand() -> None:
    """Though most come from another day, with every clock moved: none that breaks a rule is there, each set is at its least."""
    moved = 0
    for seed in range(25):
        problem = uneven_days(seed)
        pool = RoutePool(OrderCosts(problem))
        for order in every_order_of(problem, 0):
            pool.add(0, order)
        best: dict[tuple[int, frozenset[int]], tuple[int, int]] = {}
        for route in {same[0] for same in pool.twins.values()}:
            for order in every_order_of(problem, route):
                day = least_day(problem, route, order) if order else None
                if day is not None:
                    key = route, served((order,))
                    best[key] = min(best.get(key, day), day)
        for column in pool:
            assert least_day(problem, column.route, column.order) == (column.cost.main, column.cost.tie), seed
            assert served((column.order,)) == column.tasks
        known = {(column.route, column.tasks): (column.cost.main, column.cost.tie) for column in pool}
        assert known == best, seed
        assert len(pool) == len(known)
        moved += sum(route > 0 for route, _ in known)
    assert moved > 50


def two_alike() -> Problem:
    """Return two crews that nothing tells apart, on one day."""
    problem = random_problem(1, 3)
    return replace(problem, routes=(problem.routes[0], replace(problem.routes[0])))


def one_stop(problem: Problem, visit: int) -> Order:
    return (Planned(visit, problem.visits[visit].tasks),)


def test_of_crews_that_nothing_tells_apart_the_first_stands_for_all() -> None:
    problem = two_alike()
    assert twins(problem) == {0: [0, 1], 1: [0, 1]}
    other = replace(problem, routes=(problem.routes[0], replace(problem.routes[1], payload_grams=1)))
    assert twins(other) == {0: [0], 1: [1]}
    pool = RoutePool(OrderCosts(problem))
    pool.add(1, one_stop(problem, 0))
    (column,) = pool
    assert column.route == 0
    orders = ((), one_stop(problem, 0))
    assert pool.columns_of(orders) == [column]
    assert pool.columns_of((one_stop(problem, 1), one_stop(problem, 0))) == []
    assert pool.columns_of(((), ())) == []


def test_the_cheaper_order_of_a_set_is_kept() -> None:
    pool = RoutePool(OrderCosts(two_alike()))
    done = frozenset({0})
    for main, kept in ((10, 10), (11, 10), (9, 9), (9, 9)):
        pool.keep(Column(0, one_stop(two_alike(), 0), done, Cost(main, 5)))
        assert [column.cost.main for column in pool] == [kept]
    pool.keep(Column(0, one_stop(two_alike(), 0), done, Cost(9, 4)))
    assert [column.cost for column in pool] == [Cost(9, 4)]


def test_no_more_routes_are_kept_than_there_is_room_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("routing.planning.model.route_pool.MOST_POOLED", 2)
    problem = two_alike()
    pool = RoutePool(OrderCosts(problem))
    pool.add(0, ())
    assert len(pool) == 0
    for visit in range(3):
        pool.add(0, one_stop(problem, visit))
    assert [column.order for column in pool] == [one_stop(problem, 0), one_stop(problem, 1)]


def test_orders_less_one_task_are_added_up_to_a_limit() -> None:
    """Of three stops each pair, and of the pairs none: those are looked at that were there when it began."""
    problem = two_alike()
    whole = next(
        order for order in every_order_of(problem, 0) if len(order) == 3 and least_day(problem, 0, order) is not None
    )
    for most, found in ((10, 4), (3, 3), (1, 1)):
        pool = RoutePool(OrderCosts(problem))
        pool.add(0, whole)
        pool.thin(most)
        assert len(pool) == found
        for column in pool:
            assert [stop for stop in whole if stop in column.order] == list(column.order)


def test_a_stop_goes_with_its_last_task() -> None:
    order = (Planned(0, (0, 1)), Planned(1, (2,)))
    assert without(order, 1) == (Planned(0, (0,)), Planned(1, (2,)))
    assert without(order, 2) == (Planned(0, (0, 1)),)
    assert without(order, 3) == order
