"""What a search answers: orders, and what is proven of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routing.planning.model.problem import Orders


@dataclass(frozen=True)
class Solution:
    """Orders for every route and how good they are."""

    orders: Orders
    proven: bool
    """Every rank and the time away proven best over all routes."""
    days_proven: bool
    """Each crew-day proven best for the tasks it has and those left out, the split between crews taken as given."""
    rank_bounds: tuple[int, ...]
    """Shape (RANKS,): no orders serve more weight in the first rank whose bound exceeds what was served."""
    away_bound: int
    """No orders that do the same tasks are away for less, all routes added up; 0 where nothing is known.

    Where the problem puts distance first these are metres.
    """
    interrupted: bool = False
    """Whether Ctrl-C ended the search; the orders are the best until then."""


def nearer(one: Sequence[int], other: Sequence[int]) -> tuple[int, ...]:
    """Return the nearer of two bounds of each rank, shape (RANKS,) all three."""
    return tuple(min(each) for each in zip(one, other, strict=True))
