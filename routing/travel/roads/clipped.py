"""Lines and rings cut at the edges of a box."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.int64]
"""Shape (points, 2): latitude and longitude in whole units."""
Box = tuple[int, int, int, int]
"""South, west, north and east, in the same units."""


def clipped_ring(ring: Points, box: Box) -> Points:
    """Return the part of a closed ring inside a box, closed along its edges; no points where none is inside.

    Source: I. E. Sutherland and G. W. Hodgman, Communications of the ACM 17, 1974.
    """
    south, west, north, east = box
    for axis, edge, upper in ((0, south, False), (0, north, True), (1, west, False), (1, east, True)):
        inside = ring[:, axis] <= edge if upper else ring[:, axis] >= edge
        if inside.all():
            continue
        if not inside.any():
            return ring[:0]
        ring = _cut_at(ring, inside, axis, edge)
    return ring


def clipped_line(line: Points, box: Box) -> list[Points]:
    """Return the parts of a line in a box, each running on to its first point outside."""
    south, west, north, east = box
    inside = (line[:, 0] >= south) & (line[:, 0] <= north) & (line[:, 1] >= west) & (line[:, 1] <= east)
    kept = inside.copy()
    kept[1:] |= inside[:-1]
    kept[:-1] |= inside[1:]
    places = np.flatnonzero(kept)
    if not len(places):
        return []
    return [line[part] for part in np.split(places, np.flatnonzero(np.diff(places) > 1) + 1)]


def _cut_at(ring: Points, inside: NDArray[np.bool_], axis: int, edge: int) -> Points:
    found: list[tuple[int, int]] = []
    points = ring.tolist()
    for number, (here, there) in enumerate(pairwise(points)):
        if inside[number]:
            found.append(tuple(here))
        if inside[number] != inside[number + 1]:
            share = (edge - here[axis]) / (there[axis] - here[axis])
            other = round(here[1 - axis] + share * (there[1 - axis] - here[1 - axis]))
            found.append((edge, other) if axis == 0 else (other, edge))
    return np.array([*found, found[0]], dtype=np.int64)
