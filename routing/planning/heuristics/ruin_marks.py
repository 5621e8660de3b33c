"""Columns of the arrays that ruin and recreate reads, and the marks of the stretches of its routes, compiled."""

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
"""Columns of what comes before a place in a route: the stretch, then loads back, and at the most, two each."""

REST_LENGTH, REST_SOONEST, REST_AT_LAST, REST_OUT, REST_PEAK = 7, 8, 9, 10, 12
"""Columns of what comes after it."""

MARKS = 14

HOUR = 3600


@compiled
def mark_before(
    arcs: Whole, clients: Whole, routes: Whole, order: Whole, count: Whole, marks: Whole, route: int
) -> bool:
    """Write what comes before each place of a route; return whether its windows, load and hours can be kept."""
    profile, here, possible = routes[route, PROFILE], 0, True
    marks[route, 0, :] = 0
    marks[route, 0, SOONEST], marks[route, 0, AT_LAST] = routes[route, EARLY], routes[route, LATE]
    for at in range(count[route]):
        client = order[route, at]
        so_far = marks[route, at, LENGTH] + arcs[profile, here, client + 1]
        opens, latest = clients[client, OPENS], clients[client, LATEST]
        possible = possible and marks[route, at, SOONEST] + so_far <= latest
        wait = max(0, opens - so_far - marks[route, at, AT_LAST])
        marks[route, at + 1, LENGTH] = so_far + clients[client, SERVICE] + wait
        marks[route, at + 1, SOONEST] = max(opens - so_far, marks[route, at, SOONEST]) - wait
        marks[route, at + 1, AT_LAST] = min(latest - so_far, marks[route, at, AT_LAST])
        for each in range(2):
            out, back = clients[client, OUT + each], clients[client, BACK + each]
            fetched = marks[route, at, FETCHED + each]
            marks[route, at + 1, FETCHED + each] = fetched + back
            marks[route, at + 1, PEAK + each] = max(marks[route, at, PEAK + each] + out, fetched + max(out, back))
        here = client + 1
    end = count[route]
    home = marks[route, end, SOONEST] + marks[route, end, LENGTH] + arcs[profile, here, 0]
    for each in range(2):
        possible = possible and marks[route, end, PEAK + each] <= routes[route, ROOM + each]
    return possible and home <= routes[route, LATE]


@compiled
def mark_after(arcs: Whole, clients: Whole, routes: Whole, order: Whole, count: Whole, marks: Whole, route: int) -> int:
    """Write what comes after each place of a route; return the seconds that it is away."""
    profile, there, end = routes[route, PROFILE], 0, count[route]
    length, soonest, at_last = 0, routes[route, EARLY], routes[route, LATE]
    marks[route, end, REST_LENGTH:] = 0
    marks[route, end, REST_SOONEST], marks[route, end, REST_AT_LAST] = soonest, at_last
    for at in range(end - 1, -1, -1):
        client = order[route, at]
        on = clients[client, SERVICE] + arcs[profile, client + 1, there]
        wait = max(0, soonest - on - clients[client, LATEST])
        length = on + length + wait
        soonest = max(soonest - on, clients[client, OPENS]) - wait
        at_last = min(at_last - on, clients[client, LATEST])
        marks[route, at, REST_LENGTH], marks[route, at, REST_SOONEST] = length, soonest
        marks[route, at, REST_AT_LAST] = at_last
        for each in range(2):
            out, back = clients[client, OUT + each], clients[client, BACK + each]
            left = marks[route, at + 1, REST_OUT + each]
            marks[route, at, REST_OUT + each] = left + out
            marks[route, at, REST_PEAK + each] = max(
                max(out, back) + left, back + marks[route, at + 1, REST_PEAK + each]
            )
        there = client + 1
    if end == 0:
        return 0
    way = arcs[profile, 0, there]
    return int(way + length + max(0, soonest - way - routes[route, LATE]))


@compiled
def mark(arcs: Whole, clients: Whole, routes: Whole, order: Whole, count: Whole, marks: Whole, route: int) -> int:
    """Write all marks of a route; return the seconds that it is away, or -1 where it is not possible."""
    possible = mark_before(arcs, clients, routes, order, count, marks, route)
    away = mark_after(arcs, clients, routes, order, count, marks, route)
    return away if possible and away <= routes[route, LONGEST] else -1


@compiled
def has_room(clients: Whole, routes: Whole, marks: Whole, route: int, at: int, client: int) -> bool:
    """Return whether the load stays within the room when a client comes in at a place."""
    for each in range(2):
        out, back = clients[client, OUT + each], clients[client, BACK + each]
        fetched, left = marks[route, at, FETCHED + each], marks[route, at, REST_OUT + each]
        peak = max(marks[route, at, PEAK + each] + out + left, fetched + max(out, back) + left)
        if max(peak, fetched + back + marks[route, at, REST_PEAK + each]) > routes[route, ROOM + each]:
            return False
    return True


@compiled
def slack_of(arcs: Whole, routes: Whole, order: Whole, count: Whole, marks: Whole, away: Whole, route: int) -> int:
    """Return by how many seconds a route could begin later or take longer; 0 where it stays at home."""
    end = count[route]
    if end == 0:
        return 0
    home = marks[route, end, LENGTH] + arcs[routes[route, PROFILE], order[route, end - 1] + 1, 0]
    latest = min(marks[route, end, AT_LAST], routes[route, LATE] - home)
    return int(min(latest - marks[route, end, SOONEST], routes[route, LONGEST] - away[route]))


@compiled
def squared(slack: int, worth: float) -> float:
    """Return what a route's slack is worth: the square of its hours, times the worth of one."""
    return worth * (slack / HOUR) ** 2
