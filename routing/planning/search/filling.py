"""The last pass over a large round: every job that still fits is put in, without asking for most of them one by one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.load import stock_left
from routing.planning.model.order_costs import NOTHING, Cost, OrderCosts
from routing.planning.model.problem import NO_LIMIT, Order, Orders, served
from routing.planning.search.insertion import fitting


def filled(order_costs: OrderCosts, orders: Orders, tasks: frozenset[int]) -> Orders:
    """Return the orders with tasks put in where that costs least, greatest rank and weight first, until none fits."""
    problem = order_costs.problem

    def worth(task: int) -> tuple[int, int, int]:
        return problem.tasks[task].rank, -problem.tasks[task].weight, task

    while True:  # what is added may open the way for what did not fit before
        before, possible = orders, routes_for(order_costs, orders, tasks - served(orders))
        left = stock_left(problem, served(orders))
        for task in sorted(possible, key=worth):
            uses = problem.tasks[task].uses
            if all(left[supply] == NO_LIMIT or amount <= left[supply] for supply, amount in uses):
                found = _cheapest(order_costs, orders, task, possible[task])
                if found is not None:
                    orders = (*orders[: found[0]], found[1], *orders[found[0] + 1 :])
                    for supply, amount in uses:
                        left[supply] -= 0 if left[supply] == NO_LIMIT else amount
        if orders == before:
            return orders


def _cheapest(order_costs: OrderCosts, orders: Orders, task: int, routes: Sequence[int]) -> tuple[int, Order] | None:
    """Return the one of the routes that a task costs least, and its order with the task; None where it fits in none."""
    best: tuple[Cost, int, Order] | None = None
    for route in routes:
        before = order_costs.cost(route, orders[route]) or NOTHING
        for changed in fitting(order_costs, route, orders[route], (task,)):
            cost = order_costs.cost(route, changed)
            if cost is not None:
                extra = Cost(cost.main - before.main, cost.tie - before.tie)
                best = (extra, route, changed) if best is None or extra < best[0] else best
    return None if best is None else best[1:]


def routes_for(order_costs: OrderCosts, orders: Orders, tasks: frozenset[int]) -> dict[int, list[int]]:
    """Return for each task the routes with a gap that the clock does not keep it out of; all that it fits into."""
    problem = order_costs.problem
    pairs = [(visit, task) for task in sorted(tasks) for visit in problem.visits_of[task]]
    if not pairs:
        return {}
    visits = [problem.visits[visit] for visit, _ in pairs]
    places, opens, closes, days = np.array(
        [(visit.place, visit.opens, visit.closes, visit.day) for visit in visits], dtype=np.int64
    ).T
    on_site = np.array(
        [
            visit.walk_seconds + problem.tasks[task].set_up_seconds
            for visit, (_, task) in zip(visits, pairs, strict=True)
        ],
        dtype=np.int64,
    )
    numbers = np.array(pairs, dtype=np.int64)
    found: dict[int, list[int]] = {}
    for route, order in enumerate(orders):
        rules = problem.routes[route]
        mine = np.flatnonzero(days == rules.day)
        mine = mine[np.array(rules.allowed)[numbers[mine, 1]]]
        if not len(mine):
            continue
        seconds = on_site[mine] + np.array(rules.work_seconds, dtype=np.int64)[numbers[mine, 1]]
        fits = _in_a_gap(order_costs, route, order, (places[mine], opens[mine], closes[mine], seconds))
        there = np.isin(numbers[mine, 0], [planned.visit for planned in order])  # with what is done there already
        for task in sorted(set(numbers[mine[fits | there], 1].tolist())):
            found.setdefault(task, []).append(route)
    return found


def _in_a_gap(
    order_costs: OrderCosts, route: int, order: Order, stops: tuple[NDArray[np.int64], ...]
) -> NDArray[np.bool_]:
    """Return whether each stop (place, opens, closes, seconds; shape (stops,) each) fits into a gap by the clock."""
    places, opens, closes, seconds = stops
    problem = order_costs.problem
    drives = problem.relaxation.routes[route].drive_seconds
    ready, due = (np.array(moments, dtype=np.int64) for moments in order_costs.slack(route, order))
    ends = np.array([0, *(problem.visits[planned.visit].place for planned in order), 0])
    before, after = (
        drives[np.ix_(ends[:-1], places)].astype(np.int64),
        drives[np.ix_(places, ends[1:])].T.astype(np.int64),
    )
    finish = np.maximum(ready[:, None] + before, opens) + seconds
    fits = (before >= 0) & (after >= 0) & (finish <= closes) & (finish + after <= due[:, None])
    return np.asarray(fits.any(axis=0))
