"""The land of Hollin Vale: its river and brooks, woods, fields with hedges, villages with churches, and a railway.

It lies under the roads that `make_hollin_vale.py` draws and leaves every one of them where it is. All of it is
invented; the same run gives the same land.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from contourpy import contour_generator

Point = tuple[float, float]
"""Latitude and longitude in degrees."""

SHRINK = math.cos(math.radians(52.23))
"""A degree of longitude is so much shorter than one of latitude here."""
METRE = 1 / 111_195
"""A metre in degrees of latitude."""


@dataclass(frozen=True)
class Drawn:
    """A line, or a closed ring, or a single point, with its tags."""

    points: tuple[Point, ...]
    tags: Mapping[str, str]


RIVER: tuple[Point, ...] = (
    *((52.3120, -3.0120), (52.2980, -3.0160), (52.2850, -3.0060), (52.2720, -2.9960), (52.2580, -2.9840)),
    *((52.2470, -2.9680), (52.2385, -2.9500), (52.2335, -2.9365), (52.2275, -2.9235), (52.2215, -2.9105)),
    *((52.2195, -2.9010), (52.2215, -2.8880), (52.2150, -2.8825), (52.2065, -2.8800), (52.1950, -2.8765)),
    *((52.1850, -2.8715), (52.1700, -2.8650), (52.1550, -2.8520)),
)
"""The Hollin, from north-west to south-east."""

BROOKS: tuple[tuple[str, tuple[Point, ...]], ...] = (
    (
        "Kiln Brook",
        (
            (52.2680, -3.0620),
            (52.2570, -3.0400),
            (52.2460, -3.0160),
            (52.2400, -2.9930),
            (52.2400, -2.9700),
            (52.2385, -2.9500),
        ),
    ),
    (
        "Sarn Brook",
        (
            (52.2250, -3.0520),
            (52.2120, -3.0250),
            (52.2080, -2.9950),
            (52.1980, -2.9700),
            (52.1870, -2.9450),
            (52.1790, -2.9150),
            (52.1720, -2.8850),
            (52.1700, -2.8650),
        ),
    ),
    (
        "Marton Brook",
        ((52.2850, -2.8650), (52.2700, -2.8950), (52.2560, -2.9120), (52.2420, -2.9150), (52.2275, -2.9235)),
    ),
    ("Bram Brook", ((52.2560, -2.8400), (52.2430, -2.8560), (52.2330, -2.8680), (52.2215, -2.8880))),
)

RAILWAY: tuple[Point, ...] = (
    *((52.1550, -3.0050), (52.1720, -2.9780), (52.1840, -2.9560), (52.1960, -2.9330), (52.2085, -2.9090)),
    *((52.2180, -2.8880), (52.2280, -2.8800), (52.2420, -2.8770), (52.2560, -2.8660), (52.2750, -2.8450)),
    (52.2950, -2.8300),
)

WOODS: tuple[tuple[str, Point, float], ...] = (
    *(("Larch Hanger", (52.2790, -3.0560), 1300.0), ("Moor Wood", (52.2760, -2.9960), 620.0)),
    *(("Kiln Copse", (52.2520, -3.0230), 700.0), ("Stone Wood", (52.2080, -3.0420), 900.0)),
    *(("Quarry Wood", (52.1890, -3.0140), 950.0), ("Sarn Covert", (52.2010, -2.9480), 420.0)),
    *(("Fernley Great Wood", (52.2720, -2.9380), 1150.0), ("Perry Wood", (52.2440, -2.9180), 560.0)),
    *(("Marton Plantation", (52.2790, -2.9000), 700.0), ("Bram Wood", (52.2480, -2.8560), 620.0)),
    *(("Heron Alders", (52.1740, -2.8960), 520.0), ("Sallow Wood", (52.1980, -2.8480), 800.0)),
    *(("Long Dingle", (52.2320, -3.0420), 560.0), ("Drove Copse", (52.2150, -2.9980), 380.0)),
    *(("Weir Wood", (52.2010, -2.8960), 380.0), ("Ridge Belt", (52.2940, -2.9700), 480.0)),
)
"""Name, middle, and metres to the edge."""

PEAKS: tuple[tuple[str, Point], ...] = (
    *(("Larch Top", (52.2850, -3.0500)), ("Cold Ridge", (52.2965, -2.9850))),
    *(("Stone Beacon", (52.2130, -3.0500)), ("Sallow Knoll", (52.1960, -2.8430))),
)

MARKS: tuple[tuple[Point, Mapping[str, str]], ...] = (
    ((52.2388, -2.9375), {"historic": "castle", "name": "Hollin Castle"}),
    ((52.2098, -2.9078), {"railway": "station", "name": "Aldmere"}),
    ((52.1893, -2.9475), {"railway": "station", "name": "Sarn Road"}),
    ((52.2945, -2.9860), {"man_made": "mast"}),
    ((52.2224, -2.9120), {"man_made": "windmill", "name": "Old mill"}),
    ((52.2338, -2.9432), {"amenity": "pub", "name": "The Ford House"}),
    ((52.2633, -2.8868), {"amenity": "pub", "name": "The Tithe Cart"}),
)

HILLS: tuple[tuple[Point, float, float], ...] = (
    *(((52.2850, -3.0500), 190.0, 2600.0), ((52.2965, -2.9850), 150.0, 2100.0), ((52.2130, -3.0500), 170.0, 2500.0)),
    *(((52.1960, -2.8430), 75.0, 1700.0), ((52.2720, -2.9380), 60.0, 1600.0), ((52.1780, -3.0050), 90.0, 1900.0)),
    *(((52.2900, -2.8500), 70.0, 2300.0),),
)
"""Middle, metres above the vale, and metres from there to where the hill is steepest."""

VALE_METRES = 110.0
CONTOUR_METRES = 20
_GRID_METRES = 120.0

VILLAGE_METRES = {"town": 560.0, "village": 330.0, "hamlet": 150.0}
_FIELDS = (52.165, -3.062, 52.305, -2.825)
_FIELD_METRES = 420.0


def land(villages: Mapping[str, tuple[str, Point]], yards: Sequence[Point]) -> Iterator[Drawn]:
    """Yield everything, in an order that never changes; `yards` are where farms lie."""
    chance = random.Random(20261211)  # noqa: S311 - a repeatable drawing
    bare = [(point, VILLAGE_METRES[kind]) for kind, point in villages.values()]
    bare += [(middle, metres) for _, middle, metres in WOODS]
    yield from _fields(chance, bare)
    for name, middle, metres in WOODS:
        yield Drawn(blob(chance, middle, metres, 0.30), {"natural": "wood", "name": name})
    for number, (name, (kind, point)) in enumerate(villages.items()):
        yield Drawn(blob(chance, point, VILLAGE_METRES[kind], 0.22), {"landuse": "residential"})
        if kind != "hamlet":
            church = (point[0] + 0.0011, point[1] - 0.0016 - 0.0002 * (number % 3))
            yield Drawn((church,), {"amenity": "place_of_worship", "religion": "christian", "name": f"{name} church"})
    for yard in yards:
        yield Drawn(blob(chance, (yard[0] + 0.0006, yard[1] + 0.0009), 45.0, 0.15), {"landuse": "farmyard"})
    yield Drawn(
        blob(chance, (52.1762, -2.8790), 150.0, 0.25), {"natural": "water", "water": "pond", "name": "Heron Pool"}
    )
    yield Drawn(blob(chance, (52.1868, -2.9210), 190.0, 0.25), {"natural": "wetland"})
    yield Drawn(blob(chance, (52.2960, -2.9990), 700.0, 0.30), {"natural": "heath"})
    for name, line in BROOKS:
        yield Drawn(smooth(line, 14), {"waterway": "stream", "name": name})
    yield Drawn(meandering(chance, smooth(RIVER, 10), 40.0), {"waterway": "river", "name": "Hollin"})
    yield Drawn(smooth(RAILWAY, 8), {"railway": "rail"})
    yield from _contours()
    for name, point in PEAKS:
        yield Drawn((point,), {"natural": "peak", "name": name, "ele": f"{height(point):.0f}"})
    for point, tags in MARKS:
        yield Drawn((point,), tags)


def height(point: Point) -> float:
    """Return metres above the sea: the floor of the vale, and on it hills of the form of a bell."""
    return VALE_METRES + sum(up * math.exp(-((apart(point, middle) / wide) ** 2) / 2) for middle, up, wide in HILLS)


def _contours() -> Iterator[Drawn]:
    """Yield the lines of equal height, by the library that draws them for charts."""
    south, west, north, east = _FIELDS
    step_up, step_along = _GRID_METRES * METRE, _GRID_METRES * METRE / SHRINK
    ups = [south + step_up * row for row in range(int((north - south) / step_up) + 1)]
    alongs = [west + step_along * column for column in range(int((east - west) / step_along) + 1)]
    heights = [[height((up, along)) for along in alongs] for up in ups]
    lines = contour_generator(alongs, ups, heights)
    first = (math.floor(VALE_METRES / CONTOUR_METRES) + 1) * CONTOUR_METRES
    for level in range(first, math.ceil(max(map(max, heights))), CONTOUR_METRES):
        for line in lines.lines(level):
            points = tuple((round(up, 6), round(along, 6)) for along, up in line.tolist())
            yield Drawn(points, {"contour": "elevation", "ele": str(level)})


def smooth(line: Sequence[Point], pieces: int) -> tuple[Point, ...]:
    """Return a curve through all points of a line, with so many pieces between two.

    Source: E. Catmull and R. Rom, A class of local interpolating splines, 1974.
    """
    ends = [line[0], *line, line[-1]]
    found = []
    for before, here, there, after in zip(ends, ends[1:], ends[2:], ends[3:], strict=False):
        for piece in range(pieces):
            share = piece / pieces
            found.append(
                (
                    _spline(before[0], here[0], there[0], after[0], share),
                    _spline(before[1], here[1], there[1], after[1], share),
                )
            )
    return (*found, line[-1])


def _spline(before: float, here: float, there: float, after: float, share: float) -> float:
    slope, onward = (there - before) / 2, (after - here) / 2
    fall = there - here
    return here + share * (slope + share * (3 * fall - 2 * slope - onward + share * (slope + onward - 2 * fall)))


def meandering(chance: random.Random, line: Sequence[Point], metres: float) -> tuple[Point, ...]:
    """Return a line that swings to both sides by up to about `metres`, but not at its ends."""
    found, phase = [line[0]], 0.0
    for before, here, after in zip(line, line[1:], line[2:], strict=False):
        phase += chance.uniform(0.5, 1.1)
        up, along = after[0] - before[0], (after[1] - before[1]) * SHRINK
        long = math.hypot(up, along) or 1.0
        swing = metres * METRE * math.sin(phase)
        found.append((here[0] - swing * along / long, here[1] + swing * up / long / SHRINK))
    return (*found, line[-1])


def blob(chance: random.Random, middle: Point, metres: float, ragged: float) -> tuple[Point, ...]:
    """Return a closed ring around a middle, no two alike; `ragged` is how far its edge strays, as a share."""
    waves = [(chance.uniform(0, ragged / (number + 1)), chance.uniform(0, math.tau), number + 2) for number in range(5)]
    stretch, turn = chance.uniform(0.75, 1.25), chance.uniform(0, math.pi)
    ring = []
    for step in range(32):
        angle = math.tau * step / 32
        far = metres * METRE * (1 + sum(size * math.sin(often * angle + phase) for size, phase, often in waves))
        east, north = far * stretch * math.cos(angle), far / stretch * math.sin(angle)
        turned = (east * math.sin(turn) + north * math.cos(turn), east * math.cos(turn) - north * math.sin(turn))
        ring.append((middle[0] + turned[0], middle[1] + turned[1] / SHRINK))
    return (*ring, ring[0])


def _fields(chance: random.Random, bare: Sequence[tuple[Point, float]]) -> Iterator[Drawn]:
    """Yield a patchwork of crooked fields, not where villages and woods lie, with a hedge along some of them."""
    south, west, north, east = _FIELDS
    up, along = _FIELD_METRES * METRE, _FIELD_METRES * METRE / SHRINK
    rows, columns = int((north - south) / up), int((east - west) / along)
    corners = [
        [
            (
                south + up * (row + chance.uniform(-0.32, 0.32)),
                west + along * (column + 0.4 * math.sin(row / 3) + chance.uniform(-0.32, 0.32)),
            )
            for column in range(columns + 1)
        ]
        for row in range(rows + 1)
    ]
    for row in range(rows):
        for column in range(columns):
            ring = (
                corners[row][column],
                corners[row][column + 1],
                corners[row + 1][column + 1],
                corners[row + 1][column],
            )
            middle = (sum(point[0] for point in ring) / 4, sum(point[1] for point in ring) / 4)
            use = chance.choice(("meadow", "farmland", "", ""))
            if any(apart(middle, centre) < metres * 0.8 for centre, metres in bare):
                continue
            if use:
                yield Drawn((*ring, ring[0]), {"landuse": use})
                yield Drawn((ring[0], ring[1]), {"barrier": "hedge"})


def apart(one: Point, other: Point) -> float:
    """Return the metres between two points of the vale, about."""
    return math.hypot(one[0] - other[0], (one[1] - other[1]) * SHRINK) / METRE
