"""A large round made better by parts: near crew-days are planned anew together, again and again with others.

Each part is a small round of its own that the engines go on with from what there is; it is taken where it is better.
The parts of one sweep share no crew-day, no task and no stock, so that they may be done side by side by anyone, and what
they come to does not depend on how many do them.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace

from routing.planning import heuristics
from routing.planning.model.engine import Engine, Limit, empty
from routing.planning.model.load import stock_left
from routing.planning.model.part import part_of
from routing.planning.model.problem import NO_LIMIT, Order, Orders, Problem, served, used_by
from routing.planning.running.budget import Budget
from routing.planning.running.parts import Parts
from routing.planning.search.driver import Search
from routing.planning.search.parting import Group, first_groups, nearness_of, next_groups
from routing.planning.search.settings import Progress

ITERATIONS_A_TASK = 30
"""Of each engine in a part, where no clock ends the search."""

SWEEPS = 6
"""A given time is for about so many sweeps over all parts, the first of which makes the start."""

LEAST_SECONDS, MOST_SECONDS = 0.5, 6.0
"""Of one part in one sweep, by the clock."""

WORK_A_SWEEP = 10.0
"""Of a repeatable budget."""

IDLE_SWEEPS = 2
"""Without a clock the search ends after so many sweeps in a row that found nothing better."""


@dataclass(frozen=True, eq=False)
class Piece:
    """What is sent to whoever does a part."""

    problem: Problem
    orders: Orders
    limit: Limit
    """Without a deadline, which only one process would understand."""
    seconds: float | None
    end: float | None
    """When all is over, by the clock of the day, which machines share; None where none ends it."""


def solved(piece: Piece) -> Orders:
    """Return orders of a part that are no worse than those it has."""
    problem, deadline = piece.problem, None
    if piece.seconds is not None and piece.end is not None:
        deadline = time.monotonic() + max(0.0, min(piece.seconds, piece.end - time.time()))
    search = Search(problem, frozenset(range(len(problem.tasks))), Budget(deadline=deadline))
    engines: list[Engine] = [heuristics.hybrid_genetic.HybridGenetic()]
    if not any(problem.returns):
        engines = [heuristics.ruin_recreate.RuinRecreate(), *engines]
    search.go_on(piece.orders, replace(piece.limit, deadline=deadline), engines)
    return search.best


class ByParts:
    """A large round under way."""

    def __init__(self, problem: Problem, tasks: frozenset[int], parts: Parts, progress: Progress | None) -> None:
        self.orders: Orders = empty(problem)
        self.sweeps = 0
        self._problem, self._tasks, self._parts, self._progress = problem, tasks, parts, progress
        self._known = nearness_of(problem, tasks)
        self._workers = float(parts.workers)

    def run(self, budget: Budget, seed: int) -> None:
        """Make a start, and sweep until the time is over, the work is done or nothing more is found."""
        begun, idle = time.monotonic(), 0
        self._sweep(first_groups(self._problem, self._known), budget, begun, seed)
        most = max(1, round(budget.work / WORK_A_SWEEP))
        while not budget.over() and (budget.deadline is not None or (self.sweeps <= most and idle < IDLE_SWEEPS)):
            groups = next_groups(self._problem, self._known, self.orders, seed + self.sweeps)
            idle = 0 if self._sweep(groups, budget, begun, seed + self.sweeps) else idle + 1

    def _sweep(self, groups: list[Group], budget: Budget, begun: float, seed: int) -> bool:
        """Have each group planned anew, and take over what is better; return whether anything is."""
        seconds = None if budget.deadline is None else self._seconds(len(groups), budget.deadline - begun)
        end = None if budget.deadline is None else time.time() + budget.left()
        shares = self._stock(groups)
        parts = [
            part_of(self._problem, group.routes, group.tasks, share)
            for group, share in zip(groups, shares, strict=True)
        ]
        pieces = [
            Piece(
                part.problem,
                part.restricted(self.orders),
                Limit(ITERATIONS_A_TASK * len(part.tasks), seed + number),
                seconds,
                end,
            )
            for number, part in enumerate(parts)
        ]
        now = time.monotonic()
        answers = self._parts.done(solved, pieces, budget.deadline)
        if seconds is not None and not budget.over():
            self._workers = max(1.0, seconds * len(pieces) / max(0.1, time.monotonic() - now))
        self.sweeps += 1
        changed: dict[int, Order] = {}
        for part, piece, answer in zip(parts, pieces, answers, strict=True):
            if answer is not None and answer != piece.orders:
                changed |= part.lifted(answer)
        self.orders = tuple(changed.get(route, order) for route, order in enumerate(self.orders))
        if changed and self._progress is not None:
            self._progress(self.orders)
        return bool(changed)

    def _seconds(self, groups: int, whole: float) -> float:
        """Return how long one part may take, so that there are several sweeps in the whole time."""
        return min(MOST_SECONDS, max(LEAST_SECONDS, whole * self._workers / (SWEEPS * groups)))

    def _stock(self, groups: list[Group]) -> list[list[int]]:
        """Return for each group what it uses of each supply now, and an even share of what nobody uses."""
        problem = self._problem
        left = stock_left(problem, served(self.orders))
        shares = []
        for number, group in enumerate(groups):
            mine = used_by(problem, served(tuple(self.orders[route] for route in group.routes)))
            shares.append(
                [
                    NO_LIMIT if rest == NO_LIMIT else used + rest // len(groups) + (number < rest % len(groups))
                    for used, rest in zip(mine, left, strict=True)
                ]
            )
        return shares
