"""What is asked of and answered for one crew-day: the effort, the best order, and what is proven of it."""

from __future__ import annotations

from dataclasses import dataclass

from routing.planning.model.problem import Order


@dataclass(frozen=True)
class DayAnswer:
    """The best order found for one route, and what is proven of it."""

    order: Order
    proven: bool
    """Whether every rank and the time away are proven best."""
    rank_bounds: tuple[int, ...]
    """Shape (RANKS,): no order serves more weight in the first rank whose bound exceeds what was served."""
    away_bound: int
    """No order that serves the same ranks is away for less; 0 where nothing is known."""


class Stopped(KeyboardInterrupt):
    """Ctrl-C came during an exact search; `answer` is what it had until then."""

    def __init__(self, answer: DayAnswer) -> None:
        self.answer = answer
        super().__init__()
