"""The quickest ways from base to each place and home again, by whatever places lie on the way."""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Iterable, Mapping

from routing.check.ground import Ground
from routing.farm.models import BASE, Crew

Ways = Mapping[str, list[tuple[str, int]]]
"""From each place, the places that can be driven to and the seconds."""


def quickest(crew: Crew, ground: Ground) -> tuple[dict[str, int], dict[str, int]]:
    """Return the fewest seconds from base to each place and from each place home; what cannot be reached is missing."""
    known = ground.ways.get(crew.vehicle)
    if known is None:
        legs = ground.legs[crew.vehicle]
        out = _ways((start, end, leg.seconds) for (start, end), leg in legs.items())
        back = _ways((end, start, leg.seconds) for (start, end), leg in legs.items())
        known = ground.ways[crew.vehicle] = (_from_base(out), _from_base(back))
    return known


def _ways(drives: Iterable[tuple[str, str, int]]) -> Ways:
    found: dict[str, list[tuple[str, int]]] = defaultdict(list)
    for start, end, seconds in drives:
        found[start].append((end, seconds))
    return found


def _from_base(ways: Ways) -> dict[str, int]:
    """Source: E. W. Dijkstra, A note on two problems in connexion with graphs, Numerische Mathematik 1, 1959."""
    best: dict[str, int] = {}
    queue = [(0, BASE)]
    while queue:
        seconds, place = heapq.heappop(queue)
        if place in best:
            continue
        best[place] = seconds
        for end, more in ways.get(place, ()):
            if end not in best:
                heapq.heappush(queue, (seconds + more, end))
    return best
