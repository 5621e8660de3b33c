"""How a problem is to be solved: for how long, from which seed, and who hears of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from routing.planning.model.problem import Orders
from routing.planning.running.budget import Budget

Progress = Callable[[Orders], None]
"""Told of every better set of orders, each of which keeps every rule."""


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
