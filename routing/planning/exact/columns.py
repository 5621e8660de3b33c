"""Columns of a set packing: routes of crew-days with the tasks that they do and what they cost, in arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.labelling.columns import Whole

Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Columns:
    """Routes in arrays of one row each."""

    routes: Whole
    """Shape (columns,): the crew-day of each."""
    does: Flags
    """Shape (columns, tasks): which of the round's tasks it does."""
    nodes: Whole
    """Shape (columns, longest): the nodes of its day in turn, after -1 where it has fewer than the longest."""
    away: Whole
    metres: Whole

    def __len__(self) -> int:
        return len(self.routes)

    def only(self, which: Flags | Whole) -> Columns:
        """Return some of them."""
        return Columns(self.routes[which], self.does[which], self.nodes[which], self.away[which], self.metres[which])

    def cost(self, *, metres_first: bool) -> Whole:
        """Return what comes first of the cost of each, shape (columns,)."""
        return self.metres if metres_first else self.away

    def cheapest(self, *, metres_first: bool) -> Columns:
        """Return the least costly of each crew-day and set of tasks."""
        first, then = (self.metres, self.away) if metres_first else (self.away, self.metres)
        keys = np.column_stack([self.routes, np.packbits(self.does, axis=1).astype(np.int64)])
        turns = np.lexsort((then, first, *keys.T))
        new = np.ones(len(turns), dtype=bool)
        new[1:] = (keys[turns][1:] != keys[turns][:-1]).any(axis=1)
        return self.only(turns[new])


def together(parts: Sequence[Columns]) -> Columns:
    """Return the columns of all parts, of which there is at least one."""
    longest = max(part.nodes.shape[1] for part in parts)
    nodes = [np.pad(part.nodes, ((0, 0), (longest - part.nodes.shape[1], 0)), constant_values=-1) for part in parts]
    return Columns(
        np.concatenate([part.routes for part in parts]),
        np.concatenate([part.does for part in parts]),
        np.concatenate(nodes),
        np.concatenate([part.away for part in parts]),
        np.concatenate([part.metres for part in parts]),
    )


def nothing(tasks: int) -> Columns:
    """Return no columns, of a round of so many tasks."""
    none = np.empty(0, dtype=np.int64)
    return Columns(none, np.empty((0, tasks), dtype=bool), np.empty((0, 0), dtype=np.int64), none, none)
