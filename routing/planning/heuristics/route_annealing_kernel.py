"""One route by ruin and recreate, compiled: some stops are taken out, what is worth most for its time goes in again.

What counts is the worth of all that is served less the time (or way) that it takes; what is worse than before is taken
while the temperature is high. Only possible routes are held. The break is time before the work of one stop, which
changes at times.
Source: P. Vansteenwegen, W. Souffriau, G. Vanden Berghe, D. Van Oudheusden, "Iterated local search for the team
orienteering problem with time windows", Computers & Operations Research 36 (2009), from memory, not checked; ours are
the annealing, the strings and the break.
"""

from __future__ import annotations

import numpy as np

from routing.planning.heuristics.route_annealing_insertion import Flags, bring_in
from routing.planning.heuristics.ruin_segments import AT_LAST, LENGTH, SOONEST, TASK, Dice, Real, Whole, update_segments
from routing.planning.heuristics.ruin_sort import chance
from routing.planning.model.problem import RANKS
from routing.planning.running.compiled import compiled

GIVEN_COLUMNS = 7
(
    GIVEN_STEPS, GIVEN_TEMPERATURE, GIVEN_TOLL, GIVEN_REST, GIVEN_AFTER, GIVEN_BLINK, GIVEN_MEAN,
) = range(GIVEN_COLUMNS)  # fmt: skip
"""Columns of what a search is given: how many steps, the temperature, what a second (or metre) costs, seconds of the
break, after how long it is due, how often a place is passed over, how many stops are taken out on average."""

NO_STOP = -1
"""Stands for the first stop, whichever that is, where the break is before one."""

RESTED_ANEW = 0.1
"""Chance that the break is laid before another stop."""

STRETCH_RATE, ROUND_RATE, KEPT_RATE = 0.45, 0.4, 0.3
"""Chances that a stretch of the route is taken out, or what lies round one place; and that a stretch keeps a stop."""

LEAST_WITH_ONE_KEPT = 3
"""Stops of a stretch that is taken out but for one."""


@compiled
def rest_before(arcs: Whole, client: int, rest: int) -> None:
    """Lay a break before the work of a client, in all ways that lead there; a negative one takes it away again.

    Before `NO_STOP` is before the first stop, whichever that is.
    """
    if client == NO_STOP:
        arcs[0, 0, 1:] += rest
    else:
        arcs[0, :, client + 1] += rest


@compiled
def rest_in_time(order: Whole, count: Whole, segments: Whole, client: int, after: int) -> bool:
    """Return whether a client is on the route, and the break before its work not too late.

    The crew leaves as late as the whole day allows, which is when the way to the break is shortest.
    """
    if client == NO_STOP:
        return True
    leaves = segments[0, count[0], AT_LAST]
    for at in range(count[0]):
        if order[0, at] == client:
            return at == 0 or segments[0, at, LENGTH] + max(0, segments[0, at, SOONEST] - leaves) <= after
    return False


@compiled
def move_rest(
    arcs: Whole, clients: Whole, routes: Whole, order: Whole, count: Whole, segments: Whole, dice: Dice, client: int,
    rest: int, after: int,
) -> int:  # fmt: skip
    """Lay the break before another stop of the route, drawn by chance from those it may be before; return that one."""
    rest_before(arcs, client, -rest)
    update_segments(arcs, clients, routes, order, count, segments, 0)
    last = 0
    while last + 1 < count[0] and segments[0, last + 1, LENGTH] <= after:
        last += 1
    at = int(chance(dice) * (last + 1))
    found = order[0, at] if at else NO_STOP
    rest_before(arcs, found, rest)
    return int(found)


@compiled
def way_of(tolls: Whole, order: Whole, count: Whole) -> int:
    """Return what a route costs by the tolls of its ways."""
    here, total = 0, 0
    for at in range(count[0]):
        there = order[0, at] + 1
        total += tolls[here, there]
        here = there
    return int(total + tolls[here, 0])


@compiled
def round_one_place(order: Whole, count: Whole, near: Whole, gone: Flags, middle: int, many: int) -> None:
    """Mark so many stops as gone, the nearest to a client."""
    for number in range(near.shape[1]):
        for at in range(count[0]):
            if order[0, at] == near[middle, number]:
                gone[at] = True
                many -= 1
        if many <= 0:
            return


@compiled
def take_out(
    clients: Whole, order: Whole, count: Whole, near: Whole, inside: Flags, uses: Whole, left: Whole, dice: Dice,
    mean: float,
) -> None:  # fmt: skip
    """Take stops out of the route: a stretch of it, those round one place, or any."""
    size, kind = count[0], chance(dice)
    many = min(size, 1 + int(chance(dice) * 2 * mean))
    gone = np.zeros(size, dtype=np.bool_)
    if kind < STRETCH_RATE:
        first = int(chance(dice) * (size - many + 1))
        gone[first : first + many] = True
        if chance(dice) < KEPT_RATE and many >= LEAST_WITH_ONE_KEPT:
            gone[first + int(chance(dice) * many)] = False
    elif kind < STRETCH_RATE + ROUND_RATE:
        round_one_place(order, count, near, gone, int(chance(dice) * len(clients)), many)
    else:
        for _ in range(many):
            gone[int(chance(dice) * size)] = True
    kept = 0
    for at in range(size):
        client = order[0, at]
        if gone[at]:
            inside[clients[client, TASK]] = False
            left += uses[clients[client, TASK]]
        else:
            order[0, kept] = client
            kept += 1
    count[0] = kept


@compiled
def ranked(clients: Whole, order: Whole, count: Whole, weights: Whole, score: Whole) -> None:
    """Write the weight served of each rank."""
    score[:] = 0
    for at in range(count[0]):
        task = clients[order[0, at], TASK]
        score[weights[task, 0]] += weights[task, 1]


@compiled
def is_better(score: Whole, cost: int, best: Whole) -> bool:
    """Return whether more is served, rank by rank, or as much for less; `best` has the cost last."""
    for rank in range(RANKS):
        if score[rank] != best[rank]:
            return bool(score[rank] > best[rank])
    return bool(cost < best[RANKS])


@compiled
def begin(
    clients: Whole, order: Whole, count: Whole, uses: Whole, stock: Whole, worth: Real, inside: Flags, left: Whole,
) -> float:  # fmt: skip
    """Write which tasks are on the route and what is left of the stock; return what those are worth."""
    total = 0.0
    inside[:] = False
    left[:] = stock
    for at in range(count[0]):
        task = clients[order[0, at], TASK]
        inside[task] = True
        left -= uses[task]
        total += worth[task]
    return total


@compiled
def step(
    arcs: Whole, clients: Whole, tasks: Whole, routes: Whole, order: Whole, count: Whole, segments: Whole,
    tolls: Whole, near: Whole, uses: Whole, worth: Real, dice: Dice, inside: Flags, left: Whole, given: Real, stop: int,
) -> tuple[int, int]:  # fmt: skip
    """Take some stops out and others in; return what the route then costs, -1 if impossible, and where the break is."""
    rest, after = int(given[GIVEN_REST]), int(given[GIVEN_AFTER])
    if count[0]:
        take_out(clients, order, count, near, inside, uses, left, dice, given[GIVEN_MEAN])
    length = update_segments(arcs, clients, routes, order, count, segments, 0)
    if rest and (chance(dice) < RESTED_ANEW or not rest_in_time(order, count, segments, stop, after)):
        stop = move_rest(arcs, clients, routes, order, count, segments, dice, stop, rest, after)
        length = update_segments(arcs, clients, routes, order, count, segments, 0)
    if length < 0:
        return -1, stop
    length = bring_in(
        arcs, clients, tasks, routes, order, count, segments, tolls, inside, uses, left, worth, dice, length,
        given[GIVEN_BLINK],
    )  # fmt: skip
    if rest and not rest_in_time(order, count, segments, stop, after):
        stop = move_rest(arcs, clients, routes, order, count, segments, dice, stop, rest, after)
        length = update_segments(arcs, clients, routes, order, count, segments, 0)
    if length >= 0 and len(tolls):
        return way_of(tolls, order, count), stop
    return length, stop


@compiled
def search(
    arcs: Whole, clients: Whole, tasks: Whole, routes: Whole, order: Whole, count: Whole, segments: Whole,
    tolls: Whole, near: Whole, uses: Whole, stock: Whole, worth: Real, weights: Whole, dice: Dice, best: Whole,
    best_count: Whole, reached: Whole, rest_at: Whole, given: Real,
) -> int:  # fmt: skip
    """Ruin and recreate so many times; return how often a better route was found.

    `order` and `count` hold the route under way, `rest_at` the client before whose work its break is; `best` and
    `best_count` the best so far, of which `reached` has the weight by rank and then the cost. All are written in place.
    """
    rest, temperature, toll = int(given[GIVEN_REST]), given[GIVEN_TEMPERATURE], given[GIVEN_TOLL]
    inside, left = np.zeros(len(tasks), dtype=np.bool_), stock.copy()
    score = np.zeros(RANKS, dtype=np.int64)
    held, held_count, stop, gains = order.copy(), count[0], int(rest_at[0]), 0
    rest_before(arcs, stop, rest)
    value = begin(clients, order, count, uses, stock, worth, inside, left)
    length = update_segments(arcs, clients, routes, order, count, segments, 0)
    value -= toll * (way_of(tolls, order, count) if len(tolls) else length)
    for _ in range(int(given[GIVEN_STEPS])):
        cost, now = step(
            arcs, clients, tasks, routes, order, count, segments, tolls, near, uses, worth, dice, inside, left, given,
            stop,
        )  # fmt: skip
        new = begin(clients, order, count, uses, stock, worth, inside, left) - toll * cost
        if cost >= 0 and new > value + temperature * np.log(max(1e-300, chance(dice))):
            value, stop, held_count = new, now, count[0]
            held[0, :held_count] = order[0, :held_count]
            ranked(clients, order, count, weights, score)
            if is_better(score, cost, reached):
                reached[:RANKS], reached[RANKS] = score, cost
                best[0, :held_count], best_count[0] = order[0, :held_count], held_count
                gains += 1
            continue
        if now != stop:
            rest_before(arcs, now, -rest)
            rest_before(arcs, stop, rest)
        count[0] = held_count
        order[0, :held_count] = held[0, :held_count]
        begin(clients, order, count, uses, stock, worth, inside, left)
    rest_before(arcs, stop, -rest)
    rest_at[0] = stop
    return gains
