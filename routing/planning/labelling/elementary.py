"""Labels that remember everything they did: how one goes on from node to node of a crew-day, compiled.

A label is a beginning of the day that has just finished a node. One that by the prices of a linear programme, and a
table of what may still come at those prices, cannot come to what is asked for is dropped.
Source: G. Righini, M. Salani, "Decremental state space relaxation strategies and initialization heuristics for solving
the orienteering problem with time windows with dynamic programming", Computers & Operations Research 36 (2009), from
memory, not checked; to drop by prices is ours.
"""

from __future__ import annotations

import numpy as np

from routing.planning.labelling.columns import (
    ANYWHERE,
    BEFORE,
    BESIDE,
    COLUMN,
    DUE,
    EACH,
    EARLY,
    EXCESS,
    FINISH,
    FIRST_LIMIT,
    HAD_REST,
    LATE,
    LEAST_COST,
    LEAVES,
    LIMIT,
    LOADS,
    LONG,
    LONGEST,
    METRES,
    METRES_FIRST,
    METRES_ON,
    MOST_AWAY,
    MOST_LOAD,
    NODE,
    PACK,
    PLACE,
    POINTS,
    REST,
    REST_AFTER,
    RESTED,
    RESTS,
    SCORE,
    SECONDS,
    SHORT,
    SOONEST,
    STEP,
    STOCK,
    TOOK,
    WAITED,
    Bits,
    Real,
    Whole,
)
from routing.planning.labelling.memory import looked_up, remember, remembers
from routing.planning.running.compiled import compiled


@compiled
def begin_day(base: int, rests: int, labels: Whole, value: Real, memory: Bits) -> None:
    """Write the first label: at base, with nothing done."""
    labels[:, 0] = 0
    labels[NODE, 0], labels[BEFORE, 0], labels[LEAVES, 0], labels[SOONEST, 0] = base, -1, LONG, -LONG
    labels[HAD_REST, 0] = 1 if rests == RESTED else 0
    value[:, 0] = 0.0
    memory[0, :] = np.uint64(0)


@compiled
def used_then(label: int, there: int, load: int, loads: Whole, labels: Whole) -> int:
    """Return what a label uses of a load once it has gone on to a node."""
    used = labels[LOADS + load, label] + loads[there, load]
    beside = loads[BESIDE, load]
    if beside >= 0:
        used = max(used, labels[LOADS + beside, label] + loads[there, beside])
    return int(used)


@compiled
def carries_then(label: int, there: int, loads: Whole, limits: Whole, labels: Whole) -> bool:
    """Return whether loads, payload and space hold all along, once a label has gone on to a node.

    On board at the most is that by which what was brought ever passed what was used, and all that is put on: whole
    packs of what is used in all, but never more than the stock.
    """
    for load in range(loads.shape[1]):
        if used_then(label, there, load, loads, labels) > loads[MOST_LOAD, load]:
            return False
    for limit in range(FIRST_LIMIT, len(limits)):
        on_board = 0
        if limits[limit, EXCESS] >= 0:
            on_board = used_then(label, there, limits[limit, EXCESS], loads, labels)
        for supply in range(EACH, limits.shape[1]):
            amount = labels[LOADS + limits[COLUMN, supply], label] + loads[there, limits[COLUMN, supply]]
            put_on, pack = amount, limits[PACK, supply]
            if pack:
                put_on = min(-(-amount // pack) * pack, max(limits[STOCK, supply], amount))
            on_board += limits[limit, supply] * put_on
        if on_board > limits[limit, LIMIT]:
            return False
    return True


@compiled
def choices_of_rest(label: int, first: bool, day: Whole, labels: Whole) -> tuple[int, int]:  # noqa: FBT001 - compiled code takes no names
    """Return the range of what may follow a label: 0 to go on without the break, 1 to have it before the next work.

    It may begin where some departure brings the label to its end soon enough, and before the `first` work always.
    """
    after = day[REST_AFTER]
    in_time = first or (labels[TOOK, label] <= after and labels[FINISH, label] - labels[LEAVES, label] <= after)
    if day[RESTS] != DUE or labels[HAD_REST, label] or not in_time:
        return 0, 1
    return (0 if day[ANYWHERE] else 1), 2


@compiled
def needed_of_last(label: int, day: Whole, best: Whole, labels: Whole) -> float:
    """Return what the last goal needs over its floor, to be better than `best`: waits count as time away too."""
    if not day[LEAST_COST]:
        return float(best[0] + 1)
    if day[METRES_FIRST]:
        return float(-best[1])
    taken = labels[TOOK, label]
    return float(max(taken, labels[FINISH, label] - labels[LEAVES, label]) - taken - best[1])


@compiled
def hopeful(
    label: int, mask: int, day: Whole, floors: Real, best: Whole, to_come: Real, labels: Whole, value: Real
) -> bool:
    """Return whether a beginning of the day may still meet every goal.

    The tables are asked by the clock and, before the break, by the seconds since the first start too.
    """
    there, clock = labels[NODE, label], labels[FINISH, label] // day[STEP]
    unwaited = (labels[TOOK, label] + labels[WAITED, label]) // day[STEP]
    for goal in range(len(floors)):
        needed = floors[goal]
        if goal == len(floors) - 1:
            needed += needed_of_last(label, day, best, labels)
        if value[goal, label] + to_come[0, goal, there, clock, mask] < needed:
            return False
        if not labels[HAD_REST, label] and value[goal, label] + to_come[1, goal, there, unwaited, mask] < needed:
            return False
    return True


@compiled
def carried_on(label: int, there: int, nodes: Whole, loads: Whole, latest: Whole, labels: Whole, memory: Bits) -> None:
    """Write what a label that goes on from another uses and remembers: tasks out of its reach too, as if done."""
    before = labels[BEFORE, label]
    for load in range(loads.shape[1]):
        labels[LOADS + load, label] = used_then(before, there, load, loads, labels)
    for word in range(memory.shape[1]):
        memory[label, word] = memory[before, word]
    remember(memory, label, nodes[there, PLACE])
    finish = labels[FINISH, label]
    for other in range(len(nodes)):
        if finish > latest[there, nodes[other, PLACE]]:
            remember(memory, label, nodes[other, PLACE])


@compiled
def may_go_on(
    label: int, there: int, ways: Whole, nodes: Whole, loads: Whole, limits: Whole, labels: Whole, memory: Bits
) -> bool:
    """Return whether a label may go on to a node: there is a way, it is new, in time, and what it needs is carried."""
    lasts = ways[SECONDS, labels[NODE, label], there]
    end = max(labels[FINISH, label] + lasts, nodes[there, EARLY])
    if lasts < 0 or end > nodes[there, LATE] or remembers(memory, label, nodes[there, PLACE]):
        return False
    return carries_then(label, there, loads, limits, labels)


@compiled
def timed(new: int, label: int, there: int, resting: int, ways: Whole, nodes: Whole, day: Whole, labels: Whole) -> bool:
    """Write when a label is finished that goes on from another, with a break if `resting`; return whether it may be."""
    here = labels[NODE, label]
    first = here == len(nodes)
    rest = day[REST] if resting else 0
    lasts = ways[SECONDS, here, there] + rest
    end, taken = max(labels[FINISH, label] + lasts, nodes[there, EARLY]), labels[TOOK, label] + lasts
    # A wait before the first stop is no wait: base is left later. On a short day no wait is reckoned with.
    idle = end - lasts if first and day[RESTS] != SHORT else labels[WAITED, label]
    soon = labels[FINISH, label] - day[REST_AFTER] if resting and not first else labels[SOONEST, label]
    leave = min(labels[LEAVES, label], nodes[there, LATE] - taken)
    labels[NODE, new], labels[HAD_REST, new], labels[BEFORE, new] = there, labels[HAD_REST, label] | resting, label
    labels[FINISH, new], labels[TOOK, new], labels[WAITED, new] = end, taken, idle
    labels[LEAVES, new], labels[SOONEST, new] = leave, soon
    labels[METRES, new] = labels[METRES, label] + ways[METRES_ON, here, there]
    labels[POINTS, new] = labels[POINTS, label] + nodes[there, SCORE]
    return bool(end <= nodes[there, LATE] and taken <= day[MOST_AWAY] and leave >= soon)


@compiled
def go_on(
    label: int, count: int, ways: Whole, nodes: Whole, day: Whole, loads: Whole, limits: Whole, latest: Whole,
    near: Whole, worth: Real, to_come: Real, floors: Real, best: Whole, labels: Whole, value: Real, memory: Bits,
) -> int:  # fmt: skip
    """Write the labels one node further on than `label`, from index `count`; return the count of all, or -1.

    -1 means that there is no room for them. `worth`, shape (goals, nodes + 1, nodes), is what going on is worth at the
    prices of each goal, `floors` what a goal's value must come to, `to_come` what may still come: by the clock and,
    before the break, by the seconds since the first start. `latest`, shape (nodes, tasks), is the latest finish of a
    node from which a task can still be done.
    """
    here, base = labels[NODE, label], len(nodes)
    for there in range(base):
        if not may_go_on(label, there, ways, nodes, loads, limits, labels, memory):
            continue
        mask = looked_up(memory, label, there, near)
        begin, end = choices_of_rest(label, here == base, day, labels)
        for resting in range(begin, end):
            if count == labels.shape[1]:
                return -1
            if not timed(count, label, there, resting, ways, nodes, day, labels):
                continue
            for goal in range(len(floors)):
                value[goal, count] = value[goal, label] + worth[goal, here, there]
            if hopeful(count, mask, day, floors, best, to_come, labels, value):
                carried_on(count, there, nodes, loads, latest, labels, memory)
                count += 1
    return count


@compiled
def comes_home(label: int, ways: Whole, day: Whole, labels: Whole) -> tuple[int, int]:
    """Return the seconds away and the metres of the day that a label ends, the seconds -1 where it may not end so."""
    here = labels[NODE, label]
    home = ways[SECONDS, here, ways.shape[1] - 1]
    leave = min(labels[LEAVES, label], day[LONGEST] - home - labels[TOOK, label])
    away = max(labels[TOOK, label], labels[FINISH, label] - leave) + home
    rightly = away <= day[REST_AFTER] if day[RESTS] == SHORT else labels[HAD_REST, label] == 1
    in_time = leave >= labels[SOONEST, label] and labels[FINISH, label] + home <= day[LONGEST]
    metres = labels[METRES, label] + ways[METRES_ON, here, ways.shape[1] - 1]
    return (away if in_time and rightly and away <= day[MOST_AWAY] else -1), metres
