"""Make the road map of Hollin Vale, an invented valley, as an OpenStreetMap extract.

    python maps/make_hollin_vale.py examples/hollin-vale/hollin-vale.osm.pbf

Nothing in it is a real road or place: it is drawn around the demo farm's base and sites. The same run gives the same
map; what lies under the roads is in `hollin_vale_land.py`. The river runs from north-west to south-east and is crossed
by a bridge at Hollinford, by one at Aldmere and by a ford between the two.
"""

from __future__ import annotations

import random
import sys
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import osmium
from hollin_vale_land import apart, land, smooth
from osmium.osm import mutable

Point = tuple[float, float]
"""Latitude and longitude in degrees."""

VILLAGES: dict[str, tuple[str, Point]] = {
    "Hollinford": ("town", (52.2330, -2.9400)),
    "Aldmere": ("village", (52.2130, -2.9020)),
    "Nether Sarn": ("village", (52.1905, -2.9440)),
    "Over Sarn": ("hamlet", (52.2050, -2.9790)),
    "Tithe Marton": ("village", (52.2640, -2.8850)),
    "Fernley": ("village", (52.2600, -2.9560)),
    "Ridgeway Cross": ("hamlet", (52.2820, -2.9780)),
    "Larchwick": ("hamlet", (52.2680, -3.0230)),
    "Kilnbrook": ("village", (52.2420, -3.0000)),
    "Stonehope": ("hamlet", (52.2210, -3.0180)),
    "Heronsmoor": ("hamlet", (52.1830, -2.8930)),
    "Bramcote End": ("hamlet", (52.2310, -2.8720)),
    "Sallowfield": ("village", (52.2120, -2.8520)),
}

ROADS: tuple[tuple[str, str, str, dict[str, str]], ...] = (
    ("Hollinford", "Aldmere", "primary", {"ref": "A471", "name": "Vale Road"}),
    ("Aldmere", "Sallowfield", "primary", {"ref": "A471", "name": "Vale Road"}),
    ("Hollinford", "Kilnbrook", "primary", {"ref": "A471", "name": "Hill Road"}),
    ("Hollinford", "Fernley", "secondary", {"ref": "B4702", "name": "Fernley Road"}),
    ("Fernley", "Ridgeway Cross", "tertiary", {"name": "Ridge Road"}),
    ("Fernley", "Tithe Marton", "tertiary", {"name": "Marton Lane"}),
    ("Aldmere", "Nether Sarn", "tertiary", {"name": "Sarn Road"}),
    ("Nether Sarn", "Over Sarn", "unclassified", {"name": "Church Lane"}),
    ("Hollinford", "Over Sarn", "unclassified", {"name": "Sarn Lane", "lanes": "1"}),
    ("Nether Sarn", "Heronsmoor", "unclassified", {"name": "Heron Lane", "lanes": "1", "passing_places": "yes"}),
    ("Aldmere", "Heronsmoor", "unclassified", {"name": "Weir Lane"}),
    ("Aldmere", "Bramcote End", "unclassified", {"name": "Bramble Lane"}),
    ("Bramcote End", "Sallowfield", "unclassified", {"name": "Hedge Lane", "lanes": "1"}),
    ("Bramcote End", "Tithe Marton", "unclassified", {"name": "Long Lane"}),
    ("Hollinford", "Bramcote End", "tertiary", {"name": "Perry Road"}),
    ("Kilnbrook", "Larchwick", "unclassified", {"name": "Larch Lane", "lanes": "1"}),
    ("Larchwick", "Ridgeway Cross", "unclassified", {"name": "Moor Lane", "lanes": "1", "passing_places": "yes"}),
    ("Kilnbrook", "Stonehope", "unclassified", {"name": "Stone Lane"}),
    ("Stonehope", "Over Sarn", "unclassified", {"name": "Drove Lane", "lanes": "1"}),
    ("Fernley", "Kilnbrook", "unclassified", {"name": "Hollow Lane", "lanes": "1"}),
)
"""Roads between villages: from, to, highway, other tags."""

ENDS: tuple[tuple[str, str, Point, dict[str, str]], ...] = (
    ("base", "Hollinford", (52.2310, -2.9470), {"highway": "residential", "name": "Cobble Street"}),
    ("mill", "Aldmere", (52.2205, -2.9104), {"highway": "service", "name": "Mill Drive"}),
    ("orchard", "Bramcote End", (52.2489, -2.9018), {"highway": "unclassified", "name": "Perry Lane", "lanes": "1"}),
    ("hollow", "Fernley", (52.2628, -2.9675), {"highway": "unclassified", "name": "Dip Lane", "lanes": "1"}),
    ("ridge", "Ridgeway Cross", (52.2878, -2.9905), {"highway": "track", "tracktype": "grade1"}),
    ("chapel", "Over Sarn", (52.2017, -2.9648), {"highway": "unclassified", "name": "Chapel Lane", "lanes": "1"}),
    ("withy", "Nether Sarn", (52.1893, -2.9262), {"highway": "unclassified", "name": "Withy Lane", "lanes": "1"}),
    ("larch", "Larchwick", (52.2764, -3.0419), {"highway": "track", "tracktype": "grade4"}),
    ("kiln", "Kilnbrook", (52.2441, -3.0100), {"highway": "service", "name": "Kiln Drive"}),
    ("stone", "Stonehope", (52.2163, -3.0282), {"highway": "track", "tracktype": "grade1", "gate": "yes"}),
    ("heron", "Heronsmoor", (52.1781, -2.8835), {"highway": "unclassified", "name": "Pool Lane", "lanes": "1"}),
    ("bramble", "Bramcote End", (52.2344, -2.8612), {"highway": "unclassified", "name": "Corner Lane", "lanes": "1"}),
    ("tithe", "Tithe Marton", (52.2689, -2.8762), {"highway": "service", "name": "Tithe Close"}),
    ("sallow", "Sallowfield", (52.2086, -2.8407), {"highway": "service", "name": "Sallow Drive", "gate": "yes"}),
    ("quarry", "Nether Sarn", (52.1953, -3.0003), {"highway": "unclassified", "name": "Quarry Lane", "lanes": "1"}),
)
"""The way to each site: from its village to where it ends, beside the hives."""

TRACKS: tuple[tuple[Point, Point, str], ...] = (
    ((52.2764, -3.0419), (52.2760, -3.0580), "grade5"),
    ((52.2878, -2.9905), (52.2960, -3.0050), "grade3"),
    ((52.2441, -3.0100), (52.2520, -3.0260), "grade3"),
    ((52.1893, -2.9262), (52.1830, -2.9180), "grade4"),
)
"""Tracks that lead on over the hill from the end of a way."""

FARMS = ("mill", "orchard", "ridge", "kiln", "stone", "heron", "bramble", "tithe")
"""Ends of ways with a farmyard beside them."""

FORD = ("Bramcote End", "Aldmere", "Ford Lane")
"""The short way from Bramcote End to Aldmere goes through the river."""


@dataclass
class Drawing:
    """The map as it grows; points on the same spot are one node."""

    chance: random.Random = field(default_factory=lambda: random.Random(20261210))  # noqa: S311 - a repeatable drawing
    nodes: dict[Point, int] = field(default_factory=dict)
    node_tags: dict[int, dict[str, str]] = field(default_factory=dict)
    ways: list[tuple[list[int], dict[str, str]]] = field(default_factory=list)

    def node(self, point: Point, **tags: str) -> int:
        """Return the number of the node at a point, made where there is none; tags are added."""
        spot = (round(point[0], 6), round(point[1], 6))
        number = self.nodes.setdefault(spot, len(self.nodes) + 1)
        self.node_tags.setdefault(number, {}).update(tags)
        return number

    def way(self, points: list[Point], tags: dict[str, str]) -> list[int]:
        """Add a way through points and return its nodes."""
        numbers = [self.node(point) for point in points]
        self.ways.append((numbers, tags))
        return numbers

    def winding(self, start: Point, end: Point, bend: float) -> list[Point]:
        """Return points from start to end on a line that winds; `bend` is how far, as a share of its length."""
        up, along = end[0] - start[0], end[1] - start[1]
        pieces = max(3, round((abs(up) + abs(along)) / 0.003))
        sway, points = 0.0, [start]
        for piece in range(1, pieces):
            share = piece / pieces
            sway = 0.6 * sway + self.chance.uniform(-bend, bend)
            width = sway * min(1.0, 4 * share * (1 - share))
            points.append((start[0] + share * up - width * along * 0.6, start[1] + share * along + width * up * 1.6))
        return curved([*points, end])


CURVE = 4
"""Pieces of a curve from one corner of a winding line to the next."""


def curved(line: list[Point]) -> list[Point]:
    """Return a smooth curve as long as a line with corners, by the same bends, a little less far out."""

    def drawn_in(share: float) -> list[Point]:
        (up, along), (end_up, end_along) = line[0], line[-1]
        straight = [(up + n / last * (end_up - up), along + n / last * (end_along - along)) for n in range(last + 1)]
        pairs = zip(line, straight, strict=True)
        bent = [(b[0] + share * (a[0] - b[0]), b[1] + share * (a[1] - b[1])) for a, b in pairs]
        return list(smooth(bent, CURVE))

    def metres(points: list[Point]) -> float:
        return sum(apart(here, there) for here, there in pairwise(points))

    last, low, high = len(line) - 1, 0.5, 1.0
    for _ in range(20):
        middle = (low + high) / 2
        low, high = (low, middle) if metres(drawn_in(middle)) > metres(line) else (middle, high)
    return drawn_in(low)


BENDS = {"primary": 0.04, "secondary": 0.05, "tertiary": 0.07}


def drawn() -> Drawing:
    """Return the whole valley."""
    drawing = Drawing()
    for name, (kind, point) in VILLAGES.items():
        drawing.node(point)
        _streets(drawing, name, point, {"town": 4, "village": 3, "hamlet": 1}[kind])
    for start, end, highway, tags in ROADS:
        line = drawing.winding(VILLAGES[start][1], VILLAGES[end][1], BENDS.get(highway, 0.12))
        drawing.way(line, {"highway": highway, **tags})
    for _, village, end, tags in ENDS:
        kept = {key: value for key, value in tags.items() if key != "gate"}
        nodes = drawing.way(drawing.winding(VILLAGES[village][1], end, 0.12), kept)
        if "gate" in tags:
            drawing.node_tags[nodes[-1 - CURVE]]["barrier"] = "gate"
    for start, end, grade in TRACKS:
        drawing.way(drawing.winding(start, end, 0.15), {"highway": "track", "tracktype": grade})
    _ford(drawing)
    for shape in land(VILLAGES, [end for name, _, end, _ in ENDS if name in FARMS]):
        if len(shape.points) == 1:
            drawing.node(shape.points[0], **shape.tags)
        else:
            drawing.way(list(shape.points), dict(shape.tags))
    return drawing


def _streets(drawing: Drawing, village: str, middle: Point, streets: int) -> None:
    """Add a few short streets around the middle of a village, with its speed limit."""
    words = ("Church Street", "Back Lane", "Green Street", "Well Street")
    for number in range(streets):
        up, along = ((0.0022, 0.0008), (-0.0018, 0.0022), (0.0006, -0.0030), (-0.0021, -0.0016))[number]
        end = (middle[0] + up, middle[1] + along)
        bend = (middle[0] + up / 2 + 0.0003, middle[1] + along / 2)
        tags = {"highway": "residential", "maxspeed": "20 mph", "name": f"{words[number]}"}
        drawing.way([middle, bend, end], tags)
    drawing.node_tags[drawing.node(middle)] |= {"place": VILLAGES[village][0], "name": village}


def _ford(drawing: Drawing) -> None:
    start, end, name = FORD
    line = drawing.winding(VILLAGES[start][1], VILLAGES[end][1], 0.03)
    middle = len(line) // 2
    lane = {"highway": "unclassified", "name": name, "lanes": "1"}
    drawing.way(line[: middle - 1], lane)
    drawing.way(line[middle - 2 : middle + 2], lane | {"ford": "yes"})
    drawing.way(line[middle + 1 :], lane)


def write(drawing: Drawing, path: Path) -> None:
    """Write the drawing as an OpenStreetMap extract; an old file of that name is replaced."""
    path.unlink(missing_ok=True)
    writer = osmium.SimpleWriter(str(path))
    for (latitude, longitude), number in drawing.nodes.items():
        tags = drawing.node_tags[number]
        writer.add_node(mutable.Node(id=number, version=1, location=(longitude, latitude), tags=tags))
    for number, (nodes, tags) in enumerate(drawing.ways, start=1):
        once = [nodes[0], *(there for here, there in pairwise(nodes) if here != there)]
        writer.add_way(mutable.Way(id=number, version=1, nodes=once, tags=tags))
    writer.close()


if __name__ == "__main__":
    write(drawn(), Path(sys.argv[1]))
