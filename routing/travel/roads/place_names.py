"""The names in a road map that a place is found by: towns to farms, streets and lanes, hills and landmarks.

Read once from the extract and kept in the cache folder, a line each, under the digest of the map's content.
Source of the keys: OpenStreetMap wiki, Map features (place, highway, landuse, natural, historic, amenity).
"""

from __future__ import annotations

import hashlib
import json
import logging
from collections import defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import IO

import osmium
from osmium.filter import KeyFilter
from osmium.osm import Area, Node, TagList, Way

from routing.errors import RoadError
from routing.farm.faults import quoted
from routing.farm.models import Place
from routing.farm.on_disk import as_named
from routing.farm.plain_files import open_plain
from routing.travel.named import Named
from routing.travel.roads.cache import DamagedError, cache_folder, read_kept, write_kept
from routing.travel.roads.extract import TEN_MILLION, shown

LAYOUT = 1
"""Raised whenever what is read from the same map changes."""
SAME_STREET = 200_000
"""Parts of a street of one name that lie within so many ten-millionths of a degree (about 2 km) are one."""
LONGEST = 120
"""Characters of a name."""
_KINDS = {
    "place": {
        "city": "city", "town": "town", "village": "village", "hamlet": "hamlet", "suburb": "suburb", "farm": "farm",
        "isolated_dwelling": "house", "locality": "locality", "neighbourhood": "neighbourhood",
    },
    "landuse": {"farmyard": "farm", "orchard": "orchard", "farmland": "field", "meadow": "meadow", "forest": "wood"},
    "building": {"farm": "farm", "farm_auxiliary": "farm", "barn": "barn"},
    "natural": {"peak": "hill", "wood": "wood", "hill": "hill", "heath": "heath", "water": "water"},
    "amenity": {"place_of_worship": "church", "pub": "inn", "school": "school"},
    "historic": {"manor": "house", "castle": "castle", "farm": "farm"},
    "railway": {"station": "station"},
}  # fmt: skip
_NO_STREETS = {"motorway_link", "trunk_link", "bus_stop", "platform", "proposed", "construction", "crossing"}


def place_names(path: Path) -> tuple[Named, ...]:
    """Return the names of a road map. Raises RoadError where it cannot be read."""
    purpose = f"names-{LAYOUT}-{_content(path)}"
    kept = cache_folder() / "names" / hashlib.sha256(purpose.encode()).hexdigest()[:32]
    try:
        found = read_kept(kept, purpose, _lines)
    except DamagedError:
        found = None
    if found is None:
        found = tuple(_read(path))
        names = found
        try:
            write_kept(kept, purpose, lambda file: file.write(_text(names)))
        except OSError as error:  # it is read again the next time
            logging.getLogger(__name__).debug("the names of %s are not kept: %s", path.name, error)
    return found


def _content(path: Path) -> str:
    try:
        with open_plain(path) as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise RoadError(f"road map {quoted(path.name)} cannot be opened: {error.strerror or error}") from error


def _lines(file: IO[bytes]) -> tuple[Named, ...]:
    try:
        told = [json.loads(line) for line in file]
        return tuple(Named(name, kind, Place(latitude=north, longitude=east)) for name, kind, north, east in told)
    except (ValueError, TypeError) as error:
        raise DamagedError(str(error)) from error


def _text(names: Iterable[Named]) -> bytes:
    rows = ([one.name, one.kind, one.place.latitude, one.place.longitude] for one in names)
    return "".join(json.dumps(row, ensure_ascii=False) + "\n" for row in rows).encode()


def _read(path: Path) -> Iterator[Named]:
    """Yield every name of the map; of what is drawn as an area, the middle of its points."""
    streets: dict[str, list[tuple[int, int]]] = defaultdict(list)
    seen: set[tuple[str, str, int, int]] = set()
    try:
        reader = osmium.FileProcessor(str(as_named(path))).with_locations().with_areas(KeyFilter("name"))
        for thing in reader.with_filter(KeyFilter("name")):
            if not isinstance(thing, Node | Way | Area):
                continue
            name = shown(thing.tags.get("name") or "").strip()[:LONGEST]
            point = _point(thing)
            if not name or point is None:
                continue
            kind = _kind(thing.tags)
            if isinstance(thing, Way) and not kind and thing.tags.get("highway", "") not in {"", *_NO_STREETS}:
                streets[name].append(point)
                continue
            key = (name, kind, round(point[0] / SAME_STREET * 20), round(point[1] / SAME_STREET * 20))
            if kind and key not in seen:
                seen.add(key)
                yield _named(name, kind, point)
    except (RuntimeError, OSError, ValueError, IndexError, OverflowError, osmium.InvalidLocationError) as error:
        raise RoadError(f"road map {quoted(path.name)} cannot be read: {quoted(str(error))[1:-1]}") from error
    for name, points in streets.items():
        for point in _apart(points):
            yield _named(name, "street", point)


def _named(name: str, kind: str, point: tuple[int, int]) -> Named:
    place = Place(latitude=round(point[0] / TEN_MILLION, 6), longitude=round(point[1] / TEN_MILLION, 6))
    return Named(name, kind, place)


def _kind(tags: TagList) -> str:
    return next((kinds[tags[key]] for key, kinds in _KINDS.items() if key in tags and tags[key] in kinds), "")


def _point(thing: Node | Way | Area) -> tuple[int, int] | None:
    """Return where a thing is, in ten-millionths of a degree; None where its points are not in the map."""
    if isinstance(thing, Node):
        return (thing.location.y, thing.location.x) if thing.location.valid() else None
    if isinstance(thing, Way):
        points = [(node.location.y, node.location.x) for node in thing.nodes if node.location.valid()]
        return points[len(points) // 2] if points else None
    ring = next(iter(thing.outer_rings()), None)
    corners = [(node.location.y, node.location.x) for node in ring or () if node.location.valid()]
    if not corners:
        return None
    return sum(north for north, _ in corners) // len(corners), sum(east for _, east in corners) // len(corners)


def _apart(points: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return one point of each group that lies together."""
    found: list[tuple[int, int]] = []
    for north, east in points:
        if all(abs(north - other[0]) > SAME_STREET or abs(east - other[1]) > SAME_STREET for other in found):
            found.append((north, east))
    return found
