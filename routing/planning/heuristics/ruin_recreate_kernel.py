"""Ruin and recreate, compiled: strings of neighbouring stops are taken out of some routes and put in again elsewhere.

What is worse than before is accepted while the search is hot. Only possible routes are ever held, so that there is
nothing to mend.
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

from routing.planning.heuristics.ruin_insertion import put_in
from routing.planning.heuristics.ruin_marks import PRICE, TASK, Dice, Whole, mark, slack_of, squared
from routing.planning.heuristics.ruin_order import chance, sort
from routing.planning.running.compiled import compiled

SPLIT = 0.5
"""Chance that a string leaves a stretch in its middle."""

STRETCH_ENDS = 0.01
"""Chance at each stop that the stretch ends there."""

NOTHING_OUT = 1e12
"""More than any cost."""


@compiled
def tear(
    clients: Whole, order: Whole, count: Whole, route_of: Whole, dice: Dice, route: int, client: int, longest: float,
    todo: Whole, many: int,
) -> int:  # fmt: skip
    """Take a string of clients out of a route, one of them the client's task; return how many tasks `todo` then has.

    Half the strings leave a stretch in their middle where it is.
    """
    size, at = count[route], 0
    while clients[order[route, at], TASK] != clients[client, TASK]:
        at += 1
    gone = min(size, int(1 + chance(dice) * min(float(size), longest)))
    stays = 0
    if 1 < gone < size and chance(dice) < SPLIT:
        stays = 1
        while gone + stays < size and chance(dice) > STRETCH_ENDS:
            stays += 1
    span = gone + stays
    low, high = max(0, at - span + 1), min(at, size - span)
    first = low + int(chance(dice) * (high - low + 1))
    stay = first + 1 + int(chance(dice) * (gone - 1)) if stays else first + span
    kept = 0
    for place in range(size):
        other = order[route, place]
        if place < first or place >= first + span or stay <= place < stay + stays:
            order[route, kept] = other
            kept += 1
        else:
            todo[many] = clients[other, TASK]
            route_of[todo[many]] = -1
            many += 1
    count[route] = kept
    return many


@compiled
def ruin(
    arcs: Whole, clients: Whole, routes: Whole, near: Whole, order: Whole, count: Whole, route_of: Whole, marks: Whole,
    away: Whole, dice: Dice, todo: Whole, changed: Whole, mean: float, longest_string: float,
) -> tuple[int, int, int]:  # fmt: skip
    """Tear strings out of routes round one client; return how many tasks are out, routes changed, and that client."""
    used = served = 0
    for route in range(len(count)):
        served += count[route]
        used += 1 if count[route] else 0
    middle = int(chance(dice) * len(clients))
    if not used:
        return 0, 0, middle
    longest = min(longest_string, served / used)
    strings = int(1 + chance(dice) * (4 * mean / (1 + longest) - 1))
    many = torn = 0
    for number in range(near.shape[1]):
        client = near[middle, number]
        route = route_of[clients[client, TASK]]
        if route < 0 or holds(changed, torn, route):
            continue
        many = tear(clients, order, count, route_of, dice, route, client, longest, todo, many)
        away[route] = mark(arcs, clients, routes, order, count, marks, route)
        changed[torn] = route
        torn += 1
        if torn >= strings:
            break
    return many, torn, middle


@compiled
def cost_of(tasks: Whole, route_of: Whole, away: Whole) -> int:
    """Return the seconds away and the price of all tasks that are left out."""
    total = int(away.sum())
    for task in range(len(tasks)):
        if route_of[task] < 0:
            total += int(tasks[task, PRICE])
    return total


@compiled
def held(
    arcs: Whole, routes: Whole, order: Whole, count: Whole, route_of: Whole, marks: Whole, away: Whole, true: int,
    slack: float, toll: float,
) -> float:  # fmt: skip
    """Return the cost by which orders are held or not: seconds away times `toll`, and less for slack.

    An hour left in one day holds another visit, two half hours in two days do not. `true` is the cost without that,
    and it counts, far under all others, as soon as nothing is out.
    """
    total = float(true)
    if not (route_of < 0).any():
        return total - NOTHING_OUT
    for route in range(len(routes)):
        total -= (1 - toll) * away[route]
        total -= squared(slack_of(arcs, routes, order, count, marks, away, route), slack)
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
    for number in range(many):  # noqa: SIM110 - compiled code has no generators
        if values[number] == value:
            return True
    return False


@compiled
def add_those_out(clients: Whole, near: Whole, route_of: Whole, todo: Whole, many: int, middle: int, reach: int) -> int:
    """Add the tasks that are out among so many clients round the middle; return how many tasks `todo` then has.

    Where nothing is served all are added.
    """
    if many == 0:
        for task in range(len(route_of)):
            if route_of[task] < 0:
                todo[many] = task
                many += 1
        return many
    for number in range(min(reach, near.shape[1])):
        task = clients[near[middle, number], TASK]
        if route_of[task] < 0 and not holds(todo, many, task):
            todo[many] = task
            many += 1
    return many


@compiled
def undo(
    arcs: Whole, clients: Whole, routes: Whole, order: Whole, count: Whole, route_of: Whole, marks: Whole, away: Whole,
    kept: Whole, kept_count: Whole, changed: Whole, many: int,
) -> None:  # fmt: skip
    """Take the changed routes back to what is kept."""
    for number in range(many):
        for at in range(count[changed[number]]):
            route_of[clients[order[changed[number], at], TASK]] = -1
    copy_routes(changed, many, kept, kept_count, order, count)
    for number in range(many):
        route = changed[number]
        away[route] = mark(arcs, clients, routes, order, count, marks, route)
        for at in range(count[route]):
            route_of[clients[order[route, at], TASK]] = route


@compiled
def search(
    arcs: Whole, clients: Whole, tasks: Whole, routes: Whole, near: Whole, order: Whole, count: Whole, route_of: Whole,
    marks: Whole, away: Whole, dice: Dice, kept: Whole, kept_count: Whole, best: Whole, best_count: Whole, cost: float,
    least: int, rounds: int, slack: float, toll: float, heat: float, mean: float, longest_string: float, blink: float,
    reach: int,
) -> tuple[float, int]:  # fmt: skip
    """Ruin and recreate so many times; return the cost of the orders held and of the best, both written in place.

    While a task is out, an hour of slack in one route is worth `slack`, and a second away counts `toll`. `kept` are
    the orders held, and so are `order` at the end; `near` are all clients by nearness to each, shape (clients, any).
    `reach` of them round the ruin are tried if they are out.
    """
    every = np.arange(len(routes))
    changed = np.empty(len(routes), dtype=np.int64)
    todo, keys = np.empty(len(tasks), dtype=np.int64), np.empty(len(tasks))
    new_ones = np.zeros(len(tasks), dtype=np.bool_)
    for _ in range(rounds):
        worth, each = (slack, toll) if (route_of < 0).any() else (0.0, 1.0)
        many, torn, middle = ruin(
            arcs, clients, routes, near, order, count, route_of, marks, away, dice, todo, changed, mean, longest_string
        )  # fmt: skip
        fresh = len(tasks) if torn == 0 else many
        many = add_those_out(clients, near, route_of, todo, many, middle, reach)
        # Those that were out before are tried only in routes that changed: in the others they did not fit before.
        new_ones[todo[:many]] = False
        new_ones[todo[: min(fresh, many)]] = True
        sort(arcs, clients, tasks, todo, many, keys, dice)
        for number in range(many):
            task = todo[number]
            among, those = (every, len(every)) if new_ones[task] else (changed, torn)
            route = put_in(
                arcs, clients, tasks, routes, order, count, route_of, marks, away, dice, blink, task, among, those,
                worth, each,
            )  # fmt: skip
            if route >= 0 and not holds(changed, torn, route):
                changed[torn] = route
                torn += 1
        true = cost_of(tasks, route_of, away)
        new = held(arcs, routes, order, count, route_of, marks, away, true, slack, toll)
        if new < cost - heat * np.log(max(1e-300, chance(dice))):
            cost = new
            copy_routes(changed, torn, order, count, kept, kept_count)
            if true < least:
                least = true
                copy_routes(every, len(every), order, count, best, best_count)
        else:
            undo(
                arcs, clients, routes, order, count, route_of, marks, away, kept, kept_count, changed, torn
            )  # fmt: skip
    return cost, least
