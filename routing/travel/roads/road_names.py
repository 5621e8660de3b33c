"""Where the names and numbers of roads stand on a map: at straight stretches, those near the places first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import Place
from routing.travel.background import ROAD_CLASSES
from routing.travel.land import RoadName
from routing.travel.roads.extract import TEN_MILLION
from routing.travel.roads.land_cut import Box, metres_from
from routing.travel.thin import METRES_PER_DEGREE, thinned

_MOST = 700
_LOOKED_AT = 2_500
_NEAR_METRES = 4_000.0
"""Farther from every place only roads above lanes are named."""
_OFF_METRES = 12.0
"""How far a road may lie beside the middle of its name."""
_SHORTEST_METRES = 60.0
_LEVEL = 2


def road_names(lines: Path, land: Path, box: Box, places: Sequence[Place]) -> tuple[RoadName, ...]:
    """Return the names of roads in a box, each way's at its longest straight stretch."""
    with np.load(lines, allow_pickle=False) as kept:
        ups, alongs, starts = kept["latitudes"], kept["longitudes"], kept["starts"]
        classes = kept["classes"].astype(np.int64)
    with np.load(land, allow_pickle=False) as kept:
        texts, names, numbers = kept["texts"].tolist(), kept["names"], kept["numbers"]
    middles = (starts[:-1] + starts[1:]) // 2
    up, along = ups[middles] / TEN_MILLION, alongs[middles] / TEN_MILLION
    away = metres_from(places, up, along)
    south, west, north, east = box
    wanted = (classes >= 0) & ((names > 0) | (numbers > 0)) & (up >= south) & (up <= north)
    wanted &= (along >= west) & (along <= east) & ((away <= _NEAR_METRES) | (classes < _LEVEL))
    found: list[RoadName] = []
    order = np.flatnonzero(wanted)
    for way in order[np.argsort(away[order], kind="stable")][:_LOOKED_AT].tolist():
        span = slice(int(starts[way]), int(starts[way + 1]))
        line = np.stack([ups[span], alongs[span]], axis=1) / TEN_MILLION
        rank = min(_LEVEL, int(classes[way])) if ROAD_CLASSES[int(classes[way])] != "service" else _LEVEL
        found += _of_way(line, texts[names[way]], texts[numbers[way]], rank)
        if len(found) >= _MOST:
            break
    return tuple(sorted(found[:_MOST], key=lambda each: (each.rank, not each.numbered, -each.metres)))


def _of_way(line: NDArray[np.float64], name: str, number: str, rank: int) -> list[RoadName]:
    flat = thinned(line, _OFF_METRES)
    steps = np.diff(flat, axis=0) * np.array([1.0, math.cos(math.radians(line[0, 0]))]) * METRES_PER_DEGREE
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    longest = int(np.argmax(lengths))
    middle = (flat[longest] + flat[longest + 1]) / 2
    metres = round(float(lengths[longest]))
    if metres < _SHORTEST_METRES:
        return []
    turn = -math.degrees(math.atan2(steps[longest, 0], steps[longest, 1]))
    turn = (turn + 90) % 180 - 90  # never on its head
    spot = (round(float(middle[0]), 5), round(float(middle[1]), 5))
    names = [RoadName(name, *spot, round(turn), metres, rank, numbered=False)] if name else []
    if number and rank < _LEVEL:
        names.append(RoadName(number, *spot, 0, metres, rank, numbered=True))
    return names
