"""The last stretch to each stop as a small picture: roads, land, the way in, gates, the van, the hives, the walk."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from routing.round import Itinerary, Round, Stop
from routing.share.map.way import shape_points
from routing.share.pages.inline import environment
from routing.share.safety.geo import driven_to
from routing.share.safety.safe import plain_name
from routing.share.safety.trusted import trusted
from routing.share.wording.words import METRES_PER_MILE
from routing.travel.background import LINE_PRECISION, ROAD_CLASSES, Background
from routing.travel.land import AREA_KINDS
from routing.travel.polyline import decode
from routing.travel.roads.clipped import clipped_line, clipped_ring
from routing.travel.thin import METRES_PER_DEGREE

HALF_METRES = 500
"""From the place where the van stops to each edge of the picture, more where the hives are farther."""
SIDE = 320
"""Units across: about a pixel each on a phone."""
_LINES = ("contour", "hedge", "path", "stream", "river", "rail")
_YARDS = METRES_PER_MILE / 1760
LARGEST = 160_000
"""Characters of land in all pictures of a page together, so that the page stays below a million bytes."""
_CLEAR = 30
"""Units around signs and names in which no other name of a road stands."""
_MOST_NAMES = 4

Points = NDArray[np.int64]


@dataclass(frozen=True)
class Ground:
    """What lies around a round, each line or ring once, with the word for what it is, in the order of drawing."""

    areas: tuple[tuple[str, Points], ...]
    lines: tuple[tuple[str, Points], ...]
    roads: Background

    @classmethod
    def of(cls, roads: Background) -> Ground:
        """Return the ground of a map's background."""
        land = roads.land
        areas = tuple(
            (kind, _units(ring)) for kind in AREA_KINDS for rings in land.areas.get(kind, ()) for ring in rings[:1]
        )
        kinds = {**{str(kind): texts for kind, texts in land.lines.items()}}
        lines = [(kind, _units(text)) for kind in _LINES for text in kinds.get(kind, ())]
        lines += [(kind, _units(text)) for kind in reversed(ROAD_CLASSES) for text in roads.lines.get(kind, ())]
        return cls(areas, tuple(lines), roads)


@dataclass(frozen=True)
class _Frame:
    """A square of ground around a point, and where it lies in the picture."""

    latitude: float
    longitude: float
    half_metres: float

    @property
    def box(self) -> tuple[int, int, int, int]:
        """South, west, north and east in the units of lines, a little more than is seen."""
        up = 1.02 * self.half_metres / METRES_PER_DEGREE
        along = up / self._shrink
        edges = (self.latitude - up, self.longitude - along, self.latitude + up, self.longitude + along)
        south, west, north, east = (round(edge * 10**LINE_PRECISION) for edge in edges)
        return south, west, north, east

    @property
    def _shrink(self) -> float:
        return max(0.05, math.cos(math.radians(self.latitude)))

    def at(self, latitude: float, longitude: float) -> tuple[float, float]:
        """Return where a place is in the picture, across and down."""
        scale = SIDE / 2 / self.half_metres * METRES_PER_DEGREE
        along = (longitude - self.longitude + 180) % 360 - 180
        return (
            round(SIDE / 2 + along * self._shrink * scale, 1),
            round(SIDE / 2 - (latitude - self.latitude) * scale, 1),
        )

    def path(self, points: Points) -> str:
        """Return points, in the units of lines, as the data of an SVG path."""
        return _path([self.at(up / 10**LINE_PRECISION, along / 10**LINE_PRECISION) for up, along in points.tolist()])

    def holds(self, x: float, y: float, edge: float = 0) -> bool:
        """Return whether a place of the picture is in it, so far from its edge."""
        return edge <= x <= SIDE - edge and edge <= y <= SIDE - edge


def last_ways(round_: Round, itinerary: Itinerary, marks: Sequence[str], roads: Background | None) -> list[Markup]:
    """Return a picture for each stop of a day, empty at base and where no road map is known."""
    if roads is None:
        return [Markup("") for _ in itinerary.stops]
    ground = Ground.of(roads)
    room = LARGEST // max(1, len(itinerary.at_sites))
    return [
        Markup("") if stop.load_again is not None else _picture(round_, stop, mark, ground, room)
        for stop, mark in zip(itinerary.stops, marks, strict=True)
    ]


def _picture(round_: Round, stop: Stop, mark: str, ground: Ground, room: int) -> Markup:
    van = driven_to(stop)
    away = _metres(van, (stop.latitude, stop.longitude))
    frame = _Frame(*van, max(HALF_METRES, 1.2 * away))
    signs = [frame.at(*van), frame.at(stop.latitude, stop.longitude)]
    told = stop.stopping_place is not None
    areas, lines = _within(room, list(_areas(frame, ground)), list(_lines(frame, ground)))
    unit, words = (100.0, "100 m") if round_.units == "km" else (100 * _YARDS, "100 yards")
    return trusted(  # a template of ours, which escapes every text
        environment()
        .get_template("last_way.svg")
        .render(
            side=SIDE,
            mark=mark,
            title=f"The ground around stop {mark}, north is up",
            areas=areas,
            lines=lines,
            way=_way_in(frame, stop),
            gates=[
                spot
                for gate in ground.roads.land.marks
                if gate.kind == "gate" and frame.holds(*(spot := frame.at(gate.latitude, gate.longitude)))
            ],
            names=_names(frame, ground, signs),
            van=signs[0] if told else None,
            hives=signs[1],
            walk=signs if told and away > 1 else None,
            scale=round(unit * SIDE / 2 / frame.half_metres, 1),
            scale_words=words,
        )
    )


Shape = tuple[str, str]
"""What it is, and its path."""


def _within(room: int, areas: list[Shape], lines: list[Shape]) -> tuple[list[Shape], list[Shape]]:
    """Return what is drawn in so many characters: roads whatever they take, then other lines, then areas."""
    room -= sum(len(path) for kind, path in lines if kind in ROAD_CLASSES)
    kept: dict[int, Shape] = {}
    for number, (kind, path) in enumerate([*lines, *areas]):
        road = kind in ROAD_CLASSES
        room -= 0 if road else len(path)
        if road or room >= 0:
            kept[number] = (kind, path)
    return _joined(kept[n] for n in kept if n >= len(lines)), _joined(kept[n] for n in kept if n < len(lines))


def _joined(shapes: Iterable[Shape]) -> list[Shape]:
    """Return one path for each kind, in the order in which they come."""
    found: dict[str, list[str]] = {}
    for kind, path in shapes:
        found.setdefault(kind, []).append(path)
    return [(kind, "".join(paths)) for kind, paths in found.items()]


def _areas(frame: _Frame, ground: Ground) -> Iterator[Shape]:
    for kind, ring in _near(frame, ground.areas):
        inside = clipped_ring(ring, frame.box)
        if len(inside):
            yield kind, frame.path(inside) + "Z"


def _lines(frame: _Frame, ground: Ground) -> Iterator[Shape]:
    for kind, line in _near(frame, ground.lines):
        for piece in _pieces(line, frame.box):
            yield kind, frame.path(piece)


def _pieces(line: Points, box: tuple[int, int, int, int]) -> list[Points]:
    """Return the parts of a line in a box; all of it where it passes through between two points far outside."""
    return clipped_line(line, box) or [line]


def _near(frame: _Frame, shapes: Sequence[tuple[str, Points]]) -> Iterator[tuple[str, Points]]:
    south, west, north, east = frame.box
    for kind, points in shapes:
        low, high = points.min(axis=0), points.max(axis=0)
        if low[0] <= north and high[0] >= south and low[1] <= east and high[1] >= west:
            yield kind, points


def _way_in(frame: _Frame, stop: Stop) -> str:
    """Return the end of the drive as far as the picture reaches; empty where its way is not known."""
    shape = shape_points(stop.drive)
    if not shape:
        return ""
    spots = [frame.at(*point) for point in (*shape, driven_to(stop))]
    first = len(spots) - 1
    while first > 0 and frame.holds(*spots[first]):
        first -= 1
    return _path(spots[first:])


def _path(spots: Sequence[tuple[float, float]]) -> str:
    """Return a line in whole units as the data of an SVG path, each point as the step from the one before."""
    whole = [(round(x), round(y)) for x, y in spots]
    steps = [(x - a, y - b) for (a, b), (x, y) in pairwise(whole) if (x, y) != (a, b)]
    return f"M{whole[0][0]} {whole[0][1]}l" + " ".join(f"{x} {y}" for x, y in steps or [(0, 0)]).replace(" -", "-")


def _names(frame: _Frame, ground: Ground, signs: Sequence[tuple[float, float]]) -> list[tuple[str, float, float, int]]:
    """Return names of roads, where each stands and how it is turned, the nearest to the middle first."""
    found: list[tuple[str, float, float, int]] = []
    middle = SIDE / 2
    spots = [(name, *frame.at(name.latitude, name.longitude)) for name in ground.roads.land.road_names]
    inside = [each for each in spots if frame.holds(each[1], each[2], edge=_CLEAR)]
    for name, x, y in sorted(inside, key=lambda each: math.hypot(each[1] - middle, each[2] - middle)):
        text = plain_name(name.text)
        taken = [*signs, *((x, y) for _, x, y, _ in found)]
        apart = _CLEAR + 3 * len(text)
        if text in [each[0] for each in found] or any(math.hypot(x - a, y - b) < apart for a, b in taken):
            continue
        found.append((text, x, y, 0 if name.numbered else name.turn))
        if len(found) == _MOST_NAMES:
            break
    return found


def _units(text: str) -> Points:
    points = np.array(decode(text, LINE_PRECISION)) * 10**LINE_PRECISION
    return np.asarray(np.round(points), dtype=np.int64)


def _metres(one: tuple[float, float], other: tuple[float, float]) -> float:
    shrink = math.cos(math.radians(one[0]))
    return math.hypot(one[0] - other[0], (one[1] - other[1]) * shrink) * METRES_PER_DEGREE
