"""The road map as one sort of vehicle sees it, written for the engine's tile builder.

What the vehicle may not use is not written at all, and every way carries the speed it is planned with as its posted
limit. So a shut ford or track cannot be driven by any setting of the engine.
"""

from __future__ import annotations

import shutil
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import osmium
from numpy.typing import NDArray
from osmium.osm import mutable

from routing.farm.models import Drives, RoadRules
from routing.farm.on_disk import as_named
from routing.travel.roads.cache import full_disk
from routing.travel.roads.extract import TEN_MILLION, Extract, Member
from routing.travel.roads.tags import Crossing, Passage, crossing, passage

_ROOM_BYTES = 1 << 20
"""The writer does not say why it failed: with less room than this left, the disk is full."""


def write_vehicle_map(extract: Extract, drives: Drives, rules: RoadRules, path: Path) -> int:
    """Write what this sort of vehicle may use to a new `.osm.pbf` and return how many ways that is."""
    used = [(index, way) for index, tags in enumerate(extract.tags) if (way := passage(tags, drives, rules))]
    try:
        _write(extract, used, drives, path)
    except RuntimeError as error:
        raise full_disk() if shutil.disk_usage(path.parent).free < _ROOM_BYTES else OSError(0, str(error)) from error
    return len(used)


def _write(extract: Extract, used: Sequence[tuple[int, Passage]], drives: Drives, path: Path) -> None:
    """Write the map with numbers of our own: the tile builder takes neither huge ones nor ways out of order."""
    starts = np.asarray(extract.starts, dtype=np.int64)
    kept = np.zeros(len(extract.nodes), dtype=bool)
    for index, _ in used:
        kept[starts[index] : starts[index + 1]] = True
    nodes = np.unique(np.asarray(extract.nodes, dtype=np.int64)[kept])
    ways = {extract.ways[index]: number for number, (index, _) in enumerate(used, start=1)}
    writer = osmium.SimpleWriter(str(as_named(path)))  # never taken for an address
    try:
        _write_nodes(writer, extract, nodes, kept, drives)
        for number, (index, way) in enumerate(used, start=1):
            refs = np.searchsorted(nodes, extract.nodes[starts[index] : starts[index + 1]]) + 1
            writer.add_way(mutable.Way(id=number, version=1, nodes=refs.tolist(), tags=_way_tags(way)))
        for number, rule in enumerate(extract.restrictions, start=1):
            known = (_renumbered(member, ways, nodes) for member in rule.members)
            members = [member for member in known if member]
            if len(members) == len(rule.members):
                writer.add_relation(mutable.Relation(id=number, version=1, members=members, tags=rule.tags))
    finally:
        writer.close()


def _renumbered(member: Member, ways: Mapping[int, int], nodes: NDArray[np.int64]) -> Member | None:
    """Return the member of a turn restriction with its number here, None where it is not in the vehicle's map."""
    kind, ref, role = member
    if kind == "w":
        return (kind, ways[ref], role) if ref in ways else None
    place = int(np.searchsorted(nodes, ref))
    known = kind == "n" and place < len(nodes) and nodes[place] == ref
    return (kind, place + 1, role) if known else None


def _write_nodes(
    writer: osmium.SimpleWriter, extract: Extract, nodes: NDArray[np.int64], kept: NDArray[np.bool_], drives: Drives
) -> None:
    first = np.unique(np.asarray(extract.nodes, dtype=np.int64)[kept], return_index=True)[1]
    latitudes = np.asarray(extract.latitudes)[kept][first] / TEN_MILLION
    longitudes = np.asarray(extract.longitudes)[kept][first] / TEN_MILLION
    columns = zip(nodes.tolist(), latitudes.tolist(), longitudes.tolist(), strict=True)
    for number, (node, latitude, longitude) in enumerate(columns, start=1):
        tags = _node_tags(extract.crossings.get(node), drives)
        writer.add_node(mutable.Node(id=number, version=1, location=(longitude, latitude), tags=tags))


def _node_tags(tags: dict[str, str] | None, drives: Drives) -> dict[str, str]:
    if tags is None:
        return {}
    met = crossing(tags, drives)
    if met is Crossing.SHUT:
        return {"barrier": "block", "access": "no"}
    return {"barrier": "gate"} if met is Crossing.GATE else {}


def _way_tags(way: Passage) -> dict[str, str]:
    tags = {"highway": way.highway, "maxspeed": str(way.kmh)}
    tags |= {key: value for key, value in (("oneway", way.oneway), ("name", way.name), ("ref", way.ref)) if value}
    return tags | ({"access": "destination"} if way.by_leave else {})
