"""The columns of the arrays that labellings read and write, by name.

Compiled code takes a few arrays of two or three dimensions instead of dozens of one. Labels lie column by column: row
by row, relaxed ones took half as long again.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[np.int64]
Small = NDArray[np.int16]
"""Of large arrays of small numbers: a quarter of what passes through the processor's caches."""

Real = NDArray[np.float64]
Bits = NDArray[np.uint64]

LONG = 1 << 60
"""Seconds that nothing takes."""

SECONDS, METRES_ON = 0, 1
"""Of `ways`, shape (2, nodes + 1, nodes + 1): from node to node, the last row from base and the last column to it.

Seconds hold the work at the node that is gone to, and are negative where there is no way.
"""

EARLY, LATE, PLACE, SCORE = 0, 1, 2, 3
"""Of `nodes`, shape (nodes, 4): its earliest and latest finish, the number of its task, and what that counts."""

BEGINS, LAST = 3, 4
"""Of `nodes` of relaxed labels, shape (nodes, 5), in place of what it counts.

Its earliest finish where it comes first, and its latest where it comes last.
"""

LONGEST, MOST_AWAY, REST, RESTS, REST_AFTER, ANYWHERE, TIMED, LEAST_COST, METRES_FIRST, STEP, MOST_COMPARED, HALT = (
    range(12)
)
"""Of `day`, shape (12,).

Seconds to home-by and the most away; the break, what is to be done about it (`RESTED`, `DUE`, `SHORT`), after how long
it is due, and whether it may be elsewhere than before the first work, where it takes least light; whether it matters
for how long a label has been away; whether the least cost is sought or the most points, and whether metres come first
of a cost; seconds in a step of the tables' clock; how many labels may be compared; and whether the search is to end.
"""

RESTED, DUE, SHORT = 0, 1, 2
"""Of the break: none is ever due; it is taken before the work of one of the stops; the day is short enough for none."""

NODE, FINISH, BEFORE, LINK, FOLLOWING, LINKED = range(6)
"""Of `labels`, shape (5, labels) where they are relaxed.

The node that was just finished, the earliest finish, the label before, the next in its bucket of the clock and in its
chain of those compared.
"""

HAD_REST, TOOK, WAITED, LEAVES, SOONEST, METRES, POINTS, LOADS = range(LINKED, 13)
"""Of `labels` that remember everything, shape (12 + loads, labels).

Whether the break is had, seconds without waits and of waits after the first, the latest departure and the soonest by
which the break was begun in time, metres, and points. From `LOADS` on: what is used of each load.
"""

MOST_LOAD, BESIDE = -2, -1
"""The last rows of `loads`, shape (nodes + 2, loads): what may be used of each, and which load adds up in its place.

That is -1 where it adds up itself; else this one is the most that the other ever was.
"""

LIMIT, EXCESS, EACH = 0, 1, 2
"""Of `limits`, shape (3 + limits, 2 + supplies), from row 3 on.

Payload or space, the load by which what was brought ever passed what was used (-1: nothing is brought), and from `EACH`
on what a unit of each supply takes of it.
"""

COLUMN, PACK, STOCK = 0, 1, 2
"""The first rows of `limits`, from column `EACH` on: the load of each supply, its pack (0: loose), and its stock."""

FIRST_LIMIT = 3
