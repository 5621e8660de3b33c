"""Walks of one crew-day that are worth more than a given value: labels set in the order of the clock, compiled.

A label is a walk that has just finished a node. It remembers those tasks it did that every node since has among its
neighbours. Of two labels at one node, one that is no later, worth no less, and remembers no more dominates the other.
What may still come, looked up in a table that remembers fewer neighbours, ends labels that lead nowhere.
Source: R. Baldacci, A. Mingozzi, R. Roberti, "New route relaxation and pricing strategies for the vehicle routing
problem", Operations Research 59 (2011), from memory, not checked.
"""

from __future__ import annotations

import numpy as np

from routing.planning.labelling.clock import next_of, queue_labels
from routing.planning.labelling.columns import (
    BEFORE,
    BEGINS,
    EARLY,
    FINISH,
    FOLLOWING,
    LAST,
    LATE,
    NODE,
    PLACE,
    Bits,
    Real,
    Small,
    Whole,
)
from routing.planning.labelling.memory import looked_up, remember, remembers
from routing.planning.running.compiled import compiled

NEVER = -1e18

CLOCK, BREAK, EXACT, MOST_COMPARED, COMPARED = range(5)
"""Of `asked`, shape (5,).

Seconds in a step of the clock, seconds of a break that may come after the first work too, else 0, whether no walk may
be missed, how many labels may be compared, and how many were: that is counted here.
"""

A_LABEL = 4
"""To set a label takes as long as to compare so many."""


@compiled
def moves(seconds: Whole, place: Whole, near: Whole) -> Small:
    """Return what is remembered after going on, shape (nodes, nodes, masks); -1 where the task there is remembered.

    A mask has a bit for each place in `near`, shape (nodes, remembered), that was done; places are numbers of tasks,
    -1 stands for none.
    """
    nodes, remembered = near.shape
    found = np.full((nodes, nodes, 1 << remembered), -1, dtype=np.int16)
    for here in range(nodes):
        for mask in range(1 << remembered):
            for there in range(nodes):
                if seconds[here, there] < 0:
                    continue
                kept = 0
                done = False
                for bit in range(remembered):
                    if mask >> bit & 1 and near[here, bit] == place[there]:
                        done = True
                    for other in range(remembered):
                        known = near[here, other] == near[there, bit] and mask >> other & 1
                        if near[there, bit] >= 0 and (known or near[there, bit] == place[here]):
                            kept |= 1 << bit
                if not done:
                    found[here, there, mask] = kept
    return found


@compiled
def raise_to(best: Real, gain: float, then: Real, kept: Small) -> None:
    """Raise what is best, by mask, to a gain and what may come then, where that is more."""
    for mask in range(len(best)):
        if kept[mask] >= 0:
            best[mask] = max(best[mask], gain + then[kept[mask]])


@compiled
def completion_bounds(
    seconds: Whole, follow: Whole, worth: Real, early: Whole, late: Whole, last: Whole, home: Real, after: Small,
    step: int,
) -> Real:  # fmt: skip
    """Return what may follow at the most, shape (nodes, steps, masks): after finishing a node in a step of the clock.

    `step` is at most the shortest of `seconds` that are not negative, and those that are mean no way. `worth` is what
    going from one node to the next is worth, `home` what ending at a node is; `after` are the `moves`, `follow`, shape
    (nodes, many), the nodes to which walks go on from each, -1 from where there are no more.
    """
    nodes, _, masks = after.shape
    steps = late.max() // step + 1
    table = np.full((nodes, steps, masks), NEVER)
    passed, opened = seconds // step, early // step
    for tick in range(steps - 1, -1, -1):
        now = tick * step
        for here in range(nodes):
            if now + step <= early[here]:
                continue
            best = table[here, tick]
            if now <= last[here]:
                best[:] = home[here]
            for there in follow[here]:
                lasts = seconds[here, there]
                if there < 0:
                    break
                if max(now + lasts, early[there]) > late[there]:
                    continue
                gain = worth[here, there]
                then, kept = table[there, max(tick + passed[here, there], opened[there])], after[here, there]
                raise_to(best, gain, then, kept)
    return table


@compiled
def completion_bounds_unrested(
    seconds: Whole, follow: Whole, worth: Real, early: Whole, late: Whole, after: Small, step: int, rest: int,
    rested: Real,
) -> Real:  # fmt: skip
    """Return what `completion_bounds` does where the break is still to come, which lengthens one way by `rest` seconds.

    `rested` is that once it was had. No walk ends without it.
    """
    nodes, steps, masks = rested.shape
    table = np.full((nodes, steps, masks), NEVER)
    passed, longer, opened = seconds // step, (seconds + rest) // step, early // step
    for tick in range(steps - 1, -1, -1):
        now = tick * step
        for here in range(nodes):
            if now + step <= early[here]:
                continue
            best = table[here, tick]
            for there in follow[here]:
                lasts = seconds[here, there]
                if there < 0:
                    break
                if max(now + lasts, early[there]) > late[there]:
                    continue
                gain, kept = worth[here, there], after[here, there]
                then = table[there, max(tick + passed[here, there], opened[there])]
                raise_to(best, gain, then, kept)
                if max(now + lasts + rest, early[there]) > late[there]:
                    continue
                raise_to(best, gain, rested[there, max(tick + longer[here, there], opened[there])], kept)
    return table


@compiled
def costs_of(begun: np.uint64, dear: Real) -> float:
    """Return what cuts, a bit each, are dear together."""
    total, cut = 0.0, 0
    while begun:
        if begun & np.uint64(1):
            total += dear[cut]
        begun >>= np.uint64(1)
        cut += 1
    return total


@compiled
def is_dominated(
    label: int, first: int, dear: Real, labels: Whole, value: Real, memory: Bits, asked: Whole
) -> bool:  # fmt: skip
    """Return whether a label in the chain from `first` is no later, worth no less, and remembers no more.

    Where it has begun a cut that the label has not, it must be worth as much more as the cut may come to be dear.
    """
    words = memory.shape[1] - 1
    other, reached, finish = first, value[0, label], labels[FINISH, label]
    while other >= 0:
        asked[COMPARED] += 1
        if value[0, other] >= reached and labels[FINISH, other] <= finish:
            inside = True
            for word in range(words):
                if memory[other, word] & ~memory[label, word]:
                    inside = False
            if inside and value[0, other] - costs_of(memory[other, words] & ~memory[label, words], dear) >= reached:
                return True
        other = labels[FOLLOWING, other]
    return False


@compiled
def is_queued_better(there: int, finish: int, reached: float, width: int, queued: Real) -> bool:
    """Return whether one worth no less waits in the same bucket of the clock, as `queued` remembers; note it if not."""
    if queued.shape[1] == 0:
        return False
    if reached <= queued[there, finish // width]:
        return True
    queued[there, finish // width] = reached
    return False


@compiled
def go_on(
    label: int, count: int, seconds: Whole, follow: Whole, worth: Real, nodes: Whole, kept: Bits, cuts: Bits,
    dear: Real, near: Whole, to_come: Real, least: float, enough: Real, width: int, rest: int, queued: Real,
    labels: Whole, value: Real, memory: Bits,
) -> int:  # fmt: skip
    """Write the labels one node further on than `label`, from index `count`; return the count of all, or -1.

    -1 means that there is no room for them. Those worth no more than `enough` of their state, shape (states,), and
    those that come to no more than `least` at home are left out; and those worth no more than one that waits in the
    same bucket of the clock, as `queued` remembers, shape (states, buckets), or (states, 0) where that does not count.
    A step of the table `to_come` is as long as a bucket of the clock, `width`.
    """
    base, words = len(seconds), memory.shape[1] - 1
    unrested, here = labels[NODE, label] // base, labels[NODE, label] % base
    ended, so_far = labels[FINISH, label], value[0, label]
    for there in follow[here]:
        if there < 0:
            break
        lasts, reached = seconds[here, there], so_far + worth[here, there]
        if remembers(memory, label, nodes[there, PLACE]):
            continue
        begun = memory[label, words] & kept[there, words]
        reached -= costs_of(begun & cuts[there], dear)
        mask = looked_up(memory, label, there, near) if to_come.shape[1] else 0
        for layer in range(unrested, -1, -1):
            state = there + layer * base
            finish = max(ended + lasts + (rest if layer < unrested else 0), nodes[there, EARLY])
            if finish > nodes[there, LATE] or reached <= enough[state]:
                continue
            if to_come.shape[1] and reached + to_come[state, finish // width, mask] <= least:
                continue
            if is_queued_better(state, finish, reached, width, queued):
                continue
            if count == labels.shape[1]:
                return -1
            labels[NODE, count], labels[FINISH, count], labels[BEFORE, count] = state, finish, label
            value[0, count] = reached
            for word in range(words):
                memory[count, word] = memory[label, word] & kept[there, word]
            memory[count, words] = begun ^ cuts[there]
            remember(memory, count, nodes[there, PLACE])
            count += 1
    return count


@compiled
def begin(nodes: Whole, worth: Real, cuts: Bits, labels: Whole, value: Real, memory: Bits) -> int:
    """Write a label for each state that a walk may begin at, from index 0; return how many there are."""
    count, base = 0, len(worth) - 1
    for state in range(len(nodes)):
        if nodes[state, BEGINS] <= nodes[state, LATE]:
            labels[NODE, count], labels[FINISH, count], labels[BEFORE, count] = state, nodes[state, BEGINS], -1
            value[0, count] = worth[base, state % base]
            memory[count, :] = np.uint64(0)
            memory[count, memory.shape[1] - 1] = cuts[state % base]
            remember(memory, count, nodes[state, PLACE])
            count += 1
    return count


@compiled
def ng_routes(
    seconds: Whole, follow: Whole, worth: Real, nodes: Whole, kept: Bits, cuts: Bits, dear: Real, near: Whole,
    to_come: Real, asked: Whole, least: float, labels: Whole, value: Real, memory: Bits, ends: Whole, gains: Real,
) -> tuple[int, bool]:  # fmt: skip
    """Write the walks worth more than `least` into `ends` (their last labels) and `gains`; return how many.

    `worth`, shape (nodes + 1, nodes + 1), is what going on is worth, the last row from base and the last column home;
    `follow`, shape (nodes, many), are the nodes to which a walk goes on from each, -1 from where there are no more.
    `kept` are the tasks that a node remembers, a bit each, shape (nodes, words + 1); its last word are the cuts that it
    remembers, `cuts`, shape (nodes,), those that count it: every second node of one makes the walk `dear`er, shape
    (64,). A state is a node; or, after all these, a node before the break, which lengthens one way by that and without
    which no walk ends: `nodes` and the table `to_come` have a row each, those before the break only where it matters
    when it is. How it is done stands in `asked`. The arrays from `labels` to `memory` are room for labels, `ends` and
    `gains` for what is found. The second answer says whether the room and the labels to be compared sufficed; where
    not, walks are missing. Not exact, of two labels of a state the one worth more dominates one that is no earlier by a
    bucket, whatever they remember: some walks are missed.
    """
    width, base, exact = max(1, asked[CLOCK]), len(seconds), asked[EXACT] == 1
    buckets = np.full(nodes[:, LATE].max() // width + 1, -1, dtype=np.int64)
    heads = np.full(len(nodes), -1, dtype=np.int64)
    enough = np.full(len(nodes), NEVER)
    queued = np.full((len(nodes), 0 if exact else len(buckets)), NEVER)
    found, fits = 0, True
    count = begin(nodes, worth, cuts, labels, value, memory)
    queue_labels(0, count, labels, width, buckets)
    bucket, label = next_of(0, labels, buckets)
    while label >= 0:
        state = labels[NODE, label]
        here = state % base
        asked[COMPARED] += A_LABEL
        if asked[COMPARED] > asked[MOST_COMPARED]:
            return found, False
        if exact:
            skipped = is_dominated(label, heads[state], dear, labels, value, memory, asked)
            skipped = skipped or (
                state >= base and is_dominated(label, heads[here], dear, labels, value, memory, asked)
            )
            if not skipped:
                labels[FOLLOWING, label], heads[state] = heads[state], label
        else:
            skipped = max(enough[state], enough[here]) >= value[0, label]
            enough[state] = max(enough[state], value[0, label])
        if not skipped:
            whole = value[0, label] + worth[here, base]
            if state < base and labels[FINISH, label] <= nodes[here, LAST] and whole > least and found < len(ends):
                ends[found], gains[found] = label, whole
                found += 1
            more = go_on(
                label, count, seconds, follow, worth, nodes, kept, cuts, dear, near, to_come, least, enough, width,
                asked[BREAK], queued, labels, value, memory,
            )  # fmt: skip
            if more < 0:
                fits, more = False, labels.shape[1]
            queue_labels(count, more, labels, width, buckets)
            count = more
        bucket, label = next_of(bucket, labels, buckets)
    return found, fits
