"""Room for labels, used by one search after the other."""

from __future__ import annotations

import numpy as np

from routing.planning.labelling.columns import BEFORE, NODE, Bits, Real, Whole

MOST_LABELS = 1_000_000


class LabelRoom:
    """Room for the labels of one crew-day at a time; it grows where more is asked of it."""

    def __init__(self, most: int | None = None) -> None:
        """`most` is how many labels there may be."""
        self._most = MOST_LABELS if most is None else most
        self._whole, self._real, self._bits = np.empty(0, np.int64), np.empty(0), np.empty(0, np.uint64)

    def shaped(self, columns: int, goals: int, words: int) -> tuple[Whole, Real, Bits]:
        """Return labels in their columns, their values by goal, and twice what they may remember.

        Shapes (columns, labels), (goals, labels) and (2, labels, words).
        """
        most = self._most
        if len(self._whole) < most * columns:
            self._whole = np.empty(most * columns, np.int64)
        if len(self._real) < most * goals:
            self._real = np.empty(most * goals)
        if len(self._bits) < 2 * most * words:
            self._bits = np.empty(2 * most * words, np.uint64)
        return (
            self._whole[: most * columns].reshape(columns, most),
            self._real[: most * goals].reshape(goals, most),
            self._bits[: 2 * most * words].reshape(2, most, words),
        )


def nodes_of(labels: Whole, label: int) -> list[int]:
    """Return the nodes that a label and those before it finished, in turn; the first of an elementary one is base."""
    found: list[int] = []
    node, before = labels[NODE], labels[BEFORE]
    while label >= 0:
        found.append(node.item(label))
        label = before.item(label)
    return found[::-1]
