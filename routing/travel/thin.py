"""Lines with fewer points that still lie where they lay."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

METRES_PER_DEGREE = 111_195.0
"""Along a meridian of the sphere. Source: mean radius R1 of GRS 80, Moritz, Journal of Geodesy 74, 2000."""


def thinned(line: NDArray[np.float64], metres: float) -> NDArray[np.float64]:
    """Return the line of (latitude, longitude) in degrees, shape (points, 2), with fewer points.

    What is left out lies within `metres` of the line that is kept; both ends are kept.
    Source: D. H. Douglas and T. K. Peucker, Cartographica 10, 1973.
    """
    flat = line * np.array([1.0, np.cos(np.radians(line[0, 0]))]) * METRES_PER_DEGREE
    kept = np.zeros(len(line), dtype=bool)
    kept[[0, -1]] = True
    parts = [(0, len(line) - 1)]
    while parts:
        first, last = parts.pop()
        if last <= first + 1:  # nothing between
            continue
        away = _from_chord(flat[first : last + 1])
        worst = int(np.argmax(away))
        if away[worst] > metres:
            middle = first + 1 + worst
            kept[middle] = True
            parts += [(first, middle), (middle, last)]
    return line[kept]


def _from_chord(flat: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far each inner point is from the straight piece between the ends, shape (points - 2,)."""
    chord, off = flat[-1] - flat[0], flat[1:-1] - flat[0]
    square = float(chord @ chord)
    along = np.clip(off @ chord / square, 0, 1) if square else np.zeros(len(off))
    rest = off - along[:, None] * chord
    return np.asarray(np.hypot(rest[:, 0], rest[:, 1]))
