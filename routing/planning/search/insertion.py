"""Orders by cheapest insertion and local search: quick, for any number of crews, never proven.

It gives `fit` its quick yes, starts the exact search from something good, and makes the last pass that leaves no
visit out which still fits.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from routing.planning.model.load import stock_holds
from routing.planning.model.order_costs import NOTHING, Cost, OrderCosts
from routing.planning.model.problem import Order, Orders, Planned, Problem, rank_score, served
from routing.planning.running.time_limit import heed

MOST_PASSES = 30
"""Local search stops after this many improving passes."""


def insertions(problem: Problem, day: int, order: Order, tasks: Sequence[int]) -> Iterator[Order]:
    """Yield every order made by adding these tasks, all in one stop, to an existing stop or as a new one."""
    for visit in problem.visits_for(tasks):
        if problem.visits[visit].day != day:
            continue
        for position, planned in enumerate(order):
            if planned.visit == visit:
                more = Planned(visit, tuple(sorted({*planned.tasks, *tasks})))
                yield (*order[:position], more, *order[position + 1 :])
        for position in range(len(order) + 1):
            yield (*order[:position], Planned(visit, tuple(sorted(tasks))), *order[position:])


def fitting(order_costs: OrderCosts, route: int, order: Order, tasks: Sequence[int]) -> Iterator[Order]:
    """Yield what `insertions` yields for one route, without the orders that cannot fit by the clock."""
    problem, drive = order_costs.problem, order_costs.drives[route]
    if not all(problem.routes[route].allowed[task] for task in tasks):
        return
    ready, due = order_costs.slack(route, order)
    places = [0, *(problem.visits[planned.visit].place for planned in order), 0]
    for visit in order_costs.visits_with(problem.routes[route].day, tasks):
        facts = problem.visits[visit]
        new = Planned(visit, tuple(sorted(tasks)))
        seconds = problem.on_site_seconds(route, new)
        for position, planned in enumerate(order):
            if planned.visit == visit:
                more = Planned(visit, tuple(sorted({*planned.tasks, *tasks})))
                yield (*order[:position], more, *order[position + 1 :])
        for position in range(len(order) + 1):
            before, after = drive[places[position]][facts.place], drive[facts.place][places[position + 1]]
            if before < 0 or after < 0:
                continue
            finish = max(ready[position] + before, facts.opens) + seconds
            if finish <= facts.closes and finish + after <= due[position]:
                yield (*order[:position], new, *order[position:])


def cheapest_insertion(order_costs: OrderCosts, orders: Orders, tasks: Sequence[int]) -> Orders | None:
    """Return the orders with these tasks added in one stop where that costs least, or None where nothing fits."""
    problem = order_costs.problem
    if not stock_holds(problem, served(orders) | set(tasks)):
        return None
    best: tuple[Cost, int, Order] | None = None
    for route, order in enumerate(orders):
        heed()
        before = order_costs.cost(route, order) or NOTHING
        for changed in fitting(order_costs, route, order, tasks):
            cost = order_costs.cost(route, changed)
            if cost is None:
                continue
            extra = Cost(cost.main - before.main, cost.tie - before.tie)
            if best is None or extra < best[0]:
                best = (extra, route, changed)
    if best is None:
        return None
    return (*orders[: best[1]], best[2], *orders[best[1] + 1 :])


def fill(order_costs: OrderCosts, orders: Orders, tasks: frozenset[int]) -> Orders:
    """Return the orders with every task added that still fits, the highest rank and weight first.

    Whole sites are tried before single tasks, so that one set-up serves all.
    """
    problem = order_costs.problem
    missing = tasks - served(orders)
    bundles = {
        tuple(task for task in visit.tasks if task in missing) for visit in problem.visits if missing & set(visit.tasks)
    }
    singles = {(task,) for task in missing}

    def worth(bundle: tuple[int, ...]) -> tuple[int, ...]:
        return (*(-score for score in rank_score(problem, frozenset(bundle))), *bundle)

    choices = [*sorted(bundles, key=worth), *sorted(singles, key=worth)]
    while True:  # what is added may open the way for what did not fit before: a quicker way, another load
        before = orders
        for bundle in choices:
            left = tuple(task for task in bundle if task not in served(orders))
            if left == bundle:
                orders = cheapest_insertion(order_costs, orders, bundle) or orders
        if orders == before:
            return orders


def improve(order_costs: OrderCosts, orders: Orders) -> Orders:
    """Return orders of the same tasks with no better neighbour: a stop moved, a stretch reversed, two stops swapped.

    Every better neighbour is taken at once; the search ends after a whole pass without one, or after MOST_PASSES.
    """
    for _ in range(MOST_PASSES):
        better = _better_pass(order_costs, orders)
        if better == orders:
            return orders
        orders = better
    return orders


def construct(order_costs: OrderCosts, tasks: frozenset[int], start: Orders | None = None) -> Orders:
    """Return good orders for any number of routes: fill, improve, and fill again until nothing more fits."""
    orders = start if start is not None else tuple(() for _ in order_costs.problem.routes)
    while True:
        before = served(orders)
        orders = fill(order_costs, orders, tasks)
        orders = improve(order_costs, orders)
        orders = _swap_in(order_costs, orders, tasks)
        if served(orders) == before:
            return orders


def _better_pass(order_costs: OrderCosts, orders: Orders) -> Orders:
    """Return the orders after trying every neighbour of where the pass began, each better one taken as it is met."""
    for changes in _neighbours(orders):
        if any(orders[route] != before for route, (before, _) in changes.items()):
            continue
        heed()
        extra = Cost(0, 0)
        for route, (before, after) in changes.items():
            old, new = order_costs.cost(route, before), order_costs.cost(route, after)
            if old is None or new is None:
                break
            extra = Cost(extra.main + new.main - old.main, extra.tie + new.tie - old.tie)
        else:
            if extra < NOTHING:
                orders = _replaced(orders, {route: after for route, (_, after) in changes.items()})
    return orders


Changes = dict[int, tuple[Order, Order]]
"""For each route that changes, its order before and after."""


def _neighbours(orders: Orders) -> Iterator[Changes]:
    for route, order in enumerate(orders):
        for start in range(len(order)):
            for end in range(start + 2, len(order) + 1):
                yield {route: (order, (*order[:start], *reversed(order[start:end]), *order[end:]))}
    yield from _moves(orders)
    yield from _swaps(orders)


def _moves(orders: Orders) -> Iterator[Changes]:
    """Yield every move of one stop, or of two in a row, to another position of any route."""
    pieces = [
        (route, start, length)
        for route, order in enumerate(orders)
        for length in (1, 2)
        for start in range(len(order) - length + 1)
    ]
    for route, start, length in pieces:
        order = orders[route]
        piece, rest = order[start : start + length], (*order[:start], *order[start + length :])
        for other, target in enumerate(orders):
            shorter = rest if other == route else target
            for position in range(len(shorter) + 1):
                longer = (*shorter[:position], *piece, *shorter[position:])
                yield {route: (order, rest)} | {other: (target, longer)}


def _swaps(orders: Orders) -> Iterator[Changes]:
    """Yield every exchange of one stop between two routes."""
    for route, order in enumerate(orders):
        for other in range(route + 1, len(orders)):
            target = orders[other]
            for i, one in enumerate(order):
                for j, two in enumerate(target):
                    mine = (*order[:i], two, *order[i + 1 :])
                    theirs = (*target[:j], one, *target[j + 1 :])
                    yield {route: (order, mine), other: (target, theirs)}


def _replaced(orders: Orders, changes: dict[int, Order]) -> Orders:
    return tuple(changes.get(route, order) for route, order in enumerate(orders))


def _swap_in(order_costs: OrderCosts, orders: Orders, tasks: frozenset[int]) -> Orders:
    """Return orders in which one stop made way for left-out work that is worth more, if any such swap exists."""
    problem = order_costs.problem
    score = rank_score(problem, served(orders))
    for route, order in enumerate(orders):
        for position in range(len(order)):
            shorter = _replaced(orders, {route: (*order[:position], *order[position + 1 :])})
            filled = fill(order_costs, shorter, tasks)
            if rank_score(problem, served(filled)) > score:
                return filled
    return orders
