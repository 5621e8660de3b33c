"""More runs of engines by the clock, each from a seed of its own, by an executor that was handed in.

What they come to is taken over at the end: the orders, and the routes for recombination. Without a clock there are
none, so that the answer never depends on how many workers there are.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from routing.planning.model.engine import Ask, Engine, Limit
from routing.planning.model.problem import Order, Orders, Problem
from routing.planning.running.parts import Later, Parts
from routing.planning.search.incumbent import Incumbent
from routing.planning.search.schedule import NO_END

RUNS = 3
"""So many; those that nobody has begun by the end are called off."""

MOST_FOUND = 2000
"""Of the routes that a run finds, those that are sent back: the last."""

GRACE_SECONDS = 0.3
"""By so much answers may come after the end of the runs."""

SEEDS_APART = 1000


@dataclass(frozen=True)
class Run:
    """What is sent to a worker."""

    engine: Engine
    problem: Problem
    tasks: frozenset[int]
    seed: int
    end: float
    """By the clock of the day, which machines share."""


def done(run: Run) -> tuple[Orders, list[tuple[int, Order]]]:
    """Return what an engine comes to by the end, and the last of the routes that it found."""
    found: list[tuple[int, Order]] = []

    def note(route: int, order: Order) -> None:
        found.append((route, order))

    limit = Limit(NO_END, run.seed).ending_in(max(0.0, run.end - time.time()))
    return run.engine(Ask(run.problem, run.tasks, limit, None, note)), found[-MOST_FOUND:]


class RunsApart:
    """The runs under way; none unless an executor was handed in and a clock ends the search."""

    def __init__(self, parts: Parts, incumbent: Incumbent, engines: Sequence[Engine], seed: int, end: float) -> None:
        """Begin runs of the engines in turn, until `end` (of `time.monotonic`)."""
        self._end = end
        problem = replace(incumbent.order_costs.problem)  # without what is remembered of it
        until = time.time() + end - time.monotonic()
        self._begun: list[Later[tuple[Orders, list[tuple[int, Order]]]]] = [
            parts.begin(
                done, Run(engines[number % len(engines)], problem, incumbent.tasks, seed + SEEDS_APART + number, until)
            )
            for number in range(RUNS)
        ]

    def take_over(self, incumbent: Incumbent) -> list[tuple[float, Orders]]:
        """Offer and pool what they came to; return the orders, and when they were told of."""
        told = []
        for later in self._begun:
            answer = later.answer_until(self._end, GRACE_SECONDS)
            if answer is None:
                continue
            orders, found = answer
            incumbent.offer(orders)
            told.append((time.monotonic(), orders))
            for route, order in found:
                incumbent.pool.add(route, order)
        return told
