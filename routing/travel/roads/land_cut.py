"""The land around a round, cut out of what is kept of a map, and simplified until it is small.

Near the places everything is kept that the map has. Farther off lines are coarser and small shapes go, and where that
is not enough, what lies farthest goes first: a stranger steers by what is close.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import Place
from routing.travel.background import LINE_PRECISION
from routing.travel.land import AREA_KINDS, LINE_KINDS, MARK_KINDS, AreaKind, Land, LineKind, Mark
from routing.travel.polyline import encode
from routing.travel.roads.clipped import clipped_line, clipped_ring
from routing.travel.roads.extract import TEN_MILLION
from routing.travel.thin import METRES_PER_DEGREE

LARGEST_LAND = 180_000
"""Characters of rings and lines."""

_NEAR_METRES = 1_500.0
"""So near to a place a shape is drawn as finely as it is kept, and small ones stay."""
_LEVELS = ((5.0, 1_000.0), (10.0, 4_000.0), (20.0, 12_000.0), (40.0, 50_000.0))
"""Steps of simplifying what is farther off: metres that a line may leave its place, and the least square metres."""
_CHARACTERS_A_POINT = 5
_UNIT = TEN_MILLION // 10**LINE_PRECISION
_MOST_MARKS = 160
_GATE_METRES = 700.0
"""Gates farther from every place than this are not drawn."""
_MARGIN = 0.018
"""Degrees of latitude: two kilometres."""
_FAR_LINES: tuple[LineKind, ...] = ("stream", "river", "rail", "contour")
"""Paths and hedges are drawn near the places only."""

Box = tuple[float, float, float, float]
"""South, west, north and east, in degrees."""


@dataclass(frozen=True)
class _Cut:
    """Lines or rings in a box, with how far each is from the nearest place."""

    kinds: NDArray[np.int64]
    groups: NDArray[np.int64]
    points: list[NDArray[np.int64]]
    """Of each, shape (points, 2), in ten-millionths of a degree."""
    worth: list[NDArray[np.int64]]
    metres: NDArray[np.float64]
    square_metres: NDArray[np.float64]


def land_around(path: Path, box: Box, places: Sequence[Place]) -> Land:
    """Return the land inside a box, without road names, below `LARGEST_LAND`; `places` say where it is kept finest."""
    with np.load(path, allow_pickle=False) as kept:
        rings = _cut(kept, "rings", box, places)
        lines = _cut(kept, "lines", box, places)
        marks = _marks(kept["marks"], kept["mark_names"].tolist(), box, places)
    areas, drawn = _within(rings, lines, box)
    return Land(areas=areas, lines=drawn, marks=marks)


def box_around(places: Sequence[Place]) -> Box:
    """Return a box around places with a margin of a third and two kilometres at least.

    It is about as wide as it is high, so that a map's frame is filled whatever its form.
    """
    ups, alongs = [place.latitude for place in places], [place.longitude for place in places]
    shrink = max(0.1, math.cos(math.radians(sum(ups) / len(ups))))
    high, wide = (max(ups) - min(ups)) / 2, (max(alongs) - min(alongs)) / 2 * shrink
    half = max(high + max(_MARGIN, high * 2 / 3), wide + max(_MARGIN, wide * 2 / 3))
    up, along = (max(ups) + min(ups)) / 2, (max(alongs) + min(alongs)) / 2
    return up - half, along - half / shrink, up + half, along + half / shrink


def metres_from(
    places: Sequence[Place], latitudes: NDArray[np.float64], longitudes: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return how far points (degrees) are from the nearest place, in metres, about: good enough to sort by."""
    nearest = np.full(len(latitudes), np.inf)
    for place in places:
        shrink = math.cos(math.radians(place.latitude))
        away = np.hypot(latitudes - place.latitude, (longitudes - place.longitude) * shrink)
        nearest = np.minimum(nearest, away * METRES_PER_DEGREE)
    return nearest


def _cut(kept: Mapping[str, NDArray[np.int64]], name: str, box: Box, places: Sequence[Place]) -> _Cut:
    ups, alongs = kept[f"{name}_latitudes"].astype(np.int64), kept[f"{name}_longitudes"].astype(np.int64)
    starts, worth = kept[f"{name}_starts"], kept[f"{name}_worth"].astype(np.int64)
    kinds, groups = kept[f"{name}_kinds"].astype(np.int64), kept[f"{name}_groups"]
    if not len(kinds):
        empty = np.zeros(0)
        return _Cut(kinds, groups, [], [], empty, empty)
    low_up, high_up = np.minimum.reduceat(ups, starts[:-1]), np.maximum.reduceat(ups, starts[:-1])
    low_along, high_along = np.minimum.reduceat(alongs, starts[:-1]), np.maximum.reduceat(alongs, starts[:-1])
    south, west, north, east = (edge * TEN_MILLION for edge in box)
    inside = np.flatnonzero((high_up >= south) & (low_up <= north) & (high_along >= west) & (low_along <= east))
    nearest = np.full(len(kinds), np.inf)
    for place in places:  # from the box around each shape: a wood that surrounds a site is near it
        up = np.clip(place.latitude * TEN_MILLION, low_up, high_up) / TEN_MILLION
        along = np.clip(place.longitude * TEN_MILLION, low_along, high_along) / TEN_MILLION
        nearest = np.minimum(nearest, metres_from([place], up, along))
    points = [np.stack([ups[starts[i] : starts[i + 1]], alongs[starts[i] : starts[i + 1]]], axis=1) for i in inside]
    return _Cut(
        kinds[inside],
        groups[inside],
        points,
        [worth[starts[i] : starts[i + 1]] for i in inside],
        nearest[inside],
        np.array([_square_metres(ring) for ring in points]),
    )


def _square_metres(ring: NDArray[np.int64]) -> float:
    scale = METRES_PER_DEGREE / TEN_MILLION
    x = (ring[:, 1] - ring[0, 1]) * (scale * math.cos(math.radians(ring[0, 0] / TEN_MILLION)))
    y = (ring[:, 0] - ring[0, 0]) * scale
    return abs(float(x[:-1] @ y[1:] - x[1:] @ y[:-1])) / 2


def _within(
    rings: _Cut, lines: _Cut, box: Box
) -> tuple[dict[AreaKind, tuple[tuple[str, ...], ...]], dict[LineKind, tuple[str, ...]]]:
    """Return areas and lines at the finest level that is small enough; of the coarsest what is nearest."""
    for metres, least in _LEVELS:
        shapes = _shapes(rings, metres, least)
        drawn = _drawn_lines(lines, metres)
        points = sum(len(line) for _, _, line in (*shapes, *drawn))
        if points * _CHARACTERS_A_POINT <= LARGEST_LAND:
            break
    return _encoded(rings, lines, shapes, drawn, box)


Chosen = list[tuple[int, float, NDArray[np.int64]]]
"""Place in the cut, metres from the nearest place, points."""


def _shapes(rings: _Cut, metres: float, least: float) -> Chosen:
    near = rings.metres <= _NEAR_METRES
    return [
        (i, float(rings.metres[i]), rings.points[i] if near[i] else rings.points[i][rings.worth[i] >= metres])
        for i in range(len(rings.points))
        if near[i] or rings.square_metres[i] >= least
    ]


def _drawn_lines(lines: _Cut, metres: float) -> Chosen:
    far = {LINE_KINDS.index(kind) for kind in _FAR_LINES}
    near = lines.metres <= _NEAR_METRES
    return [
        (i, float(lines.metres[i]), lines.points[i] if near[i] else lines.points[i][lines.worth[i] >= metres])
        for i in range(len(lines.points))
        if near[i] or int(lines.kinds[i]) in far
    ]


def _encoded(
    rings: _Cut, lines: _Cut, shapes: Chosen, drawn: Chosen, box: Box
) -> tuple[dict[AreaKind, tuple[tuple[str, ...], ...]], dict[LineKind, tuple[str, ...]]]:
    areas: dict[tuple[int, int], list[str]] = {}
    found: dict[LineKind, list[str]] = {}
    size = 0
    both = [(metres, 0, i, points) for i, metres, points in drawn] + [(m, 1, i, points) for i, m, points in shapes]
    for _, is_ring, i, points in sorted(both, key=lambda each: each[:3]):
        pieces = [clipped_ring(points, _units(box))] if is_ring else clipped_line(points, _units(box))
        texts = [text for piece in pieces if (text := _text(piece, 4 if is_ring else 2))]
        size += sum(len(text) + 4 for text in texts)
        if size > LARGEST_LAND:
            break
        if not is_ring:
            found.setdefault(LINE_KINDS[int(lines.kinds[i])], []).extend(texts)
        elif texts:
            areas.setdefault((int(rings.kinds[i]), int(rings.groups[i])), []).extend(texts)
    order = sorted(areas)
    return (
        {AREA_KINDS[kind]: tuple(tuple(areas[key]) for key in order if key[0] == kind) for kind, _ in order},
        {kind: tuple(found[kind]) for kind in LINE_KINDS if kind in found},
    )


def _units(box: Box) -> tuple[int, int, int, int]:
    south, west, north, east = (round(edge * TEN_MILLION) for edge in box)
    return south, west, north, east


def _text(points: NDArray[np.int64], least: int) -> str:
    """Return a line as text on the grid of the page; empty where nothing is left of it."""
    grid = np.round(points / _UNIT).astype(np.int64)
    if len(grid) > 1:
        grid = grid[np.concatenate([[True], (grid[1:] != grid[:-1]).any(axis=1)])]
    return encode(map(tuple, grid.tolist())) if len(grid) >= least else ""


def _marks(rows: NDArray[np.int64], names: list[str], box: Box, places: Sequence[Place]) -> tuple[Mark, ...]:
    south, west, north, east = box
    away = metres_from(places, rows[:, 0] / TEN_MILLION, rows[:, 1] / TEN_MILLION)
    found = [
        (float(away[i]), Mark(MARK_KINDS[kind], names[i], up / TEN_MILLION, along / TEN_MILLION))
        for i, (up, along, kind) in enumerate(rows.tolist())
        if south <= up / TEN_MILLION <= north
        and west <= along / TEN_MILLION <= east
        and (MARK_KINDS[kind] != "gate" or away[i] <= _GATE_METRES)
    ]
    return tuple(mark for _, mark in sorted(found, key=lambda each: each[0])[:_MOST_MARKS])
