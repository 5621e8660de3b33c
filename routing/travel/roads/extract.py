"""A road map read once: the ways that may be driven, what stands in the way, turn restrictions and place names.

Everything of a way but its numbers and the few tags that matter is dropped, so a county fits in memory.
"""

from __future__ import annotations

from array import array
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import osmium
from osmium.filter import KeyFilter
from osmium.osm import Node, Relation, TagList, Way

from routing.errors import RoadError
from routing.farm.faults import quoted
from routing.farm.on_disk import as_named
from routing.travel.roads.may_stop import BAR_TAGS, bar
from routing.travel.roads.shores import shores
from routing.travel.roads.tags import KEPT_NODE_TAGS, KEPT_WAY_TAGS

TEN_MILLION = 10_000_000
"""Units of coordinates in a degree, as in the OSM formats."""

PLACE_SIZES = {"city": 0, "town": 0, "village": 1, "suburb": 1, "hamlet": 2, "isolated_dwelling": 2, "locality": 2}
_KEPT_RESTRICTIONS = ("type", "restriction", "except")
_KEYS = ("highway", "barrier", "ford", "place", "restriction", "railway", "waterway", "water", "natural")
_LOOK_EVERY = 20_000
_JOINERS = "\u200c\u200d"
"""Persian, Indic scripts and many emoji cannot be spelled without them."""

Member = tuple[str, int, str]
"""Type (`n`, `w` or `r`), number and role of what a relation is made of."""

Told = Callable[[int], None]
"""Is called now and then with how many ways have been read."""


@dataclass(frozen=True)
class NamedPlace:
    """A town, village or hamlet of the map, in ten-millionths of a degree."""

    name: str
    latitude: int
    longitude: int
    size: int


@dataclass(frozen=True)
class Restriction:
    """A turn that may not be taken: tags and members as (type, id, role)."""

    id: int
    tags: dict[str, str]
    members: tuple[Member, ...]


@dataclass(frozen=True)
class Bar:
    """A railway, river or shore that no walk crosses but by a way over it; in ten-millionths of a degree."""

    tags: dict[str, str]
    nodes: tuple[int, ...]
    latitudes: tuple[int, ...]
    longitudes: tuple[int, ...]


@dataclass
class Extract:
    """What was read. Points of way i are at `starts[i]` up to `starts[i + 1]` of `nodes`, `latitudes`, `longitudes`."""

    ways: array[int] = field(default_factory=lambda: array("q"))
    tags: list[dict[str, str]] = field(default_factory=list)
    starts: array[int] = field(default_factory=lambda: array("q", [0]))
    nodes: array[int] = field(default_factory=lambda: array("q"))
    latitudes: array[int] = field(default_factory=lambda: array("i"))
    longitudes: array[int] = field(default_factory=lambda: array("i"))
    crossings: dict[int, dict[str, str]] = field(default_factory=dict)
    """Tags of nodes with a barrier or a ford."""
    restrictions: list[Restriction] = field(default_factory=list)
    bars: list[Bar] = field(default_factory=list)
    """Roads that are none to cross are among the ways."""
    places: list[NamedPlace] = field(default_factory=list)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """South, west, north and east ends of the roads, in degrees."""
        return (
            min(self.latitudes) / TEN_MILLION,
            min(self.longitudes) / TEN_MILLION,
            max(self.latitudes) / TEN_MILLION,
            max(self.longitudes) / TEN_MILLION,
        )


class _UnsavedError(Exception):
    """A road has a number below zero."""


def read_extract(path: Path, told: Told = lambda _: None) -> Extract:
    """Return what an OpenStreetMap extract (`.osm.pbf` or `.osm`) holds of roads.

    Raises RoadError where the file is missing, is not such an extract, is cut short, or has no road.
    """
    extract = Extract()
    try:
        for thing in _things(path):
            if isinstance(thing, Way):
                _add_way(extract, thing)
                if len(extract.ways) % _LOOK_EVERY == 0:
                    told(len(extract.ways))
            elif isinstance(thing, Node):
                _add_node(extract, thing)
            elif isinstance(thing, Relation):
                _add_restriction(extract, thing)
        _add_shores(extract, path)
    except (
        RuntimeError,
        OSError,
        ValueError,
        IndexError,
        OverflowError,
        MemoryError,
        osmium.InvalidLocationError,
    ) as error:
        raise RoadError(
            f"road map {quoted(path.name)} cannot be read: {quoted(str(error))[1:-1]}; it must be a whole "
            "OpenStreetMap extract (.osm.pbf): download it again. What was built from an earlier one still stands"
        ) from error
    except _UnsavedError as error:
        raise RoadError(
            f"road map {quoted(path.name)} has roads with numbers below zero, as only an editor's unsaved work has: "
            "use an OpenStreetMap extract of your county"
        ) from error
    if not extract.ways:
        raise RoadError(
            f"road map {quoted(path.name)} holds no road: it must be an OpenStreetMap extract of your county"
        )
    return extract


def _things(path: Path) -> Iterator[object]:
    """Yield what the map holds of the keys that matter.

    The path is made absolute, since the reader takes a name that begins like an address for one and runs another
    program to fetch it, and a single hyphen for its standard input.
    """
    reader = osmium.FileProcessor(str(as_named(path))).with_locations()
    yield from reader.with_filter(KeyFilter(*_KEYS))


def _add_way(extract: Extract, way: Way) -> None:
    """Keep a way up to its first gap: an extract that was cut out has ways whose farther points are not in it."""
    if "highway" not in way.tags:
        _add_bar(extract, way)
        return
    before = len(extract.nodes)
    if way.id < 0 or any(point.ref < 0 for point in way.nodes):
        raise _UnsavedError
    for point in way.nodes:
        if not point.location.valid():
            if len(extract.nodes) > before:
                break
            continue
        extract.nodes.append(point.ref)
        extract.latitudes.append(point.location.y)
        extract.longitudes.append(point.location.x)
    if len(extract.nodes) <= before + 1:  # a line has two ends
        for column in (extract.nodes, extract.latitudes, extract.longitudes):
            del column[before:]
        return
    extract.ways.append(way.id)
    extract.tags.append(_some(way.tags, KEPT_WAY_TAGS))
    extract.starts.append(len(extract.nodes))


def _add_bar(extract: Extract, way: Way) -> None:
    """Keep a line that bars walkers: of water only rivers and closed shores; others are in relations."""
    tags = _some(way.tags, BAR_TAGS)
    kind = bar(tags)
    if not kind or (kind == "water" and not way.is_closed()):
        return
    points = [(point.ref, point.location.y, point.location.x) for point in way.nodes if point.location.valid()]
    if len(points) > 1:
        nodes, latitudes, longitudes = zip(*points, strict=True)
        extract.bars.append(Bar(tags, nodes, latitudes, longitudes))


def _add_shores(extract: Extract, path: Path) -> None:
    """Add the shores made of several lines, which are no water by themselves."""
    for shore in shores(path):
        nodes, latitudes, longitudes = zip(*shore.points, strict=True)
        extract.bars.append(Bar(shore.tags, nodes, latitudes, longitudes))


def _add_node(extract: Extract, node: Node) -> None:
    if "barrier" in node.tags or "ford" in node.tags:
        extract.crossings[node.id] = _some(node.tags, KEPT_NODE_TAGS)
    size = PLACE_SIZES.get(node.tags.get("place") or "")
    name = shown(node.tags.get("name") or "")
    if size is not None and name and node.location.valid():
        extract.places.append(NamedPlace(name, node.location.y, node.location.x, size))


def _add_restriction(extract: Extract, relation: Relation) -> None:
    if relation.tags.get("type") == "restriction":
        members = tuple((member.type, member.ref, member.role) for member in relation.members)
        extract.restrictions.append(Restriction(relation.id, _some(relation.tags, _KEPT_RESTRICTIONS), members))


def _some(tags: TagList, keys: tuple[str, ...]) -> dict[str, str]:
    return {key: shown(tags[key]) for key in keys if key in tags}


def shown(text: str) -> str:
    """Return a text of the map without what acts on a screen instead of showing; anybody may write into a map."""
    return text if text.isprintable() else "".join(_fit(letter) for letter in text)


def _fit(letter: str) -> str:
    if letter in _JOINERS or letter.isprintable():
        return letter
    return " " if letter.isspace() else ""
