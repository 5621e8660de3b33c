"""The lines and names of a road map, kept in a small file, and cut out around a round for the map's background."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import Place
from routing.travel.background import LINE_PRECISION, ROAD_CLASSES, Background, PlaceName, RoadClass
from routing.travel.polyline import encode
from routing.travel.roads.extract import TEN_MILLION, Extract
from routing.travel.thin import METRES_PER_DEGREE

LARGEST_BACKGROUND = 215_000
"""Characters of lines: with the land and the rest of the page it stays below a million bytes."""

_CLASS_OF: dict[str, RoadClass] = {
    **dict.fromkeys(("motorway", "trunk", "primary"), "main"),
    **dict.fromkeys(("secondary", "tertiary"), "road"),
    **dict.fromkeys(("unclassified", "residential", "living_street"), "lane"),
    "service": "service",
    "track": "track",
}
_COARSER = ((4.0, 5), (8.0, 5), (12.0, 4), (20.0, 4), (30.0, 3), (60.0, 2), (120.0, 2), (400.0, 1))
"""Steps of simplifying: how far a line may leave its place in metres, and how many classes are drawn."""

_UNIT = TEN_MILLION // 10**LINE_PRECISION
_METRES_PER_UNIT = METRES_PER_DEGREE / 10**LINE_PRECISION
_LEAST_OF_A_POINT = 2
"""Characters that a point takes at least."""

_MOST_NAMES = 400
_NEAR_METRES = 1_500.0
"""So near to a place roads stay fine and tracks are drawn when they have gone elsewhere."""

Encoded = dict[RoadClass, dict[str, None]]
"""Encoded lines by class, each once, in order."""

Lines = tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]
"""Points, shape (points, 2); where each line starts, shape (lines + 1,); its class, shape (lines,)."""


def write_store(extract: Extract, path: Path) -> None:
    """Write the lines of all drivable ways, by class, and the names of places."""
    kinds = [_CLASS_OF.get(tags["highway"].removesuffix("_link")) for tags in extract.tags]
    order = [-1 if kind is None else ROAD_CLASSES.index(kind) for kind in kinds]
    np.savez_compressed(
        path,
        classes=np.array(order, dtype=np.int8),
        starts=np.asarray(extract.starts, dtype=np.int64),
        latitudes=np.asarray(extract.latitudes, dtype=np.int32),
        longitudes=np.asarray(extract.longitudes, dtype=np.int32),
        names=np.array([place.name for place in extract.places], dtype=np.str_),
        name_places=np.array(
            [(place.latitude, place.longitude, place.size) for place in extract.places], dtype=np.int64
        ).reshape(-1, 3),
    )


def background(
    path: Path, box: tuple[float, float, float, float], credit: str, places: Sequence[Place] = ()
) -> Background:
    """Return the roads and names inside a box (south, west, north, east, degrees), simplified until it is small.

    Lines are first thinned more, then lesser classes are left out, until all are below `LARGEST_BACKGROUND`: away from
    `places` first, and near them only where that is not enough.
    """
    with np.load(path, allow_pickle=False) as kept:
        lines = _inside(dict(kept), box)
        names = _names(kept["names"], kept["name_places"], box)
    near, far = _by_distance(lines, places)
    close, size = _small_enough(near, LARGEST_BACKGROUND)
    others, _ = _small_enough(far, LARGEST_BACKGROUND - size)
    kinds = [kind for kind in ROAD_CLASSES if kind in close or kind in others]
    return Background({kind: tuple({**close.get(kind, {}), **others.get(kind, {})}) for kind in kinds}, names, credit)


def _small_enough(lines: Lines, room: int) -> tuple[Encoded, int]:
    """Return lines at the finest step that is below `room` characters, and how many those are."""
    for metres, classes in _COARSER:
        points, starts, kinds = _thinned(lines, metres, classes)
        if _LEAST_OF_A_POINT * len(points) > room:
            continue
        encoded: Encoded = {}
        for first, last, kind in zip(starts[:-1].tolist(), starts[1:].tolist(), kinds.tolist(), strict=True):
            if last - first > 1:
                encoded.setdefault(ROAD_CLASSES[kind], {})[encode(map(tuple, points[first:last].tolist()))] = None
        size = sum(len(text) + 4 for texts in encoded.values() for text in texts)
        if size <= room:
            return encoded, size
    return {}, 0


def _by_distance(lines: Lines, places: Sequence[Place]) -> tuple[Lines, Lines]:
    """Return the lines with a point near one of the places, and the others."""
    points, starts, kinds = lines
    near = np.zeros(len(points), dtype=bool)
    for place in places:
        shrink = max(0.1, math.cos(math.radians(place.latitude)))
        up = points[:, 0] / TEN_MILLION - place.latitude
        along = (points[:, 1] / TEN_MILLION - place.longitude) * shrink
        near |= np.hypot(up, along) * METRES_PER_DEGREE <= _NEAR_METRES
    sizes = np.diff(starts)
    close = np.bincount(np.repeat(np.arange(len(kinds)), sizes)[near], minlength=len(kinds)) > 0
    return _some_of(lines, close), _some_of(lines, ~close)


def _some_of(lines: Lines, wanted: NDArray[np.bool_]) -> Lines:
    points, starts, kinds = lines
    sizes = np.diff(starts)
    return points[np.repeat(wanted, sizes)], np.concatenate([[0], np.cumsum(sizes[wanted])]), kinds[wanted]


def _inside(kept: dict[str, NDArray[np.int64]], box: tuple[float, float, float, float]) -> Lines:
    """Return the lines with a part in the box; points far outside are cut."""
    south, west, north, east = (round(edge * TEN_MILLION) for edge in box)
    up, along, starts, classes = kept["latitudes"], kept["longitudes"], kept["starts"], kept["classes"]
    inside = (up >= south) & (up <= north) & (along >= west) & (along <= east)
    near = inside.copy()  # and one point on either side, so that lines run on to the edge
    near[1:] |= inside[:-1]
    near[:-1] |= inside[1:]
    line_of = np.repeat(np.arange(len(classes)), np.diff(starts))
    found = near & (classes[line_of] >= 0)
    points = np.stack([up[found], along[found]], axis=1).astype(np.int64)
    lines, sizes = np.unique(line_of[found], return_counts=True)
    return points, np.concatenate([[0], np.cumsum(sizes)]), classes[lines].astype(np.int64)


def _thinned(lines: Lines, metres: float, classes: int) -> Lines:
    """Return the lines of the first so many classes on a grid about `metres` wide, without needless points.

    All at once: a grid is coarser than the best simplification, but for a whole county it takes a second, not minutes.
    """
    points, starts, kinds = lines
    sizes = np.diff(starts)
    wanted = np.repeat(kinds < classes, sizes)
    line_of = np.repeat(np.arange(len(kinds)), sizes)[wanted]
    step = max(1, round(metres / _METRES_PER_UNIT))
    grid = (points[wanted] // (_UNIT * step)) * step
    kept = np.ones(len(grid), dtype=bool)
    kept[1:] = (grid[1:] != grid[:-1]).any(axis=1) | (line_of[1:] != line_of[:-1])
    grid, line_of = grid[kept], line_of[kept]
    for first in (1, 2, 1, 2):  # every other point at a time, so that no bend is lost whole
        straight = _between(grid, line_of, metres)
        straight[np.arange(len(straight)) % 2 != first % 2] = False
        grid, line_of = grid[~straight], line_of[~straight]
    counts = np.bincount(line_of, minlength=len(kinds))
    return grid, np.concatenate([[0], np.cumsum(counts)]), kinds


def _between(grid: NDArray[np.int64], line_of: NDArray[np.int64], metres: float) -> NDArray[np.bool_]:
    """Return which points lie, within half of `metres`, on the straight piece between their neighbours in the line."""
    found = np.zeros(len(grid), dtype=bool)
    if len(grid[1:-1]):
        chord, off = grid[2:] - grid[:-2], grid[1:-1] - grid[:-2]
        area = np.abs(chord[:, 0] * off[:, 1] - chord[:, 1] * off[:, 0])
        length = np.maximum(1, np.hypot(chord[:, 0], chord[:, 1]))
        onwards = (off * chord).sum(axis=1)
        beside = (onwards >= 0) & (onwards <= length**2) & (area / length * _METRES_PER_UNIT <= metres / 2)
        found[1:-1] = beside & (line_of[2:] == line_of[:-2])
    return found


def _names(
    names: NDArray[np.str_], places: NDArray[np.int64], box: tuple[float, float, float, float]
) -> tuple[PlaceName, ...]:
    """Return the places in the box, the largest first, and no more than a page can show."""
    south, west, north, east = box
    found = [
        PlaceName(name, up / TEN_MILLION, along / TEN_MILLION, int(size))
        for name, (up, along, size) in zip(names.tolist(), places.tolist(), strict=True)
        if south <= up / TEN_MILLION <= north and west <= along / TEN_MILLION <= east
    ]
    return tuple(sorted(found, key=lambda place: (place.size, place.name))[:_MOST_NAMES])
