"""Columns of the arrays that ruin and recreate reads, and the segments of its routes, compiled."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from routing.planning.running.compiled import compiled

Whole = NDArray[np.int64]
Real = NDArray[np.float64]
Dice = NDArray[np.uint64]

SERVICE, OPENS, LATEST, OUT, BACK, TASK = 0, 1, 2, 3, 5, 7
"""Columns of a client: seconds of work, earliest and latest beginning, loads out and back (two each), its task."""

FIRST, MANY, PRICE, RANK = range(4)
"""Columns of a task: its first client and how many follow each other, what leaving it out costs, its rank."""

PROFILE, EARLY, LATE, LONGEST, ROOM, TWIN = 0, 1, 2, 3, 4, 6
"""Columns of a route: its arcs, first departure, last return, longest away, room (two), if it is as the one before."""

LENGTH, SOONEST, AT_LAST, FETCHED, PEAK = 0, 1, 2, 3, 5
"""Columns of the segment before a place in a route: its seconds, then loads back, and at the most, two each."""

REST_LENGTH, REST_SOONEST, REST_AT_LAST, REST_OUT, REST_PEAK = 7, 8, 9, 10, 12
"""Columns of the segment after it."""

SEGMENT_COLUMNS = 14

HOUR = 3600


@compiled
def extend_forward(
    arcs: Whole, clients: Whole, routes: Whole, order: Whole, count: Whole, segments: Whole, route: int
) -> bool:
    """Write what comes before each place of a route; return whether its windows, load and hours can be kept."""
    profile, here, possible = routes[route, PROFILE], 0, True
    segments[route, 0, :] = 0
    segments[route, 0, SOONEST], segments[route, 0, AT_LAST] = routes[route, EARLY], routes[route, LATE]
    for at in range(count[route]):
        client = order[route, at]
        so_far = segments[route, at, LENGTH] + arcs[profile, here, client + 1]
        opens, latest = clients[client, OPENS], clients[client, LATEST]
        possible = possible and segments[route, at, SOONEST] + so_far <= latest
        wait = max(0, opens - so_far - segments[route, at, AT_LAST])
        segments[route, at + 1, LENGTH] = so_far + clients[client, SERVICE] + wait
        segments[route, at + 1, SOONEST] = max(opens - so_far, segments[route, at, SOONEST]) - wait
        segments[route, at + 1, AT_LAST] = min(latest - so_far, segments[route, at, AT_LAST])
        for each in range(2):
            out, back = clients[client, OUT + each], clients[client, BACK + each]
            fetched = segments[route, at, FETCHED + each]
            segments[route, at + 1, FETCHED + each] = fetched + back
            segments[route, at + 1, PEAK + each] = max(segments[route, at, PEAK + each] + out, fetched + max(out, back))
        here = client + 1
    end = count[route]
    home = segments[route, end, SOONEST] + segments[route, end, LENGTH] + arcs[profile, here, 0]
    for each in range(2):
        possible = possible and segments[route, end, PEAK + each] <= routes[route, ROOM + each]
    return possible and home <= routes[route, LATE]


@compiled
def extend_backward(
    arcs: Whole, clients: Whole, routes: Whole, order: Whole, count: Whole, segments: Whole, route: int
) -> int:
    """Write what comes after each place of a route; return the seconds that it is away."""
    profile, there, end = routes[route, PROFILE], 0, count[route]
    length, soonest, at_last = 0, routes[route, EARLY], routes[route, LATE]
    segments[route, end, REST_LENGTH:] = 0
    segments[route, end, REST_SOONEST], segments[route, end, REST_AT_LAST] = soonest, at_last
    for at in range(end - 1, -1, -1):
        client = order[route, at]
        on = clients[client, SERVICE] + arcs[profile, client + 1, there]
        wait = max(0, soonest - on - clients[client, LATEST])
        length = on + length + wait
        soonest = max(soonest - on, clients[client, OPENS]) - wait
        at_last = min(at_last - on, clients[client, LATEST])
        segments[route, at, REST_LENGTH], segments[route, at, REST_SOONEST] = length, soonest
        segments[route, at, REST_AT_LAST] = at_last
        for each in range(2):
            out, back = clients[client, OUT + each], clients[client, BACK + each]
            left = segments[route, at + 1, REST_OUT + each]
            segments[route, at, REST_OUT + each] = left + out
            segments[route, at, REST_PEAK + each] = max(
                max(out, back) + left, back + segments[route, at + 1, REST_PEAK + each]
            )
        there = client + 1
    if end == 0:
        return 0
    way = arcs[profile, 0, there]
    return int(way + length + max(0, soonest - way - routes[route, LATE]))


@compiled
def update_segments(
    arcs: Whole, clients: Whole, routes: Whole, order: Whole, count: Whole, segments: Whole, route: int
) -> int:
    """Write all segments of a route; return the seconds that it is away, or -1 where it is not possible."""
    possible = extend_forward(arcs, clients, routes, order, count, segments, route)
    away = extend_backward(arcs, clients, routes, order, count, segments, route)
    return away if possible and away <= routes[route, LONGEST] else -1


@compiled
def has_room(clients: Whole, routes: Whole, segments: Whole, route: int, at: int, client: int) -> bool:
    """Return whether the load stays within the room when a client comes in at a place."""
    for each in range(2):
        out, back = clients[client, OUT + each], clients[client, BACK + each]
        fetched, left = segments[route, at, FETCHED + each], segments[route, at, REST_OUT + each]
        peak = max(segments[route, at, PEAK + each] + out + left, fetched + max(out, back) + left)
        if max(peak, fetched + back + segments[route, at, REST_PEAK + each]) > routes[route, ROOM + each]:
            return False
    return True


@compiled
def slack_of(arcs: Whole, routes: Whole, order: Whole, count: Whole, segments: Whole, away: Whole, route: int) -> int:
    """Return by how many seconds a route could begin later or take longer; 0 where it stays at home."""
    end = count[route]
    if end == 0:
        return 0
    home = segments[route, end, LENGTH] + arcs[routes[route, PROFILE], order[route, end - 1] + 1, 0]
    latest = min(segments[route, end, AT_LAST], routes[route, LATE] - home)
    return int(min(latest - segments[route, end, SOONEST], routes[route, LONGEST] - away[route]))


@compiled
def squared(slack: int, worth: float) -> float:
    """Return what a route's slack is worth: the square of its hours, times the worth of one."""
    return worth * (slack / HOUR) ** 2
