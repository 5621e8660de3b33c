"""Drive times and distances estimated from the straight line between places.

The straight line is the geodesic on the WGS 84 ellipsoid. Road metres = straight line x detour factor; drive time =
road metres / average speed x the farm's drive factor. Both the detour and the speed come from the points of
`Rules.drive_bands`: interpolated between two points, the nearest point's value outside them.

Where two points lie so that a longer way would be estimated quicker, the longest time met up to that distance holds
instead: minutes never fall as distance grows.

pyproj carries Karney's geodesic in C; it is imported here at the top, so import this module only where legs are made.
The same formula in pure Python takes about 0.15 ms a pair, 3 s for 200 places.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pyproj import Geod

from routing.farm.models import DriveBand, Place, Rules
from routing.travel.leg_origin import LegOrigin
from routing.travel.legs import UNREACHABLE, Legs, dtype_for, fitting

BLOCK = 500
"""So many rows are estimated together, so that a great farm needs little room."""

_DECIMALS = 6  # rounded to a millionth first, so that noise in the last digit never adds a second or a metre


def geodesic_metres(starts: Sequence[Place], ends: Sequence[Place]) -> NDArray[np.float64]:
    """Return the straight-line metres from each start to the end at the same position, shape (n,).

    Source: C. F. F. Karney, "Algorithms for geodesics", Journal of Geodesy 87, 2013; exact to nanometres, for
    all pairs of points on earth, opposite ones too.
    """
    _, _, metres = Geod(ellps="WGS84").inv(
        [place.longitude for place in starts],
        [place.latitude for place in starts],
        [place.longitude for place in ends],
        [place.latitude for place in ends],
    )
    return np.asarray(metres, dtype=np.float64)


def estimated_road_metres(straight_metres: ArrayLike, rules: Rules) -> NDArray[np.float64]:
    """Return the road metres estimated for straight-line metres, same shape, not rounded."""
    straight = np.asarray(straight_metres, dtype=np.float64)
    knots, detours, _ = _bands(rules.drive_bands)
    return np.asarray(straight * np.interp(straight, knots, detours), dtype=np.float64)


def estimated_drive_seconds(straight_metres: ArrayLike, rules: Rules) -> NDArray[np.float64]:
    """Return the drive seconds estimated for straight-line metres, same shape, not rounded; they never fall."""
    straight = np.asarray(straight_metres, dtype=np.float64)
    peaks = _turning_points(rules.drive_bands)
    longest_so_far = np.concatenate([[0.0], np.maximum.accumulate(_plain_seconds(peaks, rules.drive_bands))])
    floor = longest_so_far[np.searchsorted(peaks, straight, side="right")]
    return np.asarray(np.maximum(floor, _plain_seconds(straight, rules.drive_bands)) * rules.drive_factor)


def straight_line_legs(places: Sequence[tuple[str, Place]], rules: Rules) -> Legs:
    """Return estimated legs between all places given as (id, place), in that order and alike both ways.

    Seconds and metres are rounded up to whole ones. Two places in one spot are 0 apart.
    """
    n = len(places)
    latitudes, longitudes = (
        np.array([getattr(place, each) for _, place in places]) for each in ("latitude", "longitude")
    )
    seconds, metres = (np.zeros((n, n), dtype=dtype_for(n)) for _ in range(2))
    for first in range(0, n, BLOCK):
        end = min(n, first + BLOCK)
        rows, columns = (index + first for index in np.triu_indices(end - first, k=1, m=n - first))
        ends = longitudes[rows], latitudes[rows], longitudes[columns], latitudes[columns]
        straight = Geod(ellps="WGS84").inv(*ends)[2]
        for found, estimated in ((seconds, estimated_drive_seconds), (metres, estimated_road_metres)):
            found[rows, columns] = found[columns, rows] = fitting(_rounded_up(estimated(straight, rules)), found.dtype)
    return Legs(
        places=tuple(place_id for place_id, _ in places),
        seconds=seconds,
        metres=metres,
        origins=((LegOrigin.ESTIMATE,) * n,) * n,
    )


def legs_from_first(places: Sequence[tuple[str, Place]], rules: Rules) -> Legs:
    """Return the same between the first place and each other alone: between the others there is no way in them."""
    n = len(places)
    straight = geodesic_metres([places[0][1]] * n, [place for _, place in places])
    seconds, metres = (np.full((n, n), UNREACHABLE, dtype=dtype_for(n)) for _ in range(2))
    for found, estimated in ((seconds, estimated_drive_seconds), (metres, estimated_road_metres)):
        found[0, :] = found[:, 0] = fitting(_rounded_up(estimated(straight, rules)), found.dtype)
        np.fill_diagonal(found, 0)
    return Legs(tuple(place_id for place_id, _ in places), seconds, metres, ((LegOrigin.ESTIMATE,) * n,) * n)


def direct_is_quickest(rules: Rules) -> bool:
    """Return whether no way by another place is estimated quicker than the direct one.

    So it is where a metre of the straight line takes no longer, the longer the line is. Between two points of the bands
    the time for a metre only rises or only falls, so it is enough to look at the points.
    """
    _, detours, speeds = _bands(rules.drive_bands)
    return bool((np.diff(detours / speeds) <= 0).all())


def _bands(bands: Sequence[DriveBand]) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return straight-line metres, detour factors and metres a second of the points, each of shape (points,)."""
    return (
        np.array([band.straight_km * 1000 for band in bands]),
        np.array([band.detour_factor for band in bands]),
        np.array([band.speed_kmh / 3.6 for band in bands]),
    )


def _plain_seconds(straight: NDArray[np.float64], bands: Sequence[DriveBand]) -> NDArray[np.float64]:
    """Return distance x detour / speed, which may fall between badly set points."""
    knots, detours, speeds = _bands(bands)
    return np.asarray(straight * np.interp(straight, knots, detours) / np.interp(straight, knots, speeds))


def _turning_points(bands: Sequence[DriveBand]) -> NDArray[np.float64]:
    """Return, in order, the straight-line metres outside of which the time only rises or only falls.

    With detour f + g·d and speed s + v·d between two points, time = d (f + g·d) / (s + v·d), and its slope is zero
    where g·v·d² + 2·g·s·d + f·s = 0.
    """
    knots, detours, speeds = _bands(bands)
    turning = list(knots)
    for i in range(len(knots) - 1):
        width = knots[i + 1] - knots[i]
        if width <= 0:
            continue
        g, v = (detours[i + 1] - detours[i]) / width, (speeds[i + 1] - speeds[i]) / width
        f, s = detours[i] - g * knots[i], speeds[i] - v * knots[i]
        roots = np.roots([g * v, 2 * g * s, f * s])
        turning += [root.real for root in roots if root.imag == 0 and knots[i] < root.real < knots[i + 1]]
    return np.sort(np.array(turning, dtype=np.float64))


def _rounded_up(values: NDArray[np.float64]) -> NDArray[np.int64]:
    return np.ceil(np.round(values, _DECIMALS)).astype(np.int64)
