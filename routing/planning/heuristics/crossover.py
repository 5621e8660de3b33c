"""Crossover of two orders: whole routes of both put together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from routing.planning.heuristics.population import Genes
from routing.planning.heuristics.pyvrp_model import BASE, clients_in


def crossover(
    one: Genes,
    other: Genes,
    near: Sequence[int],
    many: int,
    room: Sequence[int],
    group: Sequence[int],
    able: Sequence[frozenset[int]],
) -> Genes:
    """Return `many` routes of one parent, those that serve the clients which come first in `near`, and what then fits.

    Of the other parent come the routes that lose the least to them, without what is already served. `room` is how many
    routes of each kind there may be, and `able` what clients those may serve; where there is no more room, another kind
    that may serve them takes the route. Of clients of one `group` one is served.
    """
    route_of = {client: number for number, (_, stops) in enumerate(one) for client in clients_in(stops)}
    kept = list(dict.fromkeys(route_of[client] for client in near if client in route_of))[:many]
    found = [one[number] for number in kept]
    taken = {group[client] for _, stops in found for client in clients_in(stops)}
    left = list(room)
    for kind, _ in found:
        left[kind] -= 1
    rest = [(len(stops), kind, _without(stops, taken, group)) for kind, stops in other]
    for _, own, stops in sorted(rest, key=lambda each: len(each[2]) / each[0], reverse=True):
        kinds = (kind for kind in (own, *range(len(left))) if left[kind] > 0 and able[kind].issuperset(stops))
        taking = next(kinds, None) if stops else None
        if taking is not None:
            left[taking] -= 1
            found.append((taking, stops))
    return tuple(found)


def _without(stops: Iterable[int], taken: set[int], group: Sequence[int]) -> tuple[int, ...]:
    """Return the stops that are not taken, BASE only between two of them."""
    found: list[int] = []
    for stop in stops:
        if stop == BASE:
            if found and found[-1] != BASE:
                found.append(BASE)
        elif group[stop] not in taken:
            found.append(stop)
    return tuple(found[:-1] if found and found[-1] == BASE else found)
