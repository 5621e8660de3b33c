"""Which musts clash in the rest of a day: the fewest that no day holds, though it holds all but any one of them.

Both are read off tables of all sets of the musts (`rest_table.py`): one as the day is, one in which all is easier, by
whatever else the day may do. What is not in a table is not said: where the musts are too many for one, those that are
left out and as many more as it holds are looked at.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from routing.planning.ask.rest_load import AtBase, Carried, carried
from routing.planning.ask.rest_places import rest_of
from routing.planning.ask.rest_size import sizes_of
from routing.planning.ask.rest_table import NEVER, NOT_YET, Sets, every_set, filled, homes
from routing.planning.explain.quickest import by_way_of
from routing.planning.model.problem import Problem

Flags = NDArray[np.bool_]


def clashing(problem: Problem, musts: Sequence[int], left_out: Collection[int], base: AtBase | None) -> tuple[int, ...]:
    """Return the fewest of the tasks `musts` that no rest of the day holds, though it holds all but any one of them.

    Empty where there are none, and where that is not certain.
    """
    trips = 1 if base is None else 2
    numbers = [task for task in musts if problem.routes[0].allowed[task] and problem.visits_of[task]]
    kept = sorted(numbers, key=lambda task: task not in left_out)
    while kept and not sizes_of(problem, [task for task in numbers if task in kept], trips).whole:
        kept.pop()
    numbers = [task for task in numbers if task in kept]
    if not numbers:
        return ()
    sets = every_set(len(numbers), trips)
    can = carried(problem, numbers, base, sets)
    held = _either(_held(problem, numbers, base, (sets, can)), sets, len(numbers))
    maybe = _either(_perhaps_held(problem, numbers, base, (sets, can)), sets, len(numbers))
    every = np.arange(len(held))
    clash = ~maybe
    for bit in range(len(numbers)):
        clash &= (every >> bit & 1 == 0) | held[every & ~(1 << bit)]
    found = np.flatnonzero(clash & (np.bitwise_count(every) > 1))
    if not len(found):
        return ()
    best = int(found[np.argmin(np.bitwise_count(found))])
    return tuple(task for bit, task in enumerate(numbers) if best >> bit & 1)


def _held(problem: Problem, numbers: Sequence[int], base: AtBase | None, table: tuple[Sets, Carried]) -> Flags:
    """Return which sets a day holds, by an order that is timed and carried; shape (sets,)."""
    sets, can = table
    rest = rest_of(problem, numbers, base, thin=False)
    home, _ = homes(rest, filled(rest, sets, can), can)
    return np.asarray((home < NEVER) | (sets == 0))


def _perhaps_held(problem: Problem, numbers: Sequence[int], base: AtBase | None, table: tuple[Sets, Carried]) -> Flags:
    """Return which sets a day may hold with others besides; what is not among them no day holds; shape (sets,).

    Others lie on the way, so each drive takes no longer than by whatever places; they may come after, so that the break
    is taken after these; and what weighs may be used, set down or taken off between them.
    """
    sets, can = table
    route = problem.routes[0]
    drives = by_way_of(route.drive_seconds, range(1, len(route.drive_seconds)))
    closer = replace(problem, routes=(replace(route, drive_seconds=drives),))
    if base is not None:
        straight = _or_never(base.out)
        out = np.minimum(straight, (straight[1:, None] + _or_never(drives[1:])).min(axis=0, initial=int(NEVER)))
        base = replace(base, out=np.where(out >= NEVER, -1, out))
    rest = rest_of(closer, numbers, base, thin=False)
    rest = replace(
        rest,
        places=tuple(replace(place, last_of_day=False) for place in rest.places),
        break_seconds=0 if base is not None else rest.break_seconds,  # others may host it before base or after it
    )
    light = Carried(can.enough, {}, can.enough, can.lacking, can.left)
    filled_in = filled(rest, sets, light)
    home, _ = homes(rest, filled_in, light)
    after = np.zeros(len(sets), dtype=np.bool_)
    for number, place in enumerate(rest.places if rest.break_seconds else ()):
        back = filled_in.finishes[NOT_YET, number].astype(np.int64) + place.home + rest.break_seconds
        after |= (back <= rest.home_by) & (place.home >= 0)
    return np.asarray((home < NEVER) | (after & can.enough) | (sets == 0))


def _or_never(seconds: NDArray[np.int64]) -> NDArray[np.int64]:
    return np.where(seconds < 0, np.int64(NEVER), seconds)


def _either(flags: Flags, sets: Sets, tasks: int) -> Flags:
    """Return by set of tasks, shape (2 ** tasks,), whether any sharing out over the trips is among those flagged."""
    found = np.zeros(1 << tasks, dtype=np.bool_)
    found[((sets | sets >> tasks) & ((1 << tasks) - 1))[flags]] = True
    return found
