"""The road map as one sort of vehicle sees it, written for the engine's tile builder.

What the vehicle may not use is not written at all, and every way carries the speed it is planned with as its posted
limit. So a shut ford or track cannot be driven by any setting of the engine.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import osmium
from osmium.osm import mutable

from routing.farm.models import Drives, RoadRules
from routing.travel.roads.extract import TEN_MILLION, Extract
from routing.travel.roads.tags import Crossing, Passage, crossing, passage


def write_vehicle_map(extract: Extract, drives: Drives, rules: RoadRules, path: Path) -> int:
    """Write what this sort of vehicle may use to a new `.osm.pbf` and return how many ways that is."""
    used = [(index, way) for index, tags in enumerate(extract.tags) if (way := passage(tags, drives, rules))]
    writer = osmium.SimpleWriter(str(path))
    try:
        _write_nodes(writer, extract, [index for index, _ in used], drives)
        for index, way in used:
            refs = extract.nodes[extract.starts[index] : extract.starts[index + 1]]
            writer.add_way(mutable.Way(id=extract.ways[index], version=1, nodes=list(refs), tags=_way_tags(way)))
        kept = {extract.ways[index] for index, _ in used}
        for rule in extract.restrictions:
            if all(kind != "w" or ref in kept for kind, ref, _ in rule.members):
                writer.add_relation(mutable.Relation(id=rule.id, version=1, members=list(rule.members), tags=rule.tags))
    finally:
        writer.close()
    return len(used)


def _write_nodes(writer: osmium.SimpleWriter, extract: Extract, used: list[int], drives: Drives) -> None:
    starts = np.asarray(extract.starts, dtype=np.int64)
    kept = np.zeros(len(extract.nodes), dtype=bool)
    for index in used:
        kept[starts[index] : starts[index + 1]] = True
    ids, first = np.unique(np.asarray(extract.nodes, dtype=np.int64)[kept], return_index=True)
    latitudes = np.asarray(extract.latitudes)[kept][first] / TEN_MILLION
    longitudes = np.asarray(extract.longitudes)[kept][first] / TEN_MILLION
    for node, latitude, longitude in zip(ids.tolist(), latitudes.tolist(), longitudes.tolist(), strict=True):
        tags = _node_tags(extract.crossings.get(node), drives)
        writer.add_node(mutable.Node(id=node, version=1, location=(longitude, latitude), tags=tags))


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
