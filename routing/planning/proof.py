"""How good orders of several routes are: bounds that no other orders pass, by column generation over walks."""

from __future__ import annotations

import math
from dataclasses import dataclass

from routing.planning.engines.engine import Found, forget
from routing.planning.engines.pricing import days_of, pricers
from routing.planning.engines.walk_choice import NEAR, Effort, Goal, WalkChoice
from routing.planning.problem import RANKS, Orders, Problem, rank_score, served

MOST_NODES = 400
"""Above this many nodes a crew-day no bound is sought beyond the sums."""

MOST_ROUNDS = 10_000
"""Of pricing, where a clock ends it."""


@dataclass(frozen=True)
class Bound:
    """What no orders can pass."""

    ranks: tuple[int, ...]
    """Shape (RANKS,): no orders serve more weight in the first rank whose bound exceeds what was served."""
    away: int
    """No orders that do the same tasks are away for less, all routes added up."""


def bounds(
    problem: Problem, tasks: frozenset[int], orders: Orders, effort: Effort | None = None, found: Found = forget
) -> Bound:
    """Return bounds for orders that keep every rule; `effort` limits how long they are sought.

    `found` hears of walks that are orders: recombined, they may beat those given.
    """
    effort = effort or Effort()
    most = rank_score(problem, tasks)
    reached = rank_score(problem, served(orders))
    ranks = list(most)
    days = days_of(problem, tasks)
    size = max((len(day.tasks) for day in days), default=0)
    rounds = max(4, round(effort.work * 40 / max(1, len(days) * size))) if effort.deadline is None else MOST_ROUNDS
    if size > MOST_NODES:
        rounds = 0
    for rank in range(RANKS):
        if ranks[rank] > reached[rank] and rounds:
            master = WalkChoice(problem, tasks, pricers(days), orders, Goal(rank, reached), found)
            least = master.run(rounds, effort.half())
            if least > -math.inf:
                ranks[rank] = min(ranks[rank], math.floor(-least + NEAR))
        if ranks[rank] > reached[rank]:
            break
    done = served(orders)
    away = 0
    if done and rounds and not problem.distance_first:
        least = WalkChoice(problem, done, pricers(days_of(problem, done)), orders, None, found).run(rounds, effort)
        away = math.ceil(least - NEAR) if least > -math.inf else 0
    return Bound(tuple(ranks), max(0, away))
