"""Drive minutes that the farmer knows take the place of estimates.

networkx is imported here at the top, so import this module only where legs are made.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from routing.farm.models import KnownDrive
from routing.travel.leg_origin import LegOrigin
from routing.travel.legs import UNREACHABLE, Legs


def with_known_drives(legs: Legs, drives: Sequence[KnownDrive]) -> Legs:
    """Return the legs with known drives in place, and with pairs that a chain of them joins sooner than estimated.

    A known drive holds both ways unless the way back has a row of its own; of two rows for one way the later holds; a
    row from a place to itself says nothing. Its metres stay those of the legs.

    A pair without a row gets the quickest chain of known drives only where that is quicker than the leg it
    had (so drives known from base alone never force a drive between sites through base) or where it had none; its
    metres are then those of the chain. What no drive joins stays `UNREACHABLE`.

    Raises ValueError for a drive that names a place which is not in the legs.
    """
    known = _known_seconds(legs, drives)
    if not known:
        return legs
    seconds, metres = legs.seconds.copy(), legs.metres.copy()
    origins = [list(row) for row in legs.origins]
    for (i, j), drive_seconds in known.items():
        seconds[i, j] = drive_seconds
        origins[i][j] = LegOrigin.KNOWN
        if metres[i, j] == UNREACHABLE:
            metres[i, j] = _metres_for(drive_seconds, legs)
    _join(known, seconds, metres, origins)
    known_origins = tuple(tuple(row) for row in origins)
    return replace(legs, seconds=seconds, metres=metres, origins=known_origins)


def _known_seconds(legs: Legs, drives: Sequence[KnownDrive]) -> dict[tuple[int, int], int]:
    """Return the known seconds for each ordered pair of places, both ways filled in."""
    indices = {place: index for index, place in enumerate(legs.places)}
    for place in (place for drive in drives for place in (drive.start, drive.end)):
        if place not in indices:
            raise ValueError(f"a known drive names {place!r}, which is none of the places")
    rows = [(indices[drive.start], indices[drive.end], drive) for drive in drives]
    there = {(i, j): math.ceil(round(drive.minutes * 60, 6)) for i, j, drive in rows if i != j}
    back = {(j, i): seconds for (i, j), seconds in there.items()}
    return back | there


def _join(
    known: Mapping[tuple[int, int], int],
    seconds: NDArray[np.int64],
    metres: NDArray[np.int64],
    origins: list[list[LegOrigin]],
) -> None:
    """Put chains of known drives where they are quicker; changes the three matrices given."""
    graph = nx.DiGraph()
    graph.add_weighted_edges_from((i, j, drive_seconds) for (i, j), drive_seconds in known.items())
    for start in sorted(graph):
        if graph.out_degree(start) == len(graph) - 1:
            continue
        totals, chains = nx.single_source_dijkstra(graph, start)
        for end, total in totals.items():
            if end == start or (start, end) in known:
                continue
            if seconds[start, end] == UNREACHABLE or total < seconds[start, end]:
                seconds[start, end] = total
                metres[start, end] = sum(int(metres[i, j]) for i, j in nx.utils.pairwise(chains[end]))
                origins[start][end] = LegOrigin.KNOWN_VIA


def _metres_for(drive_seconds: int, legs: Legs) -> int:
    """Return metres for a drive whose distance nobody knows: at the average speed of all other legs."""
    reachable = (legs.seconds > 0) & (legs.metres > 0)
    total_seconds = int(legs.seconds[reachable].sum())
    return drive_seconds * int(legs.metres[reachable].sum()) // total_seconds if total_seconds else 0
