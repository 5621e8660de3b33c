"""How a problem is to be solved: for how long, from which seed, and who hears of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from routing.planning.model.problem import Orders
from routing.planning.running.budget import Budget
from routing.planning.running.parts import Here, Parts

Progress = Callable[[Orders], None]
"""Told of every better set of orders, each of which keeps every rule."""


MOST_CLOSED = 45
"""Up to so many tasks a round may be closed (`closing.py`), which also finds the best."""


def alone() -> Parts:
    """Return parts that are done in this process."""
    return Parts(Here())


def unheard(_orders: Orders) -> None:
    """Tell nobody."""


@dataclass(frozen=True)
class Settings:
    """What `solve` is asked for besides the problem and its tasks."""

    budget: Budget
    longer: float | None = None
    """The instant that takes the place of the budget's deadline once all tasks are served."""
    seed: int = 1
    progress: Progress | None = None
    prove: bool = True
    """Whether bounds are sought."""
    parts: Parts = field(default_factory=alone)
    """Whoever does parts of the search."""
    searched: Progress = unheard
    """Told of the best orders once they are searched for and only bounds are to come; these may still better them."""
