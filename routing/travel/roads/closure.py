"""Minutes that agree with each other: no leg is longer than going by another place.

The engine never turns round in mid-drive, but a van that stops at a place may turn there; so a way by another place can
be quicker than the engine's own. Such legs take that way. Source: R. W. Floyd, Algorithm 97: Shortest path,
Communications of the ACM 5 (1962), from memory, not checked, with the next place of each way kept beside it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.travel.legs import UNREACHABLE

_FAR = np.int64(2**40)


@dataclass(frozen=True, eq=False)
class Closed:
    """Seconds and metres of the quickest ways, and the first place of each, all of shape (n, n), [from, to]."""

    seconds: NDArray[np.int64]
    metres: NDArray[np.int64]
    first: NDArray[np.int64]
    """The next place on the way: the end itself where the engine's own drive is the quickest."""

    def hops(self, start: int, end: int) -> list[int]:
        """Return the places of the way, `start` first and `end` last."""
        found = [start]
        while found[-1] != end:
            found.append(int(self.first[found[-1], end]))
        return found


def closed(seconds: NDArray[np.int64], metres: NDArray[np.int64]) -> Closed:
    """Return the quickest ways between places by other places; what is `UNREACHABLE` may become reachable by one.

    Only ways that are quicker by a second or more replace the engine's own.
    """
    size = len(seconds)
    quickest = np.where(seconds == UNREACHABLE, _FAR, seconds)
    lengths = np.where(metres == UNREACHABLE, _FAR, metres)
    np.fill_diagonal(quickest, 0)
    np.fill_diagonal(lengths, 0)
    first = np.tile(np.arange(size, dtype=np.int64), (size, 1))
    joined, better = np.empty_like(quickest), np.empty(quickest.shape, dtype=bool)
    for by in range(size):
        np.add(quickest[:, by, None], quickest[None, by, :], out=joined)
        np.less(joined, quickest, out=better)
        rows, columns = np.nonzero(better) if better.any() else ((), ())
        if len(rows):
            quickest[rows, columns] = joined[rows, columns]
            lengths[rows, columns] = lengths[rows, by] + lengths[by, columns]
            first[rows, columns] = first[rows, by]
    none = quickest >= _FAR
    return Closed(np.where(none, UNREACHABLE, quickest), np.where(none, UNREACHABLE, lengths), first)
