"""The best order of one crew-day among all: labels that remember everything, kept few by what may still come, compiled.

A label is a beginning of the day that has just finished a node. Of two at one node, one that is no later, has done no
less, has taken no longer, can leave base no sooner, carries no more, and still has all the other's ways open makes the
other needless. One that by the prices of a linear programme, and a table of what may still come at those prices, cannot
come to what is asked for is dropped: of published instances of 100 stops some thousands are left.
Source: G. Righini, M. Salani, "Decremental state space relaxation strategies and initialization heuristics for solving
the orienteering problem with time windows with dynamic programming", Computers & Operations Research 36 (2009), from
memory, not checked; to drop by prices is ours.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from routing.planning.labelling.columns import Bits, Real, Whole
from routing.planning.labelling.memory import looked_up, queue, remember, remembers
from routing.planning.running.compiled import compiled

Flags = NDArray[np.bool_]

LONG = 1 << 60
"""Seconds that nothing takes."""

CHAINS = 251
"""Labels of a node are compared only where their points leave the same remainder: others are seldom alike enough."""

RESTED, DUE, SHORT = 0, 1, 2
"""Of the break: none is ever due; it is taken before the work of one of the stops; the day is short enough for none."""


@compiled
def needless_whole(
    label: int,
    first: int,
    timed: bool,  # noqa: FBT001 - compiled code takes no names
    least_cost: bool,  # noqa: FBT001
    finish: Whole,
    took: Whole,
    leaves: Whole,
    soonest: Whole,
    metres: Whole,
    points: Whole,
    used: Whole,
    memory: Bits,
    following: Whole,
    compared: Whole,
) -> bool:
    """Return whether a label in the chain from `first` makes `label` needless; `compared` counts those looked at."""
    other = first
    while other >= 0:
        compared[0] += 1
        if points[other] >= points[label] and finish[other] <= finish[label]:
            inside = not timed or (
                took[other] <= took[label] and leaves[other] >= leaves[label] and soonest[other] <= soonest[label]
            )
            if least_cost and metres[other] > metres[label]:
                inside = False
            for word in range(memory.shape[1]):
                if memory[other, word] & ~memory[label, word]:
                    inside = False
            for load in range(used.shape[1]):
                if used[other, load] > used[label, load]:
                    inside = False
            if inside:
                return True
        other = following[other]
    return False


@compiled
def is_best(
    points: int,
    away: int,
    metres: int,
    least_cost: bool,  # noqa: FBT001 - compiled code takes no names
    metres_first: bool,  # noqa: FBT001
    best: Whole,
) -> bool:
    """Return whether a whole day beats the best so far, and write it over that if so."""
    first, then = (metres, away) if metres_first else (away, metres)
    better = bool(points > best[0])
    if least_cost:
        better = bool(points >= best[0]) and (first < best[1] or (first == best[1] and then < best[2]))
    if better:
        best[0], best[1], best[2] = points, first, then
    return better


@compiled
def hopeful(
    reached: Real,
    floors: Real,
    last: float,
    there: int,
    mask: int,
    now: int,
    unwaited: int,
    rested: bool,  # noqa: FBT001 - compiled code takes no names
    to_come: Real,
    to_come_unwaited: Real,
) -> bool:
    """Return whether a beginning of the day may still meet every goal; `last` is what the last needs over its floor.

    `now` and `unwaited` are steps of the clock, by which the tables are asked.
    """
    for goal in range(len(floors)):
        needed = floors[goal] + (last if goal == len(floors) - 1 else 0.0)
        if reached[goal] + to_come[goal, there, now, mask] < needed:
            return False
        if not rested and reached[goal] + to_come_unwaited[goal, there, unwaited, mask] < needed:
            return False
    return True


@compiled
def used_then(label: int, there: int, load: int, loads: Whole, beside: Whole, used: Whole) -> int:
    """Return what a label uses of a load once it has gone on to a node.

    `beside` is -1 where that adds up; else it is the load that adds up, and this one the most that it ever was.
    """
    all_of_it = used[label, load] + loads[there, load]
    if beside[load] >= 0:
        all_of_it = max(all_of_it, used[label, beside[load]] + loads[there, beside[load]])
    return int(all_of_it)


@compiled
def carries_then(
    label: int, there: int, loads: Whole, beside: Whole, limits: Whole, excess: Whole, each: Whole, supplies: Whole,
    packs: Whole, stocks: Whole, used: Whole,
) -> bool:  # fmt: skip
    """Return whether payload and space hold all along, once a label has gone on to a node.

    Of each of the `limits`, `excess` is the load (-1: none) that is the most by which what was brought ever passed what
    was used, in its unit; on board at the most is that, and all that is put on: `each` of its unit, shape (limits,
    supplies), for whole `packs` (0: loose) of what is used in all, but never more than the `stocks`. `supplies` are
    their loads.
    """
    fits = True
    for limit in range(len(limits)):
        on_board = 0
        if excess[limit] >= 0:
            on_board = used_then(label, there, excess[limit], loads, beside, used)
        for supply in range(len(supplies)):
            amount = used[label, supplies[supply]] + loads[there, supplies[supply]]
            put_on = amount
            if packs[supply]:
                put_on = min(-(-amount // packs[supply]) * packs[supply], max(stocks[supply], amount))
            on_board += each[limit, supply] * put_on
        if on_board > limits[limit]:
            fits = False
    return fits


@compiled
def may_go_on(
    label: int, there: int, lasts: int, end: int, late: Whole, loads: Whole, most_loads: Whole, beside: Whole,
    place: Whole, used: Whole, memory: Bits,
) -> bool:  # fmt: skip
    """Return whether a label may go on to a node, which `lasts` so long (negative: no way) and then is finished."""
    may = lasts >= 0 and end <= late[there] and not remembers(memory, label, place[there])
    for load in range(len(most_loads)):
        if used_then(label, there, load, loads, beside, used) > most_loads[load]:
            may = False
    return may


@compiled
def choices_of_rest(
    label: int,
    rests: int,
    rest_after: int,
    anywhere: bool,  # noqa: FBT001 - compiled code takes no names
    first: bool,  # noqa: FBT001
    rested: Flags,
    finish: Whole,
    took: Whole,
    leaves: Whole,
) -> tuple[int, int]:
    """Return the range of what may follow a label: 0 to go on without the break, 1 to have it before the next work.

    It may begin where some departure brings the label to its end soon enough, and before the `first` work always.
    """
    in_time = first or (took[label] <= rest_after and finish[label] - leaves[label] <= rest_after)
    if rests != DUE or rested[label] or not in_time:
        return 0, 1
    return (0 if anywhere else 1), 2


@compiled
def carried_on(
    label: int, before: int, there: int, loads: Whole, beside: Whole, place: Whole, latest: Whole, finish: Whole,
    used: Whole, memory: Bits,
) -> None:  # fmt: skip
    """Write what a label that goes on from another uses and remembers: tasks out of its reach too, as if done."""
    for load in range(used.shape[1]):
        used[label, load] = used_then(before, there, load, loads, beside, used)
    for word in range(memory.shape[1]):
        memory[label, word] = memory[before, word]
    remember(memory, label, place[there])
    for other in range(len(place)):
        if finish[label] > latest[there, place[other]]:
            remember(memory, label, place[other])


@compiled
def go_on_whole(
    label: int, count: int, seconds: Whole, worth: Real, legs: Whole, score: Whole, loads: Whole, most_loads: Whole,
    beside: Whole, limits: Whole, excess: Whole, each: Whole, supplies: Whole, packs: Whole, stocks: Whole,
    early: Whole, late: Whole, most_away: int, rest: int, rests: int, rest_after: int, anywhere: bool,  # noqa: FBT001
    least_cost: bool, metres_first: bool, place: Whole, latest: Whole, near: Whole, to_come: Real,  # noqa: FBT001
    to_come_unwaited: Real, step: int, floors: Real, best: Whole, reached: Real, node: Whole, rested: Flags,
    finish: Whole, took: Whole, waited: Whole, leaves: Whole, soonest: Whole, metres: Whole, points: Whole,
    value: Real, used: Whole, memory: Bits, before: Whole,
) -> int:  # fmt: skip
    """Write the labels one node further on than `label`, from index `count`; return the count of all, or -1.

    -1 means that there is no room for them. `reached`, shape (goals,), is room for their values.
    """
    here = node[label]
    for there in range(len(early)):
        lasts = seconds[here, there]
        end, taken = max(finish[label] + lasts, early[there]), took[label] + lasts
        if not (
            may_go_on(label, there, lasts, end, late, loads, most_loads, beside, place, used, memory)
            and carries_then(label, there, loads, beside, limits, excess, each, supplies, packs, stocks, used)
        ):
            continue
        mask = looked_up(memory, label, there, near)
        for goal in range(len(floors)):
            reached[goal] = value[label, goal] + worth[goal, here, there]
        first = here == len(early)
        begin, end_rest = choices_of_rest(label, rests, rest_after, anywhere, first, rested, finish, took, leaves)
        for resting in range(begin, end_rest):
            soon = soonest[label]
            if resting:
                lasts += rest
                end, taken = max(finish[label] + lasts, early[there]), taken + rest
                soon = soon if first else finish[label] - rest_after
            # A wait before the first stop is no wait: base is left later. On a short day no wait is reckoned with.
            idle = end - lasts if first and rests != SHORT else waited[label]
            if end > late[there] or taken > most_away:
                break
            leave = min(leaves[label], late[there] - taken)
            last = float(best[0] + 1)
            if least_cost:
                last = float(-best[1]) if metres_first else float(max(taken, end - leave) - taken - best[1])
            is_rested = rested[label] or resting == 1
            if leave < soon or not hopeful(
                reached, floors, last, there, mask, end // step, (taken + idle) // step, is_rested,
                to_come, to_come_unwaited,
            ):  # fmt: skip
                continue
            if count == len(node):
                return -1
            node[count], rested[count], before[count] = there, is_rested, label
            finish[count], took[count], waited[count], leaves[count], soonest[count] = end, taken, idle, leave, soon
            metres[count], points[count] = metres[label] + legs[here, there], points[label] + score[there]
            value[count] = reached
            carried_on(count, label, there, loads, beside, place, latest, finish, used, memory)
            count += 1
    return count


@compiled
def begin_day(
    base: int, rests: int, node: Whole, rested: Flags, finish: Whole, took: Whole, waited: Whole, leaves: Whole,
    soonest: Whole, metres: Whole, points: Whole, value: Real, used: Whole, memory: Bits, before: Whole,
) -> None:  # fmt: skip
    """Write the first label: at base, with nothing done."""
    node[0], rested[0], before[0], leaves[0], soonest[0] = base, rests == RESTED, -1, LONG, -LONG
    finish[0], took[0], waited[0], metres[0], points[0] = 0, 0, 0, 0, 0
    value[0], used[0], memory[0] = 0.0, 0, np.uint64(0)


@compiled
def best_whole_walk(
    seconds: Whole, worth: Real, legs: Whole, score: Whole, loads: Whole, most_loads: Whole, beside: Whole,
    limits: Whole, excess: Whole, each: Whole, supplies: Whole, packs: Whole, stocks: Whole, early: Whole, late: Whole,
    home: Whole, longest: int, most_away: int, rest: int, rests: int, rest_after: int, anywhere: bool, timed: bool,  # noqa: FBT001
    least_cost: bool, metres_first: bool, place: Whole, latest: Whole, near: Whole, to_come: Real,  # noqa: FBT001
    to_come_unwaited: Real, step: int, floors: Real, best: Whole, most_compared: int, halt: Flags, node: Whole,
    rested: Flags, finish: Whole, took: Whole, waited: Whole, leaves: Whole, soonest: Whole, metres: Whole,
    points: Whole, value: Real, used: Whole, memory: Bits, before: Whole, link: Whole, following: Whole,
) -> tuple[int, bool, int]:  # fmt: skip
    """Return the last label of the best walk (-1: none beats `best`), whether all were looked at, how many compared.

    `seconds`, `worth` (by goal) and `legs` have one row more than nodes, that of the base, and `legs` one column more.
    `worth` is what going on is worth at the prices of each goal, `floors` what a goal's value must come to; that of the
    last goal rises with `best`, shape (3,): points, what comes first of seconds away and metres, the other. Where
    `least_cost` these points are needed and the rest counts, else points alone; `best` is written over. `loads` is what
    each node uses of each of `most_loads` (see `used_then`, and `carries_then` for what follows there); `latest` the
    latest finish of a node from which a task can still be done. `timed` says whether it matters for how long a label
    has been away, `anywhere` whether the break may be elsewhere than before the first work, where it takes least
    light. The arrays from `node` on are room for labels.
    """
    base = len(early)
    buckets = np.full(late.max() // step + 1, -1, dtype=np.int64)
    heads = np.full((base, 2, CHAINS), -1, dtype=np.int64)
    compared, reached = np.zeros(1, dtype=np.int64), np.empty(len(floors))
    begin_day(
        base, rests, node, rested, finish, took, waited, leaves, soonest, metres, points, value, used, memory, before
    )
    label, count, found, bucket = 0, 1, -1, 0
    while True:
        here, chain, remainder = node[label], 1 if rested[label] else 0, points[label] % CHAINS
        needless = label > 0 and needless_whole(
            label, heads[here, chain, remainder], timed, least_cost, finish, took, leaves, soonest, metres, points,
            used, memory, following, compared,
        )  # fmt: skip
        if not needless:
            if label > 0:
                following[label], heads[here, chain, remainder] = heads[here, chain, remainder], label
                leave = min(leaves[label], longest - home[here] - took[label])
                away = max(took[label], finish[label] - leave) + home[here]
                rightly = away <= rest_after if rests == SHORT else rested[label]
                if leave >= soonest[label] and finish[label] <= longest - home[here] and rightly and away <= most_away:
                    whole = metres[label] + legs[here, base]
                    if is_best(points[label], away, whole, least_cost, metres_first, best):
                        found = label
            more = go_on_whole(
                label, count, seconds, worth, legs, score, loads, most_loads, beside, limits, excess, each, supplies,
                packs, stocks, early, late, most_away, rest, rests, rest_after, anywhere, least_cost, metres_first,
                place, latest, near, to_come, to_come_unwaited, step, floors, best, reached, node,
                rested, finish, took, waited, leaves, soonest, metres, points, value, used, memory, before,
            )  # fmt: skip
            if more < 0 or halt[0] or compared[0] > most_compared:
                return found, False, compared[0]
            queue(count, more, finish, step, buckets, link)
            count = more
        while bucket < len(buckets) and buckets[bucket] < 0:
            bucket += 1
        if bucket == len(buckets):
            return found, True, compared[0]
        label = buckets[bucket]
        buckets[bucket] = link[label]
