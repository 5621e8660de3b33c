"""Greedy insertion with blinks: each absent task goes where it costs least, compiled."""

from __future__ import annotations

from routing.planning.heuristics.ruin_segments import (
    AT_LAST,
    FIRST,
    LATEST,
    LENGTH,
    LONGEST,
    MANY,
    OPENS,
    PRICE,
    PROFILE,
    REST_AT_LAST,
    REST_LENGTH,
    REST_SOONEST,
    SERVICE,
    SOONEST,
    TWIN,
    Dice,
    Whole,
    has_room,
    slack_of,
    squared,
    update_segments,
)
from routing.planning.heuristics.ruin_sort import chance
from routing.planning.model.frame import NO_WAY
from routing.planning.running.compiled import compiled


@compiled
def cheapest_position(
    arcs: Whole,
    clients: Whole,
    routes: Whole,
    order: Whole,
    count: Whole,
    segments: Whole,
    away: Whole,
    dice: Dice,
    blink_rate: float,
    route: int,
    client: int,
    least: float,
    slack: float,
    toll: float,
) -> tuple[float, int]:
    """Return the least under `least` that a client costs a route, and where; -1 where there is no such.

    It costs `toll` times the extra seconds away, and what the slack loses of its worth, `slack` for an hour. A place
    is overlooked (a blink) with the chance `blink_rate`, which keeps the search from coming back to the same routes.
    """
    profile, there, found, end = routes[route, PROFILE], 0, -1, count[route]
    opens, latest, service = clients[client, OPENS], clients[client, LATEST], clients[client, SERVICE]
    counted = slack > 0 and end > 0
    before = squared(slack_of(arcs, routes, order, count, segments, away, route), slack) if counted else 0.0
    for at in range(end + 1):
        here = there
        there = 0 if at == end else order[route, at] + 1
        way, on = arcs[profile, here, client + 1], arcs[profile, client + 1, there]
        if way >= NO_WAY or on >= NO_WAY:
            continue
        so_far = segments[route, at, LENGTH] + way
        soonest, at_last = segments[route, at, SOONEST], segments[route, at, AT_LAST]
        if soonest + so_far > latest:
            break  # and later in the route it would be later still
        wait = max(0, opens - so_far - at_last)
        soonest = max(opens - so_far, soonest) - wait
        at_last = min(latest - so_far, at_last)
        so_far += service + wait + on
        if soonest + so_far > segments[route, at, REST_AT_LAST]:
            continue
        rest_soonest = segments[route, at, REST_SOONEST] - so_far
        wait = max(0, rest_soonest - at_last)
        length = so_far + segments[route, at, REST_LENGTH] + wait
        cost = toll * (length - away[route])
        if length > routes[route, LONGEST]:
            continue
        if counted:
            left = min(at_last, segments[route, at, REST_AT_LAST] - so_far) - max(soonest, rest_soonest) + wait
            cost += before - squared(min(left, routes[route, LONGEST] - length), slack)
        if cost >= least:
            continue
        if has_room(clients, routes, segments, route, at, client) and chance(dice) >= blink_rate:
            least, found = cost, at
    return least, found


@compiled
def greedy_insertion(
    arcs: Whole, clients: Whole, tasks: Whole, routes: Whole, order: Whole, count: Whole, route_of: Whole,
    segments: Whole, away: Whole, dice: Dice, blink_rate: float, task: int, among: Whole, many: int, slack: float,
    toll: float,
) -> int:  # fmt: skip
    """Put a task where it costs least in the first `many` routes of `among`, if for less than its price.

    Return the route, or -1.
    """
    least, best, place, taken = float(tasks[task, PRICE]), -1, -1, -1
    for client in range(tasks[task, FIRST], tasks[task, FIRST] + tasks[task, MANY]):
        for number in range(many):
            route = among[number]
            if count[route] == 0 and routes[route, TWIN] and count[route - 1] == 0:
                continue  # as good as the one before
            least, at = cheapest_position(
                arcs, clients, routes, order, count, segments, away, dice, blink_rate, route, client, least, slack, toll
            )  # fmt: skip
            if at >= 0:
                best, place, taken = route, at, client
    if best >= 0:
        for at in range(count[best], place, -1):
            order[best, at] = order[best, at - 1]
        order[best, place] = taken
        count[best] += 1
        route_of[task] = best
        away[best] = update_segments(arcs, clients, routes, order, count, segments, best)
    return best
