"""A large round made better by parts: near crew-days are planned anew together, again and again with others.

Each part is a small round of its own that the engines go on with from what there is; it is taken where it is better.
The parts of one sweep share no crew-day, no task and no stock, so that they may be done side by side by anyone, and
what they come to does not depend on how many do them.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
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

SECONDS_BETWEEN = 1.0
"""Between two tales of better orders within a sweep."""

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
    search.go_on(piece.orders, replace(piece.limit, deadline=deadline), _engines(problem))
    return search.best


def _engines(problem: Problem) -> tuple[Engine, ...]:
    """Return the engines that go on with a part, one after the other."""
    genetic = heuristics.hybrid_genetic.HybridGenetic()
    if problem.distance_first:
        return (heuristics.pyvrp.PyVRP(), genetic)
    return (genetic,) if any(problem.returns) else (heuristics.ruin_recreate.RuinRecreate(), genetic)


class ByParts:
    """A large round under way."""

    def __init__(self, problem: Problem, tasks: frozenset[int], parts: Parts, progress: Progress | None) -> None:
        self.orders: Orders = empty(problem)
        self.sweeps = 0
        self._problem, self._tasks, self._parts, self._progress = problem, tasks, parts, progress
        self._known = nearness_of(problem, tasks)
        self._workers, self._told = float(parts.workers), 0.0

    def run(self, budget: Budget, seed: int, longer: float | None = None) -> None:
        """Make a start, and sweep until the time is over, the work is done or nothing more is found.

        `longer` takes the place of the deadline once all tasks are served, where it is given.
        """
        begun, idle = time.monotonic(), 0
        groups = first_groups(self._problem, self._known)
        most = max(1, round(budget.work / WORK_A_SWEEP))
        while True:
            gained = self._sweep(groups, budget, begun, seed + self.sweeps)
            idle = 0 if gained else idle + 1
            if longer is not None and served(self.orders) == self._tasks:
                budget = replace(budget, deadline=longer)
            if budget.over() or (budget.deadline is None and (self.sweeps > most or idle >= IDLE_SWEEPS)):
                return
            groups = next_groups(self._problem, self._known, self.orders, seed + self.sweeps)

    def _sweep(self, groups: list[Group], budget: Budget, begun: float, seed: int) -> bool:
        """Have each group planned anew, and take over what is better; return whether anything is."""
        seconds = None if budget.deadline is None else self._seconds(len(groups), budget.deadline - begun)
        end = None if budget.deadline is None else time.time() + budget.left()
        groups = [group for group in groups if group.tasks]
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
        now, before = time.monotonic(), self.orders
        for part, answer in zip(parts, self._parts.each(solved, pieces, budget.deadline), strict=True):
            if answer is not None:
                self._take(part.lifted(answer))
        if seconds is not None and not budget.over():
            self._workers = max(1.0, seconds * len(pieces) / max(0.1, time.monotonic() - now))
        self.sweeps += 1
        if self._progress is not None:
            self._progress(self.orders)
        return self.orders != before

    def _take(self, changed: Mapping[int, Order]) -> None:
        """Take over the orders of a part, and tell of them where nobody was told for a while."""
        self.orders = tuple(changed.get(route, order) for route, order in enumerate(self.orders))
        if self._progress is not None and time.monotonic() >= self._told + SECONDS_BETWEEN:
            self._told = time.monotonic()
            self._progress(self.orders)

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
