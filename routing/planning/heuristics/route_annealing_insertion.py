"""What goes into a route again, and where: each task where it costs least, compiled."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from routing.planning.heuristics.ruin_segments import (
    AT_LAST,
    FIRST,
    LATEST,
    LENGTH,
    LONGEST,
    MANY,
    OPENS,
    REST_AT_LAST,
    REST_LENGTH,
    REST_SOONEST,
    SERVICE,
    SOONEST,
    Dice,
    Real,
    Whole,
    has_room,
    update_segments,
)
from routing.planning.heuristics.ruin_sort import chance
from routing.planning.model.frame import NO_WAY
from routing.planning.running.compiled import compiled

Flags = NDArray[np.bool_]

KINDS_OF_SORT = 4
"""Tasks go in by chance, by worth, or half the time by worth, or its square, for what they cost."""

LEAST_NOISE, MORE_NOISE = 0.2, 1.5
"""A key is made larger by chance, by up to the first and up to the second more."""


@compiled
def least_place(
    arcs: Whole, clients: Whole, routes: Whole, order: Whole, count: Whole, segments: Whole, tolls: Whole, dice: Dice,
    length: int, client: int, blink: float,
) -> tuple[int, int]:  # fmt: skip
    """Return what a client costs where it costs least, and the place, -1 where there is none.

    It costs the extra seconds away, or by the tolls, where there are any; a place is overlooked at times.
    """
    least, found, there, end = NO_WAY, -1, 0, count[0]
    opens, latest, service = clients[client, OPENS], clients[client, LATEST], clients[client, SERVICE]
    for at in range(end + 1):
        here = there
        there = 0 if at == end else order[0, at] + 1
        way, on = arcs[0, here, client + 1], arcs[0, client + 1, there]
        if way >= NO_WAY or on >= NO_WAY:
            continue
        so_far = segments[0, at, LENGTH] + way
        soonest, at_last = segments[0, at, SOONEST], segments[0, at, AT_LAST]
        if soonest + so_far > latest:
            break
        wait = max(0, opens - so_far - at_last)
        soonest = max(opens - so_far, soonest) - wait
        at_last = min(latest - so_far, at_last)
        so_far += service + wait + on
        if soonest + so_far > segments[0, at, REST_AT_LAST]:
            continue
        more = so_far + segments[0, at, REST_LENGTH] + max(0, segments[0, at, REST_SOONEST] - so_far - at_last)
        if more > routes[0, LONGEST]:
            continue
        cost = more - length
        if len(tolls):
            cost = tolls[here, client + 1] + tolls[client + 1, there] - tolls[here, there]
        if cost < least and chance(dice) >= blink and has_room(clients, routes, segments, 0, at, client):
            least, found = cost, at
    return int(least), found


@compiled
def put_in(order: Whole, count: Whole, at: int, client: int) -> None:
    """Put a client at a place of the route."""
    for later in range(count[0], at, -1):
        order[0, later] = order[0, later - 1]
    order[0, at] = client
    count[0] += 1


@compiled
def least_of_task(
    arcs: Whole, clients: Whole, tasks: Whole, routes: Whole, order: Whole, count: Whole, segments: Whole,
    tolls: Whole, dice: Dice, length: int, task: int, blink: float,
) -> tuple[int, int, int]:  # fmt: skip
    """Return what a task costs where it costs least, the place, and which of its clients goes there; -1 for none."""
    least, place, taken = NO_WAY, -1, -1
    for client in range(tasks[task, FIRST], tasks[task, FIRST] + tasks[task, MANY]):
        cost, at = least_place(arcs, clients, routes, order, count, segments, tolls, dice, length, client, blink)
        if at >= 0 and cost < least:
            least, place, taken = cost, at, client
    return least, place, taken


@compiled
def absent(
    arcs: Whole, clients: Whole, tasks: Whole, routes: Whole, order: Whole, count: Whole, segments: Whole,
    tolls: Whole, inside: Flags, worth: Real, dice: Dice, length: int,
) -> Whole:  # fmt: skip
    """Return the tasks that are out, in an order drawn by chance; those that fit nowhere may be missing."""
    kind, noise = int(chance(dice) * KINDS_OF_SORT), LEAST_NOISE + MORE_NOISE * chance(dice)
    out, keys, many = np.empty(len(tasks), dtype=np.int64), np.empty(len(tasks)), 0
    for task in range(len(tasks)):
        if inside[task]:
            continue
        key = chance(dice)
        if kind > 0:
            key = -worth[task] * (1 + noise * key)
        if kind > 1:
            cost, _, taken = least_of_task(
                arcs, clients, tasks, routes, order, count, segments, tolls, dice, length, task, 0.0
            )  # fmt: skip
            if taken < 0:
                continue
            key *= (worth[task] if kind == KINDS_OF_SORT - 1 else 1.0) / max(1.0, cost)
        keys[many], out[many] = key, task
        many += 1
    return out[np.argsort(keys[:many])]


@compiled
def bring_in(
    arcs: Whole, clients: Whole, tasks: Whole, routes: Whole, order: Whole, count: Whole, segments: Whole,
    tolls: Whole, inside: Flags, uses: Whole, left: Whole, worth: Real, dice: Dice, length: int, blink: float,
) -> int:  # fmt: skip
    """Put in what fits, one task after another in an order drawn by chance; return the seconds away."""
    for task in absent(
        arcs, clients, tasks, routes, order, count, segments, tolls, inside, worth, dice, length
    ):  # fmt: skip
        if (uses[task] > left).any():
            continue
        _, place, taken = least_of_task(
            arcs, clients, tasks, routes, order, count, segments, tolls, dice, length, task, blink
        )  # fmt: skip
        if taken >= 0:
            put_in(order, count, place, taken)
            inside[task] = True
            left -= uses[task]
            length = update_segments(arcs, clients, routes, order, count, segments, 0)
    return int(length)
