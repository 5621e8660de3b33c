"""Shores made of several lines: lakes and broad rivers that a road map holds as relations of water.

Each line of such a shore bars a walk by itself, whole ring or not: so rings need not be put together, and a lake that
was cut at the map's edge bars as far as its shore is in the map. Shores of islands bar as well.
Source: wiki.openstreetmap.org, Relation:multipolygon, Tag:natural=water.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import osmium
from osmium.filter import IdFilter, KeyFilter
from osmium.osm import NODE, RELATION, WAY, Node, Relation, Way

from routing.farm.on_disk import as_named
from routing.travel.roads.may_stop import BAR_TAGS, bar

Point = tuple[int, int, int]
"""A point's number, and its latitude and longitude in ten-millionths of a degree."""

MOST_NUMBER = 1 << 40
"""The reader's filter takes no number below zero, and memory as its greatest: others are no shore that can be read."""


@dataclass(frozen=True)
class Shore:
    """One line of a shore, with the tags of the water."""

    tags: dict[str, str]
    points: tuple[Point, ...]


def shores(path: Path) -> Iterator[Shore]:
    """Yield the lines of all shores that are made of several, each up to its gaps where points are not in the map.

    The map is read three times, each time of one sort of thing only, and not at all again where no shore is such.
    Raises RuntimeError where it cannot be read.
    """
    name = str(as_named(path))  # never taken for an address
    tags = _members(name)
    if not tags:
        return
    lines = {
        way.id: [point.ref for point in way.nodes]
        for way in osmium.FileProcessor(name, WAY).with_filter(IdFilter(list(tags)))
        if isinstance(way, Way)
    }
    wanted = {number for line in lines.values() for number in line if 0 < number < MOST_NUMBER}
    spots = {
        node.id: (node.location.y, node.location.x)
        for node in osmium.FileProcessor(name, NODE).with_filter(IdFilter(list(wanted)))
        if isinstance(node, Node) and node.location.valid()
    }
    for way, line in lines.items():
        for points in _unbroken(line, spots):
            yield Shore(tags[way], points)


def _members(name: str) -> dict[int, dict[str, str]]:
    """Return the tags of the water that each line is a shore of."""
    found: dict[int, dict[str, str]] = {}
    for relation in osmium.FileProcessor(name, RELATION).with_filter(KeyFilter("natural", "water", "waterway")):
        if not isinstance(relation, Relation) or relation.tags.get("type") != "multipolygon":
            continue
        tags = {key: relation.tags[key] for key in BAR_TAGS if key in relation.tags}
        for member in relation.members if bar(tags) else ():
            if member.type == "w" and 0 < member.ref < MOST_NUMBER:
                found.setdefault(member.ref, tags)
    return found


def _unbroken(line: list[int], spots: Mapping[int, tuple[int, int]]) -> Iterator[tuple[Point, ...]]:
    """Yield the parts of a line between points that are not in the map."""
    part: list[Point] = []
    for number in (*line, None):
        if number is not None and number in spots:
            part.append((number, *spots[number]))
            continue
        if len(part) > 1:
            yield tuple(part)
        part = []
