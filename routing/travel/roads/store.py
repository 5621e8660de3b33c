"""The lines and names of a road map, kept in a small file, and cut out around a round for the map's background."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from routing.travel.background import LINE_PRECISION, ROAD_CLASSES, Background, PlaceName, RoadClass
from routing.travel.polyline import encode
from routing.travel.roads.extract import TEN_MILLION, Extract
from routing.travel.thin import thinned

LARGEST_BACKGROUND = 900_000
"""Characters of lines: with the rest of the page it stays below two million bytes."""

_CLASS_OF: dict[str, RoadClass] = {
    **dict.fromkeys(("motorway", "trunk", "primary"), "main"),
    **dict.fromkeys(("secondary", "tertiary"), "road"),
    **dict.fromkeys(("unclassified", "residential", "living_street"), "lane"),
    "service": "service",
    "track": "track",
}
_COARSER = ((4.0, 5), (8.0, 5), (12.0, 4), (20.0, 4), (30.0, 3), (60.0, 2), (120.0, 2), (400.0, 1))
"""Steps of simplifying: how far a line may leave its place in metres, and how many classes are drawn."""

_MOST_NAMES = 400

Lines = list[tuple[int, NDArray[np.int64]]]


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


def background(path: Path, box: tuple[float, float, float, float], credit: str) -> Background:
    """Return the roads and names inside a box (south, west, north, east, degrees), simplified until it is small.

    Lines are first thinned more, then lesser classes are left out, until all are below `LARGEST_BACKGROUND`.
    """
    with np.load(path, allow_pickle=False) as kept:
        lines = _inside(dict(kept), box)
        names = _names(kept["names"], kept["name_places"], box)
    encoded: dict[RoadClass, tuple[str, ...]] = {}
    for metres, classes in _COARSER:
        encoded = {
            kind: tuple(dict.fromkeys(_encoded(line, metres) for number, line in lines if number == place))
            for place, kind in enumerate(ROAD_CLASSES[:classes])
        }
        if sum(len(text) + 3 for texts in encoded.values() for text in texts) <= LARGEST_BACKGROUND:
            return Background({kind: texts for kind, texts in encoded.items() if texts}, names, credit)
    return Background({}, names, credit)


def _inside(kept: dict[str, NDArray[np.int64]], box: tuple[float, float, float, float]) -> Lines:
    """Return class and points, shape (points, 2), of each line with a part in the box; points far outside are cut."""
    south, west, north, east = (round(edge * TEN_MILLION) for edge in box)
    up, along = kept["latitudes"].astype(np.int64), kept["longitudes"].astype(np.int64)
    inside = (up >= south) & (up <= north) & (along >= west) & (along <= east)
    counted = np.concatenate([[0], np.cumsum(inside)])
    starts, classes = kept["starts"], kept["classes"]
    found = np.flatnonzero((counted[starts[1:]] > counted[starts[:-1]]) & (classes >= 0))
    lines: Lines = []
    for index in found.tolist():
        first, last = int(starts[index]), int(starts[index + 1])
        within = np.flatnonzero(inside[first:last])
        low, high = max(first, first + int(within[0]) - 1), min(last, first + int(within[-1]) + 2)
        points = np.stack([up[low:high], along[low:high]], axis=1)
        lines.append((int(classes[index]), points))
    return lines


def _encoded(line: NDArray[np.int64], metres: float) -> str:
    kept = thinned(line / TEN_MILLION, metres) * 10**LINE_PRECISION
    return encode((int(up), int(along)) for up, along in kept.round().tolist())


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
