"""The ground around a place as a flat map in metres: distances to lines, and which lines cross."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import Place

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_AXIS_METRES, _FLATTENING = 6_378_137.0, 1 / 298.257223563
"""Source: the WGS 84 ellipsoid, NIMA TR8350.2, 2000."""

_AT_ONCE = 2_000_000
"""Pairs of lines that are compared in one array."""


@dataclass(frozen=True)
class Flat:
    """A flat map about one place: metres east and north of it. Within a few kilometres it is true to a thousandth."""

    centre: Place

    @property
    def metres_per_degree(self) -> tuple[float, float]:
        """Metres in a degree of longitude and of latitude here, from the two radii of curvature of the ellipsoid."""
        up = math.radians(self.centre.latitude)
        square = _FLATTENING * (2 - _FLATTENING)
        bulge = 1 - square * math.sin(up) ** 2
        across = _AXIS_METRES / math.sqrt(bulge)
        along = _AXIS_METRES * (1 - square) / bulge**1.5
        return math.radians(across * math.cos(up)), math.radians(along)

    def points(self, latitudes: Floats, longitudes: Floats) -> Floats:
        """Return the points of degrees as metres, shape (n, 2)."""
        east, north = self.metres_per_degree
        around = (longitudes - self.centre.longitude + 180) % 360 - 180
        return np.stack([around * east, (latitudes - self.centre.latitude) * north], axis=1)

    def place(self, point: Floats) -> Place:
        """Return where on the earth a point lies."""
        east, north = self.metres_per_degree
        longitude = (self.centre.longitude + float(point[0]) / east + 180) % 360 - 180
        return Place(latitude=self.centre.latitude + float(point[1]) / north, longitude=longitude)


def nearest(point: Floats, starts: Floats, ends: Floats) -> Floats:
    """Return the point of each piece from start to end, shape (n, 2) each, that is nearest to a point."""
    along = ends - starts
    square = np.maximum((along**2).sum(axis=1), 1e-12)
    share = np.clip(((point - starts) * along).sum(axis=1) / square, 0, 1)
    return np.asarray(starts + share[:, None] * along)


def lengths(pieces: Floats) -> Floats:
    """Return the length of each arrow, shape (n, 2)."""
    return np.hypot(pieces[:, 0], pieces[:, 1])


def crossings(starts: Floats, ends: Floats, from_: Floats, to: Floats) -> Flags:
    """Return which of n pieces cross which of k others, shape (n, k).

    A piece through the joint of two others counts as crossing one of them, so that a line has no holes at its joints.
    """
    found = np.zeros((len(starts), len(from_)), dtype=bool)
    step = max(1, _AT_ONCE // max(1, len(from_)))
    for first in range(0, len(starts), step):
        a, b = starts[first : first + step, None], ends[first : first + step, None]
        apart = (_side(from_, to, a) > 0) != (_side(from_, to, b) > 0)
        found[first : first + step] = apart & ((_side(a, b, from_[None]) > 0) != (_side(a, b, to[None]) > 0))
    return found


def _side(start: Floats, end: Floats, point: Floats) -> Floats:
    """Return on which side of the line from start to end a point lies: above 0 left, below 0 right of it."""
    along, off = end - start, point - start
    return np.asarray(along[..., 0] * off[..., 1] - along[..., 1] * off[..., 0])
