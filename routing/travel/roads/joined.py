"""Which roads are joined: from each of them a vehicle can drive to every other one and back.

A road that it can only enter, or that nothing joins because it is on an island or the map ends there, is no place to
stop: there is no way home. Forbidden turns are not looked at.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import Drives, RoadRules
from routing.travel import roads
from routing.travel.roads.extract import Extract
from routing.travel.roads.tags import Crossing, crossing, passage

Ints = NDArray[np.int64]

NOT_DRIVEN, ON_ITS_OWN = -1, -2


def joined(extract: Extract, drives: Drives, rules: RoadRules) -> NDArray[np.int32]:
    """Return for each point of the map's ways which group of joined roads the piece that begins there belongs to.

    0 is the largest group. `ON_ITS_OWN` are pieces that lead from one group to another one way only, `NOT_DRIVEN` those
    that the vehicle may not use, and the last point of each way.
    """
    found = np.full(len(extract.nodes), NOT_DRIVEN, dtype=np.int32)
    first, last, one_way = _stretches(extract, drives, rules)
    nodes = np.asarray(extract.nodes, dtype=np.int64)
    starts, ends = nodes[first], nodes[last]
    shut = np.isin(nodes, [node for node, tags in extract.crossings.items() if crossing(tags, drives) is Crossing.SHUT])
    starts = np.where(shut[first], -2 * first - 1, starts)  # what is shut ends a road on either side
    ends = np.where(shut[last], -2 * last - 2, ends)
    edges = [
        edge
        for along, back, ways in ((starts, ends, one_way >= 0), (ends, starts, one_way <= 0))
        for edge in zip(along[ways].tolist(), back[ways].tolist(), strict=True)
    ]
    groups = roads.graphs.strong_components(edges)
    group_of = {node: number for number, group in enumerate(groups) for node in group}
    of_start = np.array([group_of[node] for node in starts.tolist()], dtype=np.int32)
    of_end = np.array([group_of[node] for node in ends.tolist()], dtype=np.int32)
    of = np.where(of_start == of_end, of_start, ON_ITS_OWN)
    sizes = last - first
    at = np.arange(sizes.sum()) - np.repeat(np.cumsum(sizes) - sizes, sizes) + np.repeat(first, sizes)
    found[at] = np.repeat(of, sizes)
    return found


def _stretches(extract: Extract, drives: Drives, rules: RoadRules) -> tuple[Ints, Ints, Ints]:
    """Return first and last point of each stretch between crossroads that a vehicle may use.

    The third column is 1 where it is driven from first to last only, -1 the other way only, 0 both ways.
    """
    ways = [passage(tags, drives, rules) for tags in extract.tags]
    direction = np.array([{"yes": 1, "-1": -1}.get(way.oneway, 0) if way else 0 for way in ways], dtype=np.int64)
    driven = np.array([way is not None for way in ways], dtype=bool)
    starts = np.asarray(extract.starts, dtype=np.int64)
    way_of = np.repeat(np.arange(len(ways)), np.diff(starts))
    nodes, counts = np.unique(np.asarray(extract.nodes, dtype=np.int64), return_counts=True)
    cut = np.isin(np.asarray(extract.nodes, dtype=np.int64), [*nodes[counts > 1].tolist(), *extract.crossings])
    cut[starts[:-1]] = cut[starts[1:] - 1] = True
    points = np.flatnonzero(cut & driven[way_of])
    same = way_of[points[:-1]] == way_of[points[1:]]
    first, last = points[:-1][same], points[1:][same]
    return first, last, direction[way_of[first]]
