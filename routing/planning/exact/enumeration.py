"""All elementary routes of one crew-day that prices leave: the least costly of each set of tasks, compiled.

What a linear programme's prices show in no answer as good as is asked for is dropped with all that would follow it.
Of two labels of the same tasks at one node, one that is no later, has taken no longer and can leave base no sooner
will do.
Source: R. Baldacci, N. Christofides, A. Mingozzi, "An exact algorithm for the vehicle routing problem based on the set
partitioning formulation with additional cuts", Mathematical Programming 115 (2008), from memory, not checked.
"""

from __future__ import annotations

import numpy as np

from routing.planning.labelling.clock import next_of, queue_labels
from routing.planning.labelling.columns import (
    BESIDE,
    FINISH,
    FOLLOWING,
    HAD_REST,
    HALT,
    LATE,
    LEAST_COST,
    LEAVES,
    LOADS,
    METRES,
    METRES_FIRST,
    MOST_COMPARED,
    NODE,
    PLACE,
    RESTS,
    SECONDS,
    SOONEST,
    STEP,
    TOOK,
    Bits,
    Real,
    Whole,
)
from routing.planning.labelling.elementary import begin_day, comes_home, go_on
from routing.planning.labelling.memory import remember
from routing.planning.running.compiled import compiled

CHAINS = 1 << 18
"""Labels are compared only where their node and their tasks leave the same remainder."""


@compiled
def chain_of(label: int, labels: Whole, done: Bits) -> int:
    """Return the chain of those that a label is compared with."""
    mixed = np.uint64(labels[NODE, label] * 2 + labels[HAD_REST, label] + 1)
    for word in range(done.shape[1]):
        mixed = (mixed ^ done[label, word]) * np.uint64(0x9E3779B97F4A7C15)
        mixed ^= mixed >> np.uint64(29)
    return int(mixed % np.uint64(CHAINS))


@compiled
def is_dominated(label: int, first: int, loads: Whole, labels: Whole, done: Bits, metres: bool) -> bool:  # noqa: FBT001 - compiled code takes no names
    """Return whether a label in the chain from `first` did the same and is no worse; `metres` says if these count."""
    other = first
    while other >= 0:
        alike = labels[NODE, other] == labels[NODE, label] and labels[HAD_REST, other] == labels[HAD_REST, label]
        for word in range(done.shape[1]):
            alike = alike and done[other, word] == done[label, word]
        if (
            alike
            and labels[FINISH, other] <= labels[FINISH, label]
            and labels[TOOK, other] <= labels[TOOK, label]
            and labels[LEAVES, other] >= labels[LEAVES, label]
            and labels[SOONEST, other] <= labels[SOONEST, label]
            and (not metres or labels[METRES, other] <= labels[METRES, label])
        ):
            for load in range(loads.shape[1]):
                if loads[BESIDE, load] >= 0 and labels[LOADS + load, other] > labels[LOADS + load, label]:
                    alike = False
            if alike:
                return True
        other = labels[FOLLOWING, other]
    return False


@compiled
def meets(
    label: int, away: int, ways: Whole, day: Whole, worth: Real, floors: Real, labels: Whole, value: Real
) -> bool:
    """Return whether the day that a label ends meets every goal."""
    here, base = labels[NODE, label], ways.shape[1] - 1
    for goal in range(len(floors)):
        needed = floors[goal]
        if goal == len(floors) - 1 and day[LEAST_COST] and not day[METRES_FIRST]:
            needed += away - labels[TOOK, label] - ways[SECONDS, here, base]
        if value[goal, label] + worth[goal, here, base] < needed:
            return False
    return True


@compiled
def every_route(
    ways: Whole, nodes: Whole, day: Whole, loads: Whole, limits: Whole, latest: Whole, near: Whole, worth: Real,
    to_come: Real, floors: Real, labels: Whole, value: Real, memory: Bits, done: Bits, ends: Whole,
) -> tuple[int, bool, int]:  # fmt: skip
    """Write all days that meet the goals into `ends`: last label, seconds away, metres; return how many there are.

    Of days of the same tasks and last node those that are no better may be missing. The second answer says whether all
    were found; where not, the room did not suffice, or as many labels as may be compared. The third is how many labels
    there were. See `go_on` for the arrays; `worth` has a column more, of going home; where `day` says that the least
    cost is sought, waits count against the last goal. `done` are the tasks that a label did, a bit each, shape (labels,
    words).
    """
    base, step, best = len(nodes), day[STEP], np.array([-1, 0, 0], dtype=np.int64)
    buckets = np.full(nodes[:, LATE].max() // step + 1, -1, dtype=np.int64)
    heads = np.full(CHAINS, -1, dtype=np.int64)
    begin_day(base, day[RESTS], labels, value, memory)
    done[0, :] = np.uint64(0)
    label, count, found, bucket = 0, 1, 0, 0
    while label >= 0:
        chain = chain_of(label, labels, done)
        if not is_dominated(label, heads[chain], loads, labels, done, day[LEAST_COST] == 1):
            labels[FOLLOWING, label], heads[chain] = heads[chain], label
            away, metres = comes_home(label, ways, day, labels) if label else (-1, 0)
            if away >= 0 and meets(label, away, ways, day, worth, floors, labels, value):
                if found == len(ends):
                    return found, False, count
                ends[found, 0], ends[found, 1], ends[found, 2] = label, away, metres
                found += 1
            more = go_on(
                label, count, ways, nodes, day, loads, limits, latest, near, worth, to_come, floors, best, labels,
                value, memory,
            )  # fmt: skip
            if more < 0 or day[HALT] or count > day[MOST_COMPARED]:
                return found, False, count
            for new in range(count, more):
                done[new] = done[label]
                remember(done, new, nodes[labels[NODE, new], PLACE])
            queue_labels(count, more, labels, step, buckets)
            count = more
        bucket, label = next_of(bucket, labels, buckets)
    return found, True, count
