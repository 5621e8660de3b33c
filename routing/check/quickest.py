"""The quickest ways from base to each place and home again, by whatever places lie on the way."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from routing.check.ground import Drives, Ground
from routing.farm.models import BASE, Crew

NEVER = 2**60
"""Stands for `no way`: twice as much still fits into 64 bits."""

BLOCK = 500
"""So many rows are looked at together, so that a great farm needs little room."""


def quickest(crew: Crew, ground: Ground) -> tuple[dict[str, int], dict[str, int]]:
    """Return the fewest seconds from base to each place and from each place home; what cannot be reached is missing."""
    known = ground.ways.get(crew.vehicle)
    if known is None:
        drives = ground.legs[crew.vehicle]
        known = ground.ways[crew.vehicle] = (_from_base(drives, home=False), _from_base(drives, home=True))
    return known


def _from_base(drives: Drives, *, home: bool) -> dict[str, int]:
    """Return the fewest seconds, looked for by one drive more until none makes any way quicker.

    Source: R. Bellman, On a routing problem, Quarterly of Applied Mathematics 16, 1958, from memory, not checked.
    """
    if BASE not in drives.rows:
        return {BASE: 0}
    seconds, metres = drives.legs.seconds, drives.legs.metres
    if home:
        seconds, metres = seconds.T, metres.T
    best = np.full(len(seconds), NEVER, dtype=np.int64)
    best[drives.rows[BASE]] = 0
    while True:
        more = best.copy()
        for first in range(0, len(best), BLOCK):
            rows = slice(first, first + BLOCK)
            more = np.minimum(more, _onward(seconds[rows], metres[rows], best[rows]))
        if (more == best).all():
            break
        best = more
    return {place: int(best[row]) for place, row in drives.rows.items() if best[row] < NEVER}


def _onward(seconds: NDArray[np.int64], metres: NDArray[np.int64], reached: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the fewest seconds to each place by way of these rows, which are reached after so many."""
    ways = np.where((seconds < 0) | (metres < 0), np.int64(NEVER), seconds) + reached[:, None]
    return np.asarray(np.minimum(ways, NEVER).min(axis=0, initial=NEVER))
