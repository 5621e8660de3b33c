"""In what order absent tasks are inserted again, compiled."""

from __future__ import annotations

import numpy as np

from routing.planning.heuristics.ruin_segments import FIRST, LATEST, OPENS, PRICE, RANK, SERVICE, Dice, Real, Whole
from routing.planning.running.compiled import compiled

BY_CHANCE, LONGEST_FIRST, FARTHEST_FIRST, NEAREST_FIRST, BRIEFEST_FIRST, EARLIEST_FIRST, LATEST_FIRST, BY_PRICE = range(
    8
)
SORT_CRITERIA = np.array(
    [BY_CHANCE] * 6
    + [LONGEST_FIRST] * 3
    + [FARTHEST_FIRST] * 2
    + [NEAREST_FIRST]
    + [BRIEFEST_FIRST] * 2
    + [EARLIEST_FIRST]
    + [LATEST_FIRST]
    + [BY_PRICE] * 4
)
"""In what order tasks are inserted again, each as likely as it is often; all but the last by rank first."""

RANK_KEY = 1e9
"""More than any seconds."""


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
def key_of(arcs: Whole, clients: Whole, tasks: Whole, task: int, way: int, dice: Dice) -> float:
    """Return what a task is sorted by: at random, the longest, farthest, nearest, or briefest open first, and so on."""
    client = tasks[task, FIRST]
    key = tasks[task, RANK] * RANK_KEY
    if way == BY_PRICE:
        key = -tasks[task, PRICE] * (0.3 + chance(dice))
    elif way == LONGEST_FIRST:
        key -= clients[client, SERVICE]
    elif way == FARTHEST_FIRST:
        key -= arcs[0, 0, client + 1]
    elif way == NEAREST_FIRST:
        key += arcs[0, 0, client + 1]
    elif way == BRIEFEST_FIRST:
        key += clients[client, LATEST] - clients[client, OPENS]
    elif way == EARLIEST_FIRST:
        key += clients[client, OPENS]
    elif way == LATEST_FIRST:
        key -= clients[client, LATEST]
    else:
        key += chance(dice)
    return float(key)


@compiled
def sort(arcs: Whole, clients: Whole, tasks: Whole, absent: Whole, many: int, keys: Real, dice: Dice) -> None:
    """Put the first `many` tasks to be done into an order of a kind drawn by chance."""
    way = SORT_CRITERIA[int(chance(dice) * len(SORT_CRITERIA))]
    for number in range(many):
        task = absent[number]
        key = key_of(arcs, clients, tasks, task, way, dice)
        at = number
        while at > 0 and keys[at - 1] > key:
            keys[at], absent[at] = keys[at - 1], absent[at - 1]
            at -= 1
        keys[at], absent[at] = key, task
