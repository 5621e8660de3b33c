"""Which engine for which problem, and what may be said of the answer."""

from __future__ import annotations

from dataclasses import dataclass

from routing.planning.engines.insertion import Rounds, construct, fill
from routing.planning.load import stock_left
from routing.planning.problem import Orders, Problem, rank_score, served, widest

MOST_PASSES = 4
"""With several crews, how often each crew-day is solved again with what the others left."""


@dataclass(frozen=True)
class Solution:
    """Orders for every route and how good they are."""

    orders: Orders
    proven: bool
    """Every rank and the time away proven best over all routes."""
    days_proven: bool
    """Each crew-day proven best for the tasks it has and those left out, the split between crews taken as given."""
    rank_bounds: tuple[int, ...]
    away_bound: int


def solve(problem: Problem, tasks: frozenset[int], work: float = 60) -> Solution:
    """Return the best orders found for these tasks, within a repeatable amount of `work` a crew-day.

    One route is solved to proof. Several are built by insertion and local search, then each crew-day is solved again
    with all that the others leave out, until none changes; a last pass adds whatever still fits.
    """
    rounds = Rounds(problem)
    orders = construct(rounds, tasks)
    if not problem.routes or not tasks:
        return Solution(orders, proven=True, days_proven=True, rank_bounds=(0, 0, 0), away_bound=0)
    # The solver takes half a second to import: only a question that needs it pays.
    from routing.planning.engines.exact_day import Budget, best_day  # noqa: PLC0415

    one = len(problem.routes) == 1
    days_proven, bounds, away_bound = False, rank_score(problem, tasks), 0
    for _ in range(1 if one else MOST_PASSES):
        before, days_proven = orders, True
        for route in range(len(problem.routes)):
            others = served(tuple(order for number, order in enumerate(orders) if number != route))
            answer = best_day(problem, route, tasks - others, stock_left(problem, others), orders[route], Budget(work))
            days_proven = days_proven and answer.proven
            orders = (*orders[:route], answer.order, *orders[route + 1 :])
            if one:
                bounds, away_bound = answer.rank_bounds, answer.away_bound
        if orders == before:
            break
    proven = one and days_proven
    if not proven:
        orders = fill(rounds, orders, tasks)
    return Solution(widest(problem, orders), proven, days_proven, bounds, away_bound)
