"""The best order of one crew-day among all: labels that remember everything, kept few by what may still come, compiled.

Of two labels at one node one that is no later, has done no less, has taken no longer, can leave base no sooner, carries
no more, and still has all the other's ways open dominates the other. One that by the prices of a linear programme, and
a table of what may still come at those prices, cannot come to what is asked for is dropped: of published instances of
100 stops some thousands are left.
"""

from __future__ import annotations

import numpy as np

from routing.planning.labelling.clock import next_of, queue_labels
from routing.planning.labelling.columns import (
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
    POINTS,
    RESTS,
    SOONEST,
    STEP,
    TIMED,
    TOOK,
    Bits,
    Real,
    Whole,
)
from routing.planning.labelling.elementary import begin_day, comes_home, go_on
from routing.planning.running.compiled import compiled

CHAINS = 251
"""Labels of a node are compared only where their points leave the same remainder: others are seldom alike enough."""


@compiled
def is_dominated(label: int, first: int, day: Whole, labels: Whole, memory: Bits, compared: Whole) -> bool:
    """Return whether a label in the chain from `first` dominates `label`; `compared` counts those looked at."""
    other, points, finish = first, labels[POINTS, label], labels[FINISH, label]
    while other >= 0:
        compared[0] += 1
        if labels[POINTS, other] >= points and labels[FINISH, other] <= finish:
            inside = not day[TIMED] or (
                labels[TOOK, other] <= labels[TOOK, label]
                and labels[LEAVES, other] >= labels[LEAVES, label]
                and labels[SOONEST, other] <= labels[SOONEST, label]
            )
            if day[LEAST_COST] and labels[METRES, other] > labels[METRES, label]:
                inside = False
            for word in range(memory.shape[1]):
                if memory[other, word] & ~memory[label, word]:
                    inside = False
            for load in range(LOADS, len(labels)):
                if labels[load, other] > labels[load, label]:
                    inside = False
            if inside:
                return True
        other = labels[FOLLOWING, other]
    return False


@compiled
def is_best(points: int, away: int, metres: int, day: Whole, best: Whole) -> bool:
    """Return whether a whole day beats the best so far, and write it over that if so."""
    first, then = (metres, away) if day[METRES_FIRST] else (away, metres)
    better = bool(points > best[0])
    if day[LEAST_COST]:
        better = bool(points >= best[0]) and (first < best[1] or (first == best[1] and then < best[2]))
    if better:
        best[0], best[1], best[2] = points, first, then
    return better


@compiled
def best_route(
    ways: Whole, nodes: Whole, day: Whole, loads: Whole, limits: Whole, latest: Whole, near: Whole, worth: Real,
    to_come: Real, floors: Real, best: Whole, labels: Whole, value: Real, memory: Bits,
) -> tuple[int, bool, int]:  # fmt: skip
    """Return the last label of the best day (-1: none beats `best`), whether all were looked at, how many compared.

    See `go_on` for the arrays. What the last goal must come to rises with `best`, shape (3,): points, what comes first
    of seconds away and metres, the other. Where the least cost is sought these points are needed and the rest counts,
    else points alone; `best` is written over.
    """
    step = day[STEP]
    buckets = np.full(nodes[:, LATE].max() // step + 1, -1, dtype=np.int64)
    heads = np.full((len(nodes), 2, CHAINS), -1, dtype=np.int64)
    compared = np.zeros(1, dtype=np.int64)
    begin_day(len(nodes), day[RESTS], labels, value, memory)
    label, count, found, bucket = 0, 1, -1, 0
    while label >= 0:
        here, rested, remainder = labels[NODE, label], labels[HAD_REST, label], labels[POINTS, label] % CHAINS
        if label == 0 or not is_dominated(label, heads[here, rested, remainder], day, labels, memory, compared):
            if label > 0:
                labels[FOLLOWING, label], heads[here, rested, remainder] = heads[here, rested, remainder], label
                away, metres = comes_home(label, ways, day, labels)
                if away >= 0 and is_best(labels[POINTS, label], away, metres, day, best):
                    found = label
            more = go_on(
                label, count, ways, nodes, day, loads, limits, latest, near, worth, to_come, floors, best, labels,
                value, memory,
            )  # fmt: skip
            if more < 0 or day[HALT] or compared[0] > day[MOST_COMPARED]:
                return found, False, compared[0]
            queue_labels(count, more, labels, step, buckets)
            count = more
        bucket, label = next_of(bucket, labels, buckets)
    return found, True, compared[0]
