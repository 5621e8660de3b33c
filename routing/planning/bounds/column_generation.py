"""How good orders of several routes are: bounds that no other orders pass, by column generation over walks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from routing.planning.bounds.pricing import pricers
from routing.planning.bounds.pricing_work import PricingWork
from routing.planning.bounds.restricted_master import NEAR, SETTLED, Effort, WalkChoice
from routing.planning.bounds.rows import Goal
from routing.planning.bounds.tightening import cut, remember_more
from routing.planning.bounds.walk_days import Day, days_of
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, Orders, Problem, rank_score, served
from routing.planning.model.route_pool import RoutePool

MOST_NODES = 400
"""Above so many nodes a crew-day no bound is sought beyond the sums."""

MOST_ROUNDS = 10_000
"""Of pricing, where a clock ends it."""

LEAST_ROUNDS = 4

MOST_REMEMBERING_AT_ONCE = 100
"""Up to so many nodes a crew-day the bound of the cost is sought so from the first."""

NEAR_ENOUGH = 0.01
"""Share of the time away; a bound farther off than this is sought again with walks that remember more."""

CUT_AT_ONCE, MOST_TIMES_CUT = 10, 2
"""Subset-row cuts added together, and how often: labels have room for 64."""

MOST_TIMES_REMEMBERED = 4
"""So often walks come to remember more."""

MOST_TIGHTENED = 200
"""Up to so many nodes a crew-day there are both; of more, prices have not settled when the time is over."""

MOST_TIGHTENED_APART = 60
"""The same without a clock where crew-days are of several kinds: of 78 jobs by two crews bounds took twice as long."""

NODES_A_SECOND = 1200
"""Of pricing, which with the work makes rounds: 150 visits over like days take 0.1 s a round, and need about 100."""

MOST_SHARE = 0.5
"""Of the pricing that is left, what one rank's bound may take."""

NEAR_THE_PROGRAMME = 0.002
"""Share of the programme's value within which a bound need not come nearer where no clock is given: of 78 jobs by two
crews bounds take half as long, and the last fifth of them would be for as little."""


@dataclass(frozen=True)
class Bound:
    """What no orders can pass."""

    ranks: tuple[int, ...]
    """Shape (RANKS,): no orders serve more weight in the first rank whose bound exceeds what was served."""
    cost: int
    """No orders of the same tasks take fewer seconds away (metres, where these come first), all routes added up."""


def bounds(
    problem: Problem,
    tasks: frozenset[int],
    orders: Orders,
    effort: Effort | None = None,
    pool: RoutePool | None = None,
    most: tuple[int, ...] | None = None,
) -> Bound:
    """Return bounds for orders that keep every rule; `effort` limits how long they are sought.

    `most` is what is known to be passed by no orders, in the first rank in which it is more than these serve.

    It starts from the routes of the `pool`, which halves the rounds, and adds to them the walks that are orders:
    recombined, they may beat those given.
    """
    effort = effort or Effort()
    work = PricingWork.of(effort)
    pool = pool or RoutePool(OrderCosts(problem))
    reached = rank_score(problem, served(orders))
    ranks = list(most or rank_score(problem, tasks))
    days = days_of(problem.relaxation, tasks)
    size = max((len(day.tasks) for day in days), default=0)
    rounds = pricing_rounds(days, effort)
    if size > MOST_NODES:
        return Bound(tuple(ranks), 0)
    for rank in range(RANKS):
        if ranks[rank] > reached[rank]:
            least = _most_weight(problem, tasks, days, orders, Goal(rank, reached), pool, effort, work)
            if least > -math.inf:
                ranks[rank] = min(ranks[rank], math.floor(-least + NEAR))
        if ranks[rank] > reached[rank]:
            break
    return Bound(tuple(ranks), _least_cost(problem, orders, rounds, effort, pool, work))


def _most_weight(
    problem: Problem, tasks: frozenset[int], days: Sequence[Day], orders: Orders, goal: Goal, pool: RoutePool,
    effort: Effort, work: PricingWork,
) -> float:  # fmt: skip
    """Return minus a weight of the goal's rank that no orders pass, minus infinity where none is found.

    Where not near enough it is sought again with walks that remember more, and then with subset-row cuts, a few more
    each time for as long as they tell.
    """
    rounds, until, near = pricing_rounds(days, effort), effort.half(), _near(effort)
    size = max((len(day.tasks) for day in days), default=0)
    choice = WalkChoice(problem, tasks, pricers(days, work=work.part(MOST_SHARE)), orders, goal, pool)
    least = choice.run(rounds, until, near)
    roomy = size <= MOST_TIGHTENED and (effort.deadline is not None or len(days) == 1 or size <= MOST_TIGHTENED_APART)
    for time in range(MOST_TIMES_REMEMBERED + MOST_TIMES_CUT if roomy else 0):
        if choice.enough(least) or until.over() or choice.spent >= rounds or choice.work.over:
            break
        if remember_more(choice) if time < MOST_TIMES_REMEMBERED else cut(choice, CUT_AT_ONCE):
            least = max(least, choice.run(rounds - choice.spent, until, near))
    return least


def pricing_rounds(days: Sequence[Day], effort: Effort) -> int:
    """Return how many rounds of pricing an effort is."""
    size = max((len(day.tasks) for day in days), default=0)
    if effort.deadline is not None:
        return MOST_ROUNDS
    return max(LEAST_ROUNDS, round(effort.work * NODES_A_SECOND / max(1, len(days) * size)))


def _near(effort: Effort) -> float:
    """Return the share of its value that a programme and its bound may differ by."""
    return NEAR_THE_PROGRAMME if effort.deadline is None else SETTLED


def _least_cost(
    problem: Problem, orders: Orders, rounds: int, effort: Effort, pool: RoutePool, work: PricingWork
) -> int:
    """Return the bound on what orders of the same tasks cost; of many, it is sought a second time where not near."""
    done = served(orders)
    costs = OrderCosts(problem)
    taken = sum(cost.main for route, order in enumerate(orders) if (cost := costs.cost(route, order)))
    bound, days = 0, days_of(problem.relaxation, done)
    size = max((len(day.tasks) for day in days), default=0)
    for more in (True,) if size <= MOST_REMEMBERING_AT_ONCE else (False, True):
        if bound < taken * (1 - NEAR_ENOUGH) and not effort.over():
            priced = pricers(days, more=more, work=work)
            least = WalkChoice(problem, done, priced, orders, None, pool).run(rounds, effort.half(), _near(effort))
            bound = max(bound, math.ceil(least - NEAR)) if least > -math.inf else bound
    return bound
