"""Orders made possible: whatever an engine could not hold is mended by leaving the least important work undone."""

from __future__ import annotations

from routing.planning.model.load import stock_holds
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, Orders, Problem, served
from routing.planning.model.route_pool import without


def repaired(order_costs: OrderCosts, orders: Orders) -> Orders:
    """Return orders that keep every rule: no task twice, every route possible, the stock enough for all."""
    problem = order_costs.problem
    seen: set[int] = set()
    mended = []
    for route, order in enumerate(orders):
        once = order
        for task in sorted(served((order,)) & seen):
            once = without(once, task)
        mended.append(_possible(order_costs, route, once))
        seen |= served(mended[-1:])
    while not stock_holds(problem, served(mended)):
        short = _least(problem, _users(problem, served(mended)))
        mended = [without(order, short) for order in mended]
    return tuple(_possible(order_costs, route, order) for route, order in enumerate(mended))


def _possible(order_costs: OrderCosts, route: int, order: Order) -> Order:
    while order_costs.cost(route, order) is None:
        tasks = served((order,))
        mending = [task for task in tasks if order_costs.cost(route, without(order, task)) is not None]
        order = without(order, _least(order_costs.problem, mending or list(tasks)))
    return order


def _users(problem: Problem, tasks: frozenset[int]) -> list[int]:
    """Return the tasks that use a supply of which there is not enough."""
    used: dict[int, int] = {}
    for task in tasks:
        for supply, amount in problem.tasks[task].uses:
            used[supply] = used.get(supply, 0) + amount
    short = {s for s, amount in used.items() if 0 <= problem.supplies[s].stock < amount}
    return [task for task in tasks if any(s in short and amount for s, amount in problem.tasks[task].uses)]


def _least(problem: Problem, tasks: list[int]) -> int:
    return min(tasks, key=lambda task: (-problem.tasks[task].rank, problem.tasks[task].weight, task))
