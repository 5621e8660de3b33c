"""What every engine is: a function from a problem, a limit and known orders to orders.

Orders that come back are proposals: they may break what the engine cannot hold (each adapter says what that is), and
are always timed, loaded and repaired by our own modules before they count.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

from routing.planning.model.problem import Order, Orders, Problem

Found = Callable[[int, Order], None]
"""Told of every route worth remembering: the route's index and its order, in the engine's opinion possible."""


@dataclass(frozen=True)
class Limit:
    """When an engine stops: after a repeatable count of iterations, or at an instant if one is given."""

    iterations: int
    seed: int = 1
    deadline: float | None = None
    """Of `time.monotonic`."""
    halt: threading.Event | None = None
    """Where it is set, the run ends at once."""

    def over(self, iterations: int) -> bool:
        """Return whether to stop."""
        if self.halted():
            return True
        if self.deadline is not None:
            return time.monotonic() >= self.deadline
        return iterations >= self.iterations

    def halted(self) -> bool:
        """Return whether the run was told to end."""
        return self.halt is not None and self.halt.is_set()

    def ending_in(self, seconds: float) -> Limit:
        """Return the limit that ends so many seconds from now."""
        return replace(self, deadline=time.monotonic() + seconds)

    def seconds_left(self) -> float | None:
        """Return the seconds until the deadline, never negative; None where there is none."""
        return None if self.deadline is None else max(0.0, self.deadline - time.monotonic())

    def share_over(self, begun: float, steps: int, steps_an_iteration: int) -> float:
        """Return what share of a run is over that began at `begun` (of `time.monotonic`) and has done so many steps."""
        left = self.seconds_left()
        if left is None:
            return min(1.0, steps / max(1, self.iterations * steps_an_iteration))
        spent = time.monotonic() - begun
        return spent / max(spent + left, 1e-9)


LEAST_SECONDS_BETWEEN = 0.25
"""Between two tales of better orders on the way, and before the first."""

TELLING_SHARE = 0.02
"""Of a run's time, what they may take in all."""


class Telling:
    """Tells of better orders while a run goes on, where somebody listens; seldom enough to cost little."""

    def __init__(self, better: Callable[[Orders], object] | None) -> None:
        self._better, self._next = better, time.monotonic() + LEAST_SECONDS_BETWEEN

    def due(self) -> bool:
        """Return whether better orders are to be told of now."""
        return self._better is not None and time.monotonic() >= self._next

    def tell(self, orders: Orders) -> None:
        """Tell of the orders."""
        begun = time.monotonic()
        if self._better is not None:
            self._better(orders)
        now = time.monotonic()
        self._next = now + max(LEAST_SECONDS_BETWEEN, (now - begun) / TELLING_SHARE)


def forget(_route: int, _order: Order) -> None:
    """Remember nothing."""


@dataclass(frozen=True)
class Ask:
    """What an engine is asked: which tasks, how long, from which orders, and who wants to know of routes on the way."""

    problem: Problem
    tasks: frozenset[int]
    limit: Limit
    start: Orders | None = None
    found: Found = field(default=forget)
    scarce: bool = False
    """Whether the light will not do for all tasks: seconds between first and last stop then count before those away."""
    better: Callable[[Orders], object] | None = None
    """Told at times of the best orders so far, by engines that can; it depends on the clock when that is.

    Where the engine runs apart, another thread tells.
    """
    elsewhere: Callable[[], Orders | None] | None = None
    """Gives the best orders that another run has told of so far; heeded by engines that can, where they run here."""


class Engine(Protocol):
    """Proposes orders."""

    def __call__(self, ask: Ask) -> Orders:
        """Return one order a route, shape (routes,)."""
        ...


def empty(problem: Problem) -> Orders:
    """Return orders in which every crew stays at home."""
    return tuple(() for _ in problem.routes)


def prizes(problem: Problem, tasks: Sequence[int], detour: int) -> dict[int, int]:
    """Return a whole number a task that an engine may weigh against seconds.

    Any task is worth more than any `detour`, and a task of a rank more than several of the next: engines search badly
    when one outweighs thousands. The exact ranking is left to recombination and to the exact day.
    """
    worth: dict[int, int] = {}
    level = max(1, detour)
    for rank in sorted({problem.tasks[task].rank for task in tasks}, reverse=True):
        weights = {task: problem.tasks[task].weight for task in tasks if problem.tasks[task].rank == rank}
        least = max(1, min(weights.values()))
        worth |= {task: level * weight // least for task, weight in weights.items()}
        level = RANK_RATIO * max(level, *(worth[task] for task in weights))
    return worth


RANK_RATIO = 4
"""How many of the weightiest tasks of a rank the lightest of the rank before is worth to an engine."""

TOLL = 0.3
"""What a second of the ways from and to base counts where light is scarce and they mostly lie outside of it."""
