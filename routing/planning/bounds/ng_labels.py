"""Walks of one crew-day that are worth more than a given value: labels set in the order of the clock, compiled.

A label is a walk that has just finished a node. It remembers those tasks it did that every node since has among its
neighbours. Of two labels at one node, one that is no later, worth no less, and remembers no more makes the other
needless. What may still come, looked up in a table that remembers fewer neighbours, ends labels that lead nowhere.
Source: R. Baldacci, A. Mingozzi, R. Roberti, "New route relaxation and pricing strategies for the vehicle routing
problem", Operations Research 59 (2011), from memory, not checked.
"""

from __future__ import annotations

import numpy as np

from routing.planning.labelling.columns import Bits, Real, Whole
from routing.planning.labelling.memory import looked_up, queue, remember, remembers
from routing.planning.running.compiled import compiled

NEVER = -1e18


@compiled
def moves(seconds: Whole, place: Whole, near: Whole) -> Whole:
    """Return what is remembered after going on, shape (nodes, nodes, masks); -1 where the task there is remembered.

    A mask has a bit for each place in `near`, shape (nodes, remembered), that was done; places are numbers of tasks,
    -1 stands for none.
    """
    nodes, remembered = near.shape
    found = np.full((nodes, nodes, 1 << remembered), -1, dtype=np.int64)
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
def still_to_come(
    seconds: Whole, worth: Real, early: Whole, late: Whole, last: Whole, home: Real, after: Whole, step: int
) -> Real:
    """Return what may follow at the most, shape (nodes, steps, masks): after finishing a node in a step of the clock.

    `step` is at most the shortest of `seconds` that are not negative, and those that are mean no way. `worth` is what
    going from one node to the next is worth, `home` what ending at a node is; `after` are the `moves`.
    """
    nodes, _, masks = after.shape
    steps = late.max() // step + 1
    table = np.full((nodes, steps, masks), NEVER)
    for tick in range(steps - 1, -1, -1):
        now = tick * step
        for here in range(nodes):
            if now + step <= early[here]:
                continue
            best = table[here, tick]
            if now <= last[here]:
                best[:] = home[here]
            for there in range(nodes):
                if seconds[here, there] < 0:
                    continue
                finish = max(now + seconds[here, there], early[there])
                if finish > late[there]:
                    continue
                gain = worth[here, there]
                then, kept = table[there, finish // step], after[here, there]
                for mask in range(masks):
                    if kept[mask] >= 0:
                        best[mask] = max(best[mask], gain + then[kept[mask]])
    return table


@compiled
def needless(label: int, first: int, time: Whole, value: Real, memory: Bits, following: Whole) -> bool:
    """Return whether a label in the chain from `first` is no later, worth no less, and remembers no more."""
    other = first
    while other >= 0:
        if value[other] >= value[label] and time[other] <= time[label]:
            inside = True
            for word in range(memory.shape[1]):
                if memory[other, word] & ~memory[label, word]:
                    inside = False
            if inside:
                return True
        other = following[other]
    return False


@compiled
def go_on(
    label: int,
    count: int,
    seconds: Whole,
    worth: Real,
    early: Whole,
    late: Whole,
    place: Whole,
    kept: Bits,
    near: Whole,
    to_come: Real,
    step: int,
    least: float,
    enough: Real,
    width: int,
    queued: Real,
    node: Whole,
    time: Whole,
    value: Real,
    memory: Bits,
    before: Whole,
) -> int:
    """Write the labels one node further on than `label`, from index `count`; return the count of all, or -1.

    -1 means that there is no room for them. Those worth no more than `enough` of their node, shape (nodes,), and those
    that come to no more than `least` at home are left out; and those worth no more than one that waits in the same
    bucket of the clock, as `queued` remembers, shape (nodes, buckets), or (nodes, 0) where that does not count.
    """
    here = node[label]
    for there in range(len(early)):
        if seconds[here, there] < 0 or remembers(memory, label, place[there]):
            continue
        finish = max(time[label] + seconds[here, there], early[there])
        reached = value[label] + worth[here, there]
        if finish > late[there] or reached <= enough[there]:
            continue
        if to_come.shape[1]:
            mask = looked_up(memory, label, there, near)
            if reached + to_come[there, finish // step, mask] <= least:
                continue
        if queued.shape[1]:
            if reached <= queued[there, finish // width]:
                continue
            queued[there, finish // width] = reached
        if count == len(node):
            return -1
        node[count], time[count], value[count], before[count] = there, finish, reached, label
        for word in range(memory.shape[1]):
            memory[count, word] = memory[label, word] & kept[there, word]
        remember(memory, count, place[there])
        count += 1
    return count


@compiled
def open_labels(
    begins: Whole, opening: Real, late: Whole, place: Whole, node: Whole, time: Whole, value: Real, memory: Bits,
    before: Whole,
) -> int:  # fmt: skip
    """Write a label for each node that a walk may begin at, from index 0; return how many there are."""
    count = 0
    for here in range(len(late)):
        if begins[here] <= late[here]:
            node[count], time[count], value[count], before[count] = here, begins[here], opening[here], -1
            memory[count, :] = np.uint64(0)
            remember(memory, count, place[here])
            count += 1
    return count


@compiled
def set_labels(
    seconds: Whole, worth: Real, begins: Whole, opening: Real, early: Whole, late: Whole, last: Whole, home: Real,
    place: Whole, kept: Bits, near: Whole, to_come: Real, step: int, least: float, exact: bool, node: Whole,  # noqa: FBT001
    time: Whole, value: Real, memory: Bits, before: Whole, link: Whole, ends: Whole, gains: Real,
) -> tuple[int, bool]:  # fmt: skip
    """Write the walks worth more than `least` into `ends` (their last labels) and `gains`; return how many.

    A walk begins at a node with `opening` value, finished at `begins`; `kept` are the tasks that a node remembers, a
    bit each, shape (nodes, words). The arrays from `node` to `link` are room for labels, `ends` and `gains` for what
    is found. The second answer says whether the room sufficed; where not, walks are missing. Not `exact`, of two
    labels at a node the one worth more makes one that is no earlier by a bucket needless whatever they remember: some
    walks are missed.
    """
    width = max(1, step)
    buckets = np.full(late.max() // width + 1, -1, dtype=np.int64)
    heads = np.full(len(early), -1, dtype=np.int64)
    following = np.full(len(node) if exact else 0, -1, dtype=np.int64)
    enough = np.full(len(early), NEVER)
    queued = np.full((len(early), 0 if exact else len(buckets)), NEVER)
    found = 0
    count = open_labels(begins, opening, late, place, node, time, value, memory, before)
    queue(0, count, time, width, buckets, link)
    fits = True
    for bucket in range(len(buckets)):
        while buckets[bucket] >= 0:
            label = buckets[bucket]
            buckets[bucket] = link[label]
            here = node[label]
            if exact:
                if needless(label, heads[here], time, value, memory, following):
                    continue
                following[label], heads[here] = heads[here], label
            else:
                if enough[here] >= value[label]:
                    continue
                enough[here] = value[label]
            if time[label] <= last[here] and value[label] + home[here] > least and found < len(ends):
                ends[found], gains[found] = label, value[label] + home[here]
                found += 1
            more = go_on(
                label, count, seconds, worth, early, late, place, kept, near, to_come, step, least, enough,
                width, queued, node, time, value, memory, before,
            )  # fmt: skip
            if more < 0:
                fits, more = False, len(node)
            queue(count, more, time, width, buckets, link)
            count = more
    return found, fits
