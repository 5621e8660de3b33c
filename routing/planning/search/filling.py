"""The last pass over a large round: every job that still fits is put in, without asking for most of them one by one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, Orders, served
from routing.planning.search.insertion import fill


def filled(order_costs: OrderCosts, orders: Orders, tasks: frozenset[int]) -> Orders:
    """Return what `fill` comes to: orders into which none of the tasks fits any more."""
    while True:
        left = tasks - served(orders)
        before, possible = orders, might_fit(order_costs, orders, left)
        orders = fill(order_costs, orders, possible)
        if orders == before:
            return orders


def might_fit(order_costs: OrderCosts, orders: Orders, tasks: frozenset[int]) -> frozenset[int]:
    """Return those of the tasks that the clock does not keep out of every gap; each that fits is among them."""
    problem = order_costs.problem
    pairs = [(visit, task) for task in sorted(tasks) for visit in problem.visits_of[task]]
    if not pairs:
        return frozenset()
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
    found = np.zeros(len(pairs), dtype=bool)
    for route, order in enumerate(orders):
        rules = problem.routes[route]
        mine = np.flatnonzero((days == rules.day) & ~found)
        mine = mine[np.array(rules.allowed)[numbers[mine, 1]]]
        if not len(mine):
            continue
        seconds = on_site[mine] + np.array(rules.work_seconds, dtype=np.int64)[numbers[mine, 1]]
        fits = _in_a_gap(order_costs, route, order, (places[mine], opens[mine], closes[mine], seconds))
        there = np.isin(numbers[mine, 0], [planned.visit for planned in order])  # with what is done there already
        found[mine[fits | there]] = True
    return frozenset(numbers[found, 1].tolist())


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
