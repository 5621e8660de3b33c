"""The geometry of the map, without any drawing: bounds, a distance grid, direction arrows and line patterns."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from routing.share.wording.words import METRES_PER_MILE, number

METRES_PER_DEGREE = 6_371_008.8 * math.pi / 180
"""Along a meridian of the sphere. Source: mean earth radius R1 of GRS 80, Moritz, Journal of Geodesy 74 (2000)."""

STEEPEST_LATITUDE = 85.0
"""The map's projection (Web Mercator) ends at 85.0511 degrees. Source: EPSG guidance note 7-2, method 1024."""

DASHES = (
    ("", "solid"),
    ("14 9", "long dashes"),
    ("2 8", "dots"),
    ("14 7 2 7", "dash and dot"),
    ("7 7", "short dashes"),
)
"""The stroke pattern of each crew's line and what it is called; they come round again after the last."""

_GRID_STEPS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
_MOST_SQUARES = 8
_FRAME_PIXELS, _EDGE_PIXELS = 328, 26
"""How wide the map is on a phone 360 pixels wide, and the room for signs at each of its edges (`map.js`)."""
_HIGHEST, _WIDEST = 0.72, 1.6


@dataclass(frozen=True)
class Point:
    """Degrees; `longitude` may pass 180 so that a round across that meridian stays in one piece."""

    latitude: float
    longitude: float


@dataclass(frozen=True)
class Bounds:
    """The corners that hold every point of the round."""

    south_west: Point
    north_east: Point


@dataclass(frozen=True)
class GridStep:
    """How far the grid lines are apart."""

    metres: float
    words: str


@dataclass(frozen=True)
class Arrow:
    """An arrow head on a line: where, and the turn from north in degrees, clockwise as seen on the map."""

    at: Point
    turn: float


def near(base: Point, latitude: float, longitude: float) -> Point:
    """Return the point with its longitude within 180 degrees of the base's, on the part of the globe that is drawn."""
    east = (longitude - base.longitude + 180) % 360 - 180
    return Point(max(-STEEPEST_LATITUDE, min(STEEPEST_LATITUDE, latitude)), base.longitude + east)


def bounds_of(points: Sequence[Point]) -> Bounds:
    """Return the corners that hold all `points`, at least a kilometre or so wide. Raises ValueError for no points."""
    small = 0.005
    return Bounds(
        Point(min(p.latitude for p in points) - small, min(p.longitude for p in points) - small),
        Point(max(p.latitude for p in points) + small, max(p.longitude for p in points) + small),
    )


def frame_shape(bounds: Bounds) -> float:
    """Return how wide a frame is, as a share of its height, that the bounds fill with room for signs at its edge."""
    high = math.degrees(_mercator(bounds.north_east.latitude) - _mercator(bounds.south_west.latitude))
    wide = bounds.north_east.longitude - bounds.south_west.longitude
    room = 2 * _EDGE_PIXELS
    height = (_FRAME_PIXELS - room) * high / wide + room
    return round(min(_WIDEST, max(_HIGHEST, _FRAME_PIXELS / height)), 3)


def grid_step(bounds: Bounds, units: str) -> GridStep:
    """Return the smallest round step with at most eight squares across `bounds`, in `units` (`miles` or `km`)."""
    unit = 1000.0 if units == "km" else METRES_PER_MILE
    high = (bounds.north_east.latitude - bounds.south_west.latitude) * METRES_PER_DEGREE
    wide = (bounds.north_east.longitude - bounds.south_west.longitude) * METRES_PER_DEGREE * _shrink(bounds)
    span = max(high, wide) / unit
    step = next((step for step in _GRID_STEPS if span / step <= _MOST_SQUARES), _GRID_STEPS[-1])
    name = "km" if units == "km" else "mile" if step == 1 else "miles"
    return GridStep(step * unit, f"{number(step)} {name}")


def grid_lines(base: Point, bounds: Bounds, step_metres: float) -> list[list[tuple[float, float]]]:
    """Return lines as lists of (latitude, longitude), `step_metres` apart, one each way through the base.

    They reach one map's width beyond `bounds` on every side; east to west the step is exact at the base's latitude.
    """
    up = step_metres / METRES_PER_DEGREE
    along = up / max(0.05, math.cos(math.radians(base.latitude)))
    low, high = _beyond(bounds.south_west.latitude, bounds.north_east.latitude)
    low, high = max(low, -STEEPEST_LATITUDE), min(high, STEEPEST_LATITUDE)
    west, east = _beyond(bounds.south_west.longitude, bounds.north_east.longitude)
    lines = [[(at, west), (at, east)] for at in _steps(base.latitude, up, low, high)]
    return lines + [[(low, at), (high, at)] for at in _steps(base.longitude, along, west, east)]


def arrows(points: Sequence[Point]) -> list[Arrow]:
    """Return an arrow head a little past the middle of each leg, so that a leg there and one back do not share one."""
    found = []
    for start, end in pairwise(points):
        across = math.radians(end.longitude - start.longitude)
        up = _mercator(end.latitude) - _mercator(start.latitude)
        if across or up:
            share = 0.58
            at = Point(
                start.latitude + share * (end.latitude - start.latitude),
                start.longitude + share * (end.longitude - start.longitude),
            )
            found.append(Arrow(at, round(math.degrees(math.atan2(across, up)), 1)))
    return found


def dash_of(index: int) -> tuple[str, str]:
    """Return the stroke pattern of the itinerary at `index` and its name."""
    return DASHES[index % len(DASHES)]


def _shrink(bounds: Bounds) -> float:
    return math.cos(math.radians((bounds.north_east.latitude + bounds.south_west.latitude) / 2))


def _beyond(low: float, high: float) -> tuple[float, float]:
    return low - (high - low), high + (high - low)


def _steps(through: float, step: float, low: float, high: float) -> Iterator[float]:
    first = math.ceil((low - through) / step)
    last = math.floor((high - through) / step)
    for place in range(first, last + 1):
        yield round(through + place * step, 6)


def _mercator(latitude: float) -> float:
    """Return the northing of Web Mercator on a unit sphere."""
    return math.asinh(math.tan(math.radians(latitude)))
