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
from numpy.typing import NDArray

from routing.planning.model.frame import NO_WAY
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

SPLIT = 0.5
"""Chance that a string leaves a stretch in its middle."""

STRETCH_ENDS = 0.01
"""Chance at each stop that the stretch ends there."""

BY_CHANCE, LONGEST_FIRST, FARTHEST_FIRST, NEAREST_FIRST, BRIEFEST_FIRST, EARLIEST_FIRST, LATEST_FIRST, BY_PRICE = range(
    8
)
WAYS = np.array(
    [BY_CHANCE] * 6
    + [LONGEST_FIRST] * 3
    + [FARTHEST_FIRST] * 2
    + [NEAREST_FIRST]
    + [BRIEFEST_FIRST] * 2
    + [EARLIEST_FIRST]
    + [LATEST_FIRST]
    + [BY_PRICE] * 4
)
"""In what order tasks are put in again, each as likely as it is often; all but the last by rank first."""

RANK_KEY = 1e9
"""More than any seconds."""

HOUR = 3600

NOTHING_OUT = 1e12
"""More than any cost."""


@compiled
def chance(dice: Dice) -> float:
    """Return a number from 0 to below 1, and turn the dice (xorshift, G. Marsaglia 2003, from memory, not checked)."""
    x = dice[0]
    x ^= x << np.uint64(13)
    x ^= x >> np.uint64(7)
    x ^= x << np.uint64(17)
    dice[0] = x
    return np.int64(x >> np.uint64(11)) / 9007199254740992.0


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


@compiled
def cheapest(
    arcs: Whole,
    clients: Whole,
    routes: Whole,
    order: Whole,
    count: Whole,
    marks: Whole,
    away: Whole,
    dice: Dice,
    blink: float,
    route: int,
    client: int,
    least: float,
    slack: float,
    toll: float,
) -> tuple[float, int]:
    """Return the least under `least` that a client costs a route, and where; -1 where there is no such.

    It costs `toll` times the extra seconds away, and what the slack loses of its worth, `slack` for an hour. A place
    is overlooked with the chance `blink`, which keeps the search from coming back to the same routes.
    """
    profile, there, found, end = routes[route, PROFILE], 0, -1, count[route]
    opens, latest, service = clients[client, OPENS], clients[client, LATEST], clients[client, SERVICE]
    counted = slack > 0 and end > 0
    before = squared(slack_of(arcs, routes, order, count, marks, away, route), slack) if counted else 0.0
    for at in range(end + 1):
        here = there
        there = 0 if at == end else order[route, at] + 1
        way, on = arcs[profile, here, client + 1], arcs[profile, client + 1, there]
        if way >= NO_WAY or on >= NO_WAY:
            continue
        so_far, soonest, at_last = marks[route, at, LENGTH] + way, marks[route, at, SOONEST], marks[route, at, AT_LAST]
        if soonest + so_far > latest:
            break  # and later in the route it would be later still
        wait = max(0, opens - so_far - at_last)
        soonest = max(opens - so_far, soonest) - wait
        at_last = min(latest - so_far, at_last)
        so_far += service + wait + on
        if soonest + so_far > marks[route, at, REST_AT_LAST]:
            continue
        rest_soonest = marks[route, at, REST_SOONEST] - so_far
        wait = max(0, rest_soonest - at_last)
        length = so_far + marks[route, at, REST_LENGTH] + wait
        cost = toll * (length - away[route])
        if length > routes[route, LONGEST]:
            continue
        if counted:
            left = min(at_last, marks[route, at, REST_AT_LAST] - so_far) - max(soonest, rest_soonest) + wait
            cost += before - squared(min(left, routes[route, LONGEST] - length), slack)
        if cost >= least:
            continue
        if has_room(clients, routes, marks, route, at, client) and chance(dice) >= blink:
            least, found = cost, at
    return least, found


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
def key_of(  # noqa: PLR0911 - a table of sums would work all of them out
    arcs: Whole, clients: Whole, tasks: Whole, task: int, way: int, dice: Dice
) -> float:
    """Return what a task is sorted by: at random, the longest, farthest, nearest, or briefest open first, and so on."""
    client = tasks[task, FIRST]
    ranked = tasks[task, RANK] * RANK_KEY
    if way == BY_PRICE:
        return float(-tasks[task, PRICE] * (0.3 + chance(dice)))
    if way == LONGEST_FIRST:
        return float(ranked - clients[client, SERVICE])
    if way == FARTHEST_FIRST:
        return float(ranked - arcs[0, 0, client + 1])
    if way == NEAREST_FIRST:
        return float(ranked + arcs[0, 0, client + 1])
    if way == BRIEFEST_FIRST:
        return float(ranked + clients[client, LATEST] - clients[client, OPENS])
    if way == EARLIEST_FIRST:
        return float(ranked + clients[client, OPENS])
    if way == LATEST_FIRST:
        return float(ranked - clients[client, LATEST])
    return float(ranked + chance(dice))


@compiled
def sort(arcs: Whole, clients: Whole, tasks: Whole, todo: Whole, many: int, keys: Real, dice: Dice) -> None:
    """Put the first `many` tasks to be done into an order of a kind drawn by chance."""
    way = WAYS[int(chance(dice) * len(WAYS))]
    for number in range(many):
        task = todo[number]
        key = key_of(arcs, clients, tasks, task, way, dice)
        at = number
        while at > 0 and keys[at - 1] > key:
            keys[at], todo[at] = keys[at - 1], todo[at - 1]
            at -= 1
        keys[at], todo[at] = key, task


@compiled
def put_in(
    arcs: Whole, clients: Whole, tasks: Whole, routes: Whole, order: Whole, count: Whole, route_of: Whole, marks: Whole,
    away: Whole, dice: Dice, blink: float, task: int, among: Whole, many: int, slack: float, toll: float,
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
            least, at = cheapest(
                arcs, clients, routes, order, count, marks, away, dice, blink, route, client, least, slack, toll
            )  # fmt: skip
            if at >= 0:
                best, place, taken = route, at, client
    if best >= 0:
        for at in range(count[best], place, -1):
            order[best, at] = order[best, at - 1]
        order[best, place] = taken
        count[best] += 1
        route_of[task] = best
        away[best] = mark(arcs, clients, routes, order, count, marks, best)
    return best


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
