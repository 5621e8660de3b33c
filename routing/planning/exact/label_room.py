"""Room for the labels of one day's walks."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.problem import RANKS

MOST_LABELS = 1_000_000


class LabelRoom:
    """Room for labels, each array of shape (labels,), but `value` also by goal, `used` by load, `memory` by word."""

    def __init__(self, loads: int, words: int) -> None:
        size = MOST_LABELS
        self.node, self.finish, self.took, self.waited = (np.empty(size, dtype=np.int64) for _ in range(4))
        self.leaves, self.soonest = (np.empty(size, dtype=np.int64) for _ in range(2))
        self.metres, self.points = (np.empty(size, dtype=np.int64) for _ in range(2))
        self.before, self.link, self.following = (np.empty(size, dtype=np.int64) for _ in range(3))
        self.rested = np.empty(size, dtype=np.bool_)
        self.used = np.empty((size, loads), dtype=np.int64)
        self.memory = np.empty((size, words), dtype=np.uint64)
        self._values = np.empty(size * (RANKS + 1))

    def value(self, goals: int) -> NDArray[np.float64]:
        """Return the room for values by so many goals."""
        return self._values[: MOST_LABELS * goals].reshape(MOST_LABELS, goals)

    def nodes(self, label: int) -> list[int]:
        """Return the nodes of the walk that a label ends, without the base."""
        found: list[int] = []
        while label > 0:
            found.append(int(self.node[label]))
            label = int(self.before[label])
        return found[::-1]
