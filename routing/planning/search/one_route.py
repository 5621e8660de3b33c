"""One route: walks, engines and the circuit model, one after another."""

from __future__ import annotations

from dataclasses import replace

from routing.planning import exact
from routing.planning.exact.day_answer import DayAnswer, Stopped
from routing.planning.model.load import stock_left
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, Order, Orders, Problem, rank_score, served, widest
from routing.planning.search.incumbent import measure
from routing.planning.search.insertion import construct, fill
from routing.planning.search.long_route import Begun, begin_long
from routing.planning.search.preselection import most_weight
from routing.planning.search.settings import Settings
from routing.planning.search.solution import Solution, nearer

MOST_CONSTRUCTED = 40
"""A single route of more candidates starts from the engines, and not from our own construction alone."""

MOST_EXACT = 80
"""A single route of more candidates, whose day cannot hold one rank of them, is not searched for the lesser ranks."""

SCARCE_SHARE = 0.25
"""Of the work, what such a route gets: most of what is asked of it cannot be done anyway."""
CIRCUIT_OF_MANY = 0.1
"""Of the work left where walks and engines have not proven the best of so many, what the circuit model gets."""


def within_reach(problem: Problem, tasks: frozenset[int]) -> frozenset[int]:
    """Return the tasks up to the rank whose work alone is longer than one route's day; all where there are few.

    What the best serve of that rank does not depend on the lesser ones, which only fill the gaps.
    """
    if len(tasks) <= MOST_EXACT:
        return tasks
    route = problem.routes[0]
    for rank in range(RANKS):
        reach = frozenset(task for task in tasks if problem.tasks[task].rank <= rank)
        if sum(route.work_seconds[task] for task in reach) > route.longest:
            return reach
    return tasks


def with_the_rest(
    problem: Problem,
    contested: frozenset[int],
    tasks: frozenset[int],
    settings: Settings,
) -> Solution:
    """Return the best orders of the contested tasks with what else still fits; lesser ranks have no bound."""
    budget = replace(settings.budget, work=settings.budget.work * SCARCE_SHARE)
    found = solve_route(problem, contested, replace(settings, budget=budget))
    orders = fill(OrderCosts(problem), found.orders, tasks)
    most = rank_score(problem, tasks)
    last = max(problem.tasks[task].rank for task in contested)
    return replace(
        found,
        orders=widest(problem, orders),
        proven=False,
        days_proven=False,
        rank_bounds=(*found.rank_bounds[: last + 1], *most[last + 1 :]),
        away_bound=found.away_bound if served(orders) == served(found.orders) else 0,
    )


def _filled(
    order_costs: OrderCosts, start: Orders, answer: DayAnswer, tasks: frozenset[int]
) -> tuple[Orders, DayAnswer]:
    """Return the best orders known of one route, and what may still be said of them.

    The exact search makes each visit once; what a second stop at a site still serves comes in here.
    """
    orders: Orders = fill(order_costs, (answer.order,), tasks)
    if not answer.proven:
        orders = max(start, orders, key=lambda each: measure(order_costs, each))
    reached = rank_score(order_costs.problem, served((answer.order,)))
    if rank_score(order_costs.problem, served(orders)) != reached:
        nothing_known = rank_score(order_costs.problem, tasks)
        answer = replace(answer, proven=False, rank_bounds=nothing_known, away_bound=0)
    return orders, answer


def solve_route(problem: Problem, tasks: frozenset[int], settings: Settings) -> Solution:
    """Return what `solve` does for one route, where no task waits for another.

    Raises KeyboardInterrupt where Ctrl-C comes before there are any orders.
    """
    budget, progress = settings.budget, settings.progress
    order_costs = OrderCosts(problem)
    if len(tasks) > MOST_CONSTRUCTED:
        begun = begin_long(problem, tasks, settings)
    else:
        begun = Begun(construct(order_costs, tasks), None, interrupted=False, too_long=False)
    start, walked, interrupted = begun.orders, begun.walked, begun.interrupted
    bounds = rank_score(problem, tasks) if walked is None else walked.rank_bounds
    if interrupted or begun.too_long or (not settings.prove and len(tasks) > MOST_CONSTRUCTED):
        answer = DayAnswer(start[0], proven=False, rank_bounds=bounds, away_bound=0)
        return _solution(problem, tasks, start, answer, interrupted=interrupted)
    heard = list(start)

    def hear(order: Order) -> None:
        heard.append(order)
        if progress is not None:
            progress((order,))

    if budget.deadline is None and len(tasks) > MOST_EXACT:
        budget = replace(budget, work=budget.work * CIRCUIT_OF_MANY)
    try:
        hear(start[0])
        stock = stock_left(problem, ())
        answer = exact.cp_sat.best_day(problem, 0, tasks, stock, start[0], budget, hear, walked=walked)
    except Stopped as stopped:
        answer, interrupted = stopped.answer, True
    except KeyboardInterrupt:
        answer, interrupted = DayAnswer(heard[-1], proven=False, rank_bounds=bounds, away_bound=0), True
    orders, answer = _filled(order_costs, start, answer, tasks)
    if interrupted and not served(orders):
        raise KeyboardInterrupt
    return _solution(problem, tasks, orders, answer, interrupted=interrupted)


def _solution(
    problem: Problem, tasks: frozenset[int], orders: Orders, answer: DayAnswer, *, interrupted: bool
) -> Solution:
    """Return the orders with what may be said of them; where nothing is proven, no more is done than the hours hold."""
    ranks = answer.rank_bounds if answer.proven else nearer(answer.rank_bounds, most_weight(problem, tasks))
    return Solution(widest(problem, orders), answer.proven, answer.proven, ranks, answer.away_bound, interrupted)
