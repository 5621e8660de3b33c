"""What labels remember, a bit a task: everything they did, or what is near (ng-routes); compiled."""

from __future__ import annotations

import numpy as np

from routing.planning.labelling.columns import Bits, Whole
from routing.planning.running.compiled import compiled

WORD = 64
"""Bits in one word of what a label remembers."""


@compiled
def remembers(memory: Bits, label: int, task: int) -> bool:
    """Return whether a label remembers a task."""
    return bool(memory[label, task // WORD] >> np.uint64(task % WORD) & np.uint64(1))


@compiled
def remember(memory: Bits, label: int, task: int) -> None:
    """Make a label remember a task."""
    memory[label, task // WORD] |= np.uint64(1) << np.uint64(task % WORD)


@compiled
def looked_up(memory: Bits, label: int, there: int, near: Whole) -> int:
    """Return the mask of what a label would remember among the few neighbours of the node that it goes on to."""
    mask = 0
    for bit in range(near.shape[1]):
        task = near[there, bit]
        if task >= 0 and remembers(memory, label, task):
            mask |= 1 << bit
    return mask
