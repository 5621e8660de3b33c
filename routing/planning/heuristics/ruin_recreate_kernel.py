"""Ruin and recreate, compiled: strings of neighbouring stops are removed from some routes, then inserted greedily.

What is worse than before is accepted while the temperature is high (simulated annealing). Only possible routes are ever
held, so that there is nothing to mend.
Source: J. Christiaens, G. Vanden Berghe, "Slack Induction by String Removals for Vehicle Routing Problems",
Transportation Science 54 (2020), from memory, not checked. Ours: tasks may stay out at a price, and those that are out
are tried again only where the ruin was, in the routes that it changed.

Arrays are read by named columns. A stretch of a route is known by its length, and the earliest and latest beginning at
which it takes no longer, so that what a stop more adds is found without walking the route.
Source: T. Vidal, T. G. Crainic, M. Gendreau, C. Prins, "A hybrid genetic algorithm with adaptive diversity management
for a large class of vehicle routing problems with time-windows", Computers & Operations Research 40 (2013), section
4.4, from memory, not checked.
"""

from __future__ import annotations

import numpy as np

from routing.planning.heuristics.ruin_insertion import greedy_insertion
from routing.planning.heuristics.ruin_segments import PRICE, TASK, Dice, Real, Whole, slack_of, squared, update_segments
from routing.planning.heuristics.ruin_sort import chance, sort
from routing.planning.running.compiled import compiled

SPLIT_RATE = 0.5
"""Chance that a string leaves a stretch in its middle."""

KEPT_ENDS_RATE = 0.01
"""Chance at each stop that the stretch ends there."""

NOTHING_OUT = 1e12
"""More than any cost."""

GIVEN_COLUMNS = 10
(
    GIVEN_COST, GIVEN_LEAST, GIVEN_STEPS, GIVEN_SLACK, GIVEN_TOLL, GIVEN_TEMPERATURE, GIVEN_MEAN, GIVEN_LONGEST_STRING,
    GIVEN_BLINK_RATE, GIVEN_REACH,
) = range(GIVEN_COLUMNS)  # fmt: skip
"""Columns of what a search is given: the cost of the orders held and of the best, how many steps, what an hour of slack
is worth and a second away costs, the temperature, how many tasks are taken out at once on average and in one string at
the most, how often a place is passed over, and how many neighbours of a ruin are tried."""


@compiled
def remove_string(
    clients: Whole, order: Whole, count: Whole, route_of: Whole, dice: Dice, route: int, client: int, longest: float,
    absent: Whole, many: int,
) -> int:  # fmt: skip
    """Take a string of clients out of a route, one of them the client's task; return how many tasks `absent` then has.

    Half the strings leave a stretch in their middle where it is.
    """
    size, at = count[route], 0
    while clients[order[route, at], TASK] != clients[client, TASK]:
        at += 1
    removed = min(size, int(1 + chance(dice) * min(float(size), longest)))
    stays = 0
    if 1 < removed < size and chance(dice) < SPLIT_RATE:
        stays = 1
        while removed + stays < size and chance(dice) > KEPT_ENDS_RATE:
            stays += 1
    span = removed + stays
    low, high = max(0, at - span + 1), min(at, size - span)
    first = low + int(chance(dice) * (high - low + 1))
    stay = first + 1 + int(chance(dice) * (removed - 1)) if stays else first + span
    kept = 0
    for place in range(size):
        other = order[route, place]
        if place < first or place >= first + span or stay <= place < stay + stays:
            order[route, kept] = other
            kept += 1
        else:
            absent[many] = clients[other, TASK]
            route_of[absent[many]] = -1
            many += 1
    count[route] = kept
    return many


@compiled
def ruin(
    arcs: Whole, clients: Whole, routes: Whole, near: Whole, order: Whole, count: Whole, route_of: Whole,
    segments: Whole, away: Whole, dice: Dice, absent: Whole, changed: Whole, mean: float, longest_string: float,
) -> tuple[int, int, int]:  # fmt: skip
    """Remove strings from routes round one client; return how many tasks are out, routes changed, and that client."""
    used = served = 0
    for route in range(len(count)):
        served += count[route]
        used += 1 if count[route] else 0
    middle = int(chance(dice) * len(clients))
    if not used:
        return 0, 0, middle
    longest = min(longest_string, served / used)
    strings = int(1 + chance(dice) * (4 * mean / (1 + longest) - 1))
    many = changed_count = 0
    for number in range(near.shape[1]):
        client = near[middle, number]
        route = route_of[clients[client, TASK]]
        if route < 0 or holds(changed, changed_count, route):
            continue
        many = remove_string(clients, order, count, route_of, dice, route, client, longest, absent, many)
        away[route] = update_segments(arcs, clients, routes, order, count, segments, route)
        changed[changed_count] = route
        changed_count += 1
        if changed_count >= strings:
            break
    return many, changed_count, middle


@compiled
def cost_of(tasks: Whole, route_of: Whole, away: Whole) -> int:
    """Return the seconds away and the price of all tasks that are left out."""
    total = int(away.sum())
    for task in range(len(tasks)):
        if route_of[task] < 0:
            total += int(tasks[task, PRICE])
    return total


@compiled
def acceptance_cost(
    arcs: Whole, routes: Whole, order: Whole, count: Whole, route_of: Whole, segments: Whole, away: Whole, true: int,
    slack: float, toll: float,
) -> float:  # fmt: skip
    """Return the cost by which orders are accepted or not: seconds away times `toll`, and less for slack.

    An hour left in one day holds another visit, two half hours in two days do not. `true` is the cost without that,
    and it counts, far under all others, as soon as nothing is out.
    """
    total = float(true)
    if not (route_of < 0).any():
        return total - NOTHING_OUT
    for route in range(len(routes)):
        total -= (1 - toll) * away[route]
        total -= squared(slack_of(arcs, routes, order, count, segments, away, route), slack)
    return total


@compiled
def copy_routes(changed: Whole, many: int, order: Whole, count: Whole, to_order: Whole, to_count: Whole) -> None:
    """Copy some routes from one set of orders to another."""
    for number in range(many):
        route = changed[number]
        to_count[route] = count[route]
        to_order[route, : count[route]] = order[route, : count[route]]


@compiled
def holds(values: Whole, many: int, value: int) -> bool:
    """Return whether a value is among the first `many`."""
    number = 0
    while number < many and values[number] != value:
        number += 1
    return number < many


@compiled
def add_absent(clients: Whole, near: Whole, route_of: Whole, absent: Whole, many: int, middle: int, reach: int) -> int:
    """Add the tasks that are out among so many clients round the middle; return how many tasks `absent` then has.

    Where nothing is served all are added.
    """
    if many == 0:
        for task in range(len(route_of)):
            if route_of[task] < 0:
                absent[many] = task
                many += 1
        return many
    for number in range(min(reach, near.shape[1])):
        task = clients[near[middle, number], TASK]
        if route_of[task] < 0 and not holds(absent, many, task):
            absent[many] = task
            many += 1
    return many


@compiled
def revert(
    arcs: Whole, clients: Whole, routes: Whole, order: Whole, count: Whole, route_of: Whole, segments: Whole,
    away: Whole, kept: Whole, kept_count: Whole, changed: Whole, many: int,
) -> None:  # fmt: skip
    """Take the changed routes back to what is kept."""
    for number in range(many):
        for at in range(count[changed[number]]):
            route_of[clients[order[changed[number], at], TASK]] = -1
    copy_routes(changed, many, kept, kept_count, order, count)
    for number in range(many):
        route = changed[number]
        away[route] = update_segments(arcs, clients, routes, order, count, segments, route)
        for at in range(count[route]):
            route_of[clients[order[route, at], TASK]] = route


@compiled
def search(
    arcs: Whole, clients: Whole, tasks: Whole, routes: Whole, near: Whole, order: Whole, count: Whole, route_of: Whole,
    segments: Whole, away: Whole, dice: Dice, kept: Whole, kept_count: Whole, best: Whole, best_count: Whole,
    given: Real,
) -> tuple[float, int]:  # fmt: skip
    """Ruin and recreate so many times; return the cost of the orders held and of the best, both written in place.

    `given` has the columns named above: while a task is out, an hour of slack in one route is worth `GIVEN_SLACK`, and
    a second away counts `GIVEN_TOLL`. `kept` are the orders held, and so are `order` at the end; `near` are all clients
    by nearness to each, shape (clients, any). `GIVEN_REACH` of them round the ruin are tried if they are out.
    """
    cost, least, slack, toll = given[GIVEN_COST], int(given[GIVEN_LEAST]), given[GIVEN_SLACK], given[GIVEN_TOLL]
    temperature, blink_rate, reach = given[GIVEN_TEMPERATURE], given[GIVEN_BLINK_RATE], int(given[GIVEN_REACH])
    mean, longest_string = given[GIVEN_MEAN], given[GIVEN_LONGEST_STRING]
    every = np.arange(len(routes))
    changed = np.empty(len(routes), dtype=np.int64)
    absent, keys = np.empty(len(tasks), dtype=np.int64), np.empty(len(tasks))
    new_ones = np.zeros(len(tasks), dtype=np.bool_)
    for _ in range(int(given[GIVEN_STEPS])):
        worth, each = (slack, toll) if (route_of < 0).any() else (0.0, 1.0)
        many, changed_count, middle = ruin(
            arcs, clients, routes, near, order, count, route_of, segments, away, dice, absent, changed, mean,
            longest_string,
        )  # fmt: skip
        fresh = len(tasks) if changed_count == 0 else many
        many = add_absent(clients, near, route_of, absent, many, middle, reach)
        # Those that were out before are tried only in routes that changed: in the others they did not fit before.
        new_ones[absent[:many]] = False
        new_ones[absent[: min(fresh, many)]] = True
        sort(arcs, clients, tasks, absent, many, keys, dice)
        for number in range(many):
            task = absent[number]
            among, those = (every, len(every)) if new_ones[task] else (changed, changed_count)
            route = greedy_insertion(
                arcs, clients, tasks, routes, order, count, route_of, segments, away, dice, blink_rate, task, among,
                those, worth, each,
            )  # fmt: skip
            if route >= 0 and not holds(changed, changed_count, route):
                changed[changed_count] = route
                changed_count += 1
        true = cost_of(tasks, route_of, away)
        new = acceptance_cost(arcs, routes, order, count, route_of, segments, away, true, slack, toll)
        if new < cost - temperature * np.log(max(1e-300, chance(dice))):
            cost = new
            copy_routes(changed, changed_count, order, count, kept, kept_count)
            if true < least:
                least = true
                copy_routes(every, len(every), order, count, best, best_count)
        else:
            revert(
                arcs, clients, routes, order, count, route_of, segments, away, kept, kept_count, changed, changed_count
            )  # fmt: skip
    return cost, least
