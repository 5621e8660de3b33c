"""The land of a road map, read once and kept beside the tiles: rings, lines, landmarks and the names of roads.

Each point is kept with the metres from which on a simplification leaves it out, so that any scale can be cut out of the
file without simplifying again.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import osmium
from numpy.typing import NDArray
from osmium.filter import KeyFilter
from osmium.osm import Area, Node, Way

from routing.farm.on_disk import as_named
from routing.travel.land import AREA_KINDS, LINE_KINDS, MARK_KINDS
from routing.travel.roads.extract import TEN_MILLION, Extract, shown
from routing.travel.roads.land_tags import LAND_KEYS, MARK_KEYS, area_kind, line_kind, mark_kind
from routing.travel.thin import METRES_PER_DEGREE

_LEAST_METRES = 3.0
"""What lies nearer than this to the simplified line is never kept: it is not seen at any scale of the map."""
_LARGEST = 30_000
"""Metres that a sixteen-bit number holds; ends of lines and the first points of rings have it."""
_CORNERS = 4

Points = list[tuple[int, int]]


@dataclass
class _Shapes:
    """Lines or rings: kind and group of each, where each starts, and its points with the metres that each is worth."""

    kinds: array[int] = field(default_factory=lambda: array("b"))
    groups: array[int] = field(default_factory=lambda: array("q"))
    starts: array[int] = field(default_factory=lambda: array("q", [0]))
    latitudes: array[int] = field(default_factory=lambda: array("i"))
    longitudes: array[int] = field(default_factory=lambda: array("i"))
    worth: array[int] = field(default_factory=lambda: array("H"))

    def add(self, points: Points, kind: int, group: int) -> None:
        """Add one line or ring without the points that no scale shows."""
        line = np.array(points, dtype=np.int64)
        worth = worth_metres(line)
        kept = worth >= _LEAST_METRES
        self.kinds.append(kind)
        self.groups.append(group)
        self.latitudes.extend(line[kept, 0].tolist())
        self.longitudes.extend(line[kept, 1].tolist())
        self.worth.extend(worth[kept].astype(int).tolist())
        self.starts.append(len(self.latitudes))

    def arrays(self, name: str) -> dict[str, NDArray[np.generic]]:
        """Return all as arrays, under names that begin with `name`."""
        return {
            f"{name}_kinds": np.asarray(self.kinds, dtype=np.int8),
            f"{name}_groups": np.asarray(self.groups, dtype=np.int64),
            f"{name}_starts": np.asarray(self.starts, dtype=np.int64),
            f"{name}_latitudes": np.asarray(self.latitudes, dtype=np.int32),
            f"{name}_longitudes": np.asarray(self.longitudes, dtype=np.int32),
            f"{name}_worth": np.asarray(self.worth, dtype=np.uint16),
        }


@dataclass
class _Read:
    rings: _Shapes = field(default_factory=_Shapes)
    lines: _Shapes = field(default_factory=_Shapes)
    marks: dict[tuple[int, str], tuple[int, int]] = field(default_factory=dict)
    """Where the last of each kind and name stands, and those without a name by their spot."""
    mark_rows: list[tuple[int, int, int]] = field(default_factory=list)
    mark_names: list[str] = field(default_factory=list)


def write_land(path: Path, extract: Extract, target: Path) -> None:
    """Write the land of a map, and the names of the ways of `extract`. Raises OSError.

    A map of which the roads could be read, but not the areas (whose reader wants everything in order), has no land: it
    is a picture, and drives do not depend on it.
    """
    try:
        read = _read(path)
    except (RuntimeError, ValueError, IndexError, OverflowError, osmium.InvalidLocationError):
        read = _Read()
    names = [tags.get("name", "") for tags in extract.tags]
    numbers = [tags.get("ref", "") for tags in extract.tags]
    texts = {text: place for place, text in enumerate(sorted({"", *names, *numbers}))}
    arrays: dict[str, NDArray[np.generic]] = {
        **read.rings.arrays("rings"),
        **read.lines.arrays("lines"),
        "marks": np.array(read.mark_rows, dtype=np.int64).reshape(-1, 3),
        "mark_names": np.array(read.mark_names, dtype=np.str_),
        "texts": np.array(list(texts), dtype=np.str_),
        "names": np.array([texts[name] for name in names], dtype=np.int32),
        "numbers": np.array([texts[number] for number in numbers], dtype=np.int32),
    }
    np.savez_compressed(target, **arrays)  # type: ignore[arg-type]


def worth_metres(line: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return for each point of a line the metres up to which a simplification keeps it, shape (points,).

    `line` holds (latitude, longitude) in ten-millionths of a degree. A point is never worth more than those between
    which it was found, so that every tolerance gives the same line as if it were simplified for it.
    Source: D. H. Douglas and T. K. Peucker, Cartographica 10, 1973.
    """
    scale = METRES_PER_DEGREE / TEN_MILLION
    flat = (line - line[0]) * np.array([scale, scale * math.cos(math.radians(line[0, 0] / TEN_MILLION))])
    worth = np.zeros(len(line))
    worth[[0, -1]] = _LARGEST
    parts = [(0, len(line) - 1, float(_LARGEST))]
    while parts:
        first, last, most = parts.pop()
        if last <= first + 1:  # nothing between
            continue
        away = _from_chord(flat[first], flat[last], flat[first + 1 : last])
        worst = int(np.argmax(away))
        value = min(most, float(away[worst]))
        if value >= _LEAST_METRES:
            middle = first + 1 + worst
            worth[middle] = value
            parts += [(first, middle, value), (middle, last, value)]
    return worth


def _from_chord(
    start: NDArray[np.float64], end: NDArray[np.float64], points: NDArray[np.float64]
) -> NDArray[np.float64]:
    chord, off = end - start, points - start
    square = float(chord @ chord)
    share = np.clip(off @ chord / square, 0, 1) if square else np.zeros(len(off))
    rest = off - share[:, None] * chord
    return np.asarray(np.hypot(rest[:, 0], rest[:, 1]))


def _read(path: Path) -> _Read:
    name = str(as_named(path))  # never taken for an address
    keys = tuple(dict.fromkeys((*LAND_KEYS, *MARK_KEYS)))
    things = osmium.FileProcessor(name).with_areas(KeyFilter(*keys)).with_filter(KeyFilter(*keys))
    read = _Read()
    for thing in things:
        if isinstance(thing, Area):
            _add_area(read, thing)
        elif isinstance(thing, Way):
            _add_line(read, thing)
        elif isinstance(thing, Node) and thing.location.valid():
            _add_mark(read, dict(thing.tags), thing.location.y, thing.location.x)
    return read


def _add_area(read: _Read, area: Area) -> None:
    tags = dict(area.tags)
    kind = area_kind(tags)
    if kind is None and mark_kind(tags) is None:
        return
    for outer in area.outer_rings():
        points = _points(outer)
        if len(points) < _CORNERS:
            continue
        if kind is None:
            ups, alongs = zip(*points, strict=True)
            _add_mark(read, tags, (min(ups) + max(ups)) // 2, (min(alongs) + max(alongs)) // 2)
            return
        group = len(read.rings.kinds)
        read.rings.add(points, AREA_KINDS.index(kind), group)
        for inner in area.inner_rings(outer):
            if len(hole := _points(inner)) >= _CORNERS:
                read.rings.add(hole, AREA_KINDS.index(kind), group)


def _add_line(read: _Read, way: Way) -> None:
    kind = line_kind(dict(way.tags))
    if kind is not None and len(points := _points(way.nodes)) > 1:
        read.lines.add(points, LINE_KINDS.index(kind), 0)


def _add_mark(read: _Read, tags: dict[str, str], latitude: int, longitude: int) -> None:
    kind = mark_kind(tags)
    if kind is None:
        return
    name = shown(tags.get("name", ""))
    place = MARK_KINDS.index(kind)
    spot = (latitude, longitude)
    if read.marks.setdefault((place, name or str(spot)), spot) != spot:
        return  # drawn once: a church is often in the map as a point and as a building
    read.mark_rows.append((latitude, longitude, place))
    read.mark_names.append(name)


def _points(nodes: Iterable[osmium.osm.NodeRef]) -> Points:
    return [(node.location.y, node.location.x) for node in nodes if node.location.valid()]
