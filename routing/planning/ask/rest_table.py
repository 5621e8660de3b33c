"""The table of the rest of a day: for each set of work done, last stop and state of the break, the earliest finish.

Whatever follows is never worse for having begun sooner. A set is a number with a bit a task, the tasks of a stop are
neighbours in it. Where base may be come back to, each place stands there once more for the trip from base, with bits of
its own; no task is done on both trips, and only such sets are in the table. A stop may be made again for other tasks,
in another window or the same. Sets of one size are gone through at once, in whole arrays.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.ask.rest_load import Carried

Finishes = NDArray[np.int32]
Sets = NDArray[np.int64]

NEVER = np.int32(1 << 30)
NOT_YET, RESTED, AT_SUSPECT = 0, 1, 2
"""Of the break; the last where it was taken at a site that is last of the day."""


@dataclass(frozen=True)
class Choice:
    """Some tasks of a stop done together."""

    bits: int
    """Of the tasks, in the number of a set."""
    either: int
    """Of the tasks on whichever trip: a set with one of these has no room for them."""
    tasks: tuple[int, ...]
    seconds: int
    spans: tuple[tuple[int, int], ...]
    """When it may be done: opens and closes, by opening."""

    def finish(self, ready: int) -> int:
        """Return when it is over if it may begin at `ready`, in the first window that holds it."""
        ends = ((max(ready, opens) + self.seconds, closes) for opens, closes in self.spans)
        return next((end for end, closes in ends if end <= closes), int(NEVER))

    def finishes(self, ready: Finishes) -> Finishes:
        """Return the same for many moments."""
        found = np.full(len(ready), NEVER, dtype=np.int32)
        for opens, closes in reversed(self.spans):
            ends = np.maximum(ready, np.int32(max(opens, 0))) + np.int32(self.seconds)
            found = np.where(ends <= closes, ends, found)
        return found.astype(np.int32)


@dataclass(frozen=True)
class Place:
    """A stop that may be made, with the drives to it and from it; below zero where there is no way."""

    choices: tuple[Choice, ...]
    last_of_day: bool
    out: int
    """From where the crew stands."""
    home: int
    onward: tuple[int, ...]
    """To each place."""
    trip: int = 0
    """1 on the trip from base."""
    base_out: int = -1
    """From base."""
    move: int = -1
    """The bit of its task where that is a move of hives: within it more is on board than after it."""


@dataclass(frozen=True)
class Rest:
    """What is left of a day."""

    now: int
    home_by: int
    break_seconds: int
    latest_break: int
    """When the break has to begin, and how late a day without one may be home."""
    places: tuple[Place, ...]
    out_home: int = -1
    """From where the crew stands to base."""
    loading: int = 0


@dataclass(frozen=True)
class Way:
    """One way to a place."""

    at: int | None
    """The place before; None for where the crew stands."""
    before: int
    """State of the break."""
    after: int
    seconds: int
    latest: int
    """When what is before has to be finished."""


@dataclass(frozen=True)
class Step:
    """A stop of an order."""

    place: int
    choice: Choice
    finish: int
    state: int


@dataclass(frozen=True, eq=False)
class Table:
    """The earliest finishes of all sets that are looked at."""

    sets: Sets
    """Rising, the empty one first."""
    finishes: Finishes
    """Shape (states of the break, places, sets)."""

    def at(self, sets: Sets) -> Sets:
        """Return the columns of sets that are in the table."""
        return np.searchsorted(self.sets, sets)


def every_set(tasks: int, trips: int) -> Sets:
    """Return all sets of so many tasks, each on one of so many trips, rising; shape ((trips + 1) ** tasks,)."""
    found = np.zeros(1, dtype=np.int64)
    for task in range(tasks):
        found = np.concatenate([found, *(found | 1 << task + trip * tasks for trip in range(trips))])
    return np.sort(found)


def filled(rest: Rest, sets: Sets, can: Carried) -> Table:
    """Return the table of these sets, of those that can be carried."""
    states = 3 if rest.break_seconds else 1
    table = Table(sets, np.full((states, len(rest.places), len(sets)), NEVER, dtype=np.int32))
    sizes = np.bitwise_count(sets)
    for size in range(int(sizes.max())):
        some = np.flatnonzero((sizes == size) & can.allowed)
        if size:
            some = some[(table.finishes[:, :, some] < NEVER).any(axis=(0, 1))]
        if len(some):
            for to, place in enumerate(rest.places):
                _go_on(rest, table, some, to, can.room.get(place.move))
    return table


def _go_on(rest: Rest, table: Table, some: Sets, to: int, room: NDArray[np.bool_] | None) -> None:
    ready = _ready(rest, table, some, to)
    for choice in rest.places[to].choices:
        free = np.flatnonzero(table.sets[some] & choice.either == 0)
        after = table.at(table.sets[some[free]] | choice.bits)
        for state, moments in enumerate(ready):
            ends = choice.finishes(moments[free])
            ends[(ends > rest.home_by) | (room is not None and ~room[after])] = NEVER
            table.finishes[state, to, after] = np.minimum(table.finishes[state, to, after], ends)


def _ready(rest: Rest, table: Table, some: Sets, to: int) -> list[Finishes]:
    """Return when work at a place may begin after each set, by state of the break."""
    found = [np.full(len(some), NEVER, dtype=np.int32) for _ in range(len(table.finishes))]
    for way in ways(rest, to, begun=bool(some[0])):
        finish = np.full(len(some), rest.now, dtype=np.int32)
        finish = finish if way.at is None else table.finishes[way.before][way.at, some]
        finish = np.where(finish <= way.latest, finish, NEVER)
        found[way.after] = np.minimum(found[way.after], finish + np.int32(way.seconds))
    return found


def ways(rest: Rest, to: int, *, begun: bool) -> Iterator[Way]:
    """Yield each way to a place, straight or by base."""
    there, ever = rest.places[to], int(NEVER)
    if not begun:
        yield from _first_ways(rest, there)
        return
    for number, place in enumerate(rest.places):
        drive = place.onward[to]
        if place.trip < there.trip:
            if not place.last_of_day:
                yield from _by_base(rest, number, there, place.home)
        elif place.trip == there.trip and drive >= 0 and (there.last_of_day or not place.last_of_day):
            for state in range(3 if rest.break_seconds else 1):
                yield Way(number, state, state, drive, ever)
            if rest.break_seconds:
                after = AT_SUSPECT if place.last_of_day else RESTED
                yield Way(number, NOT_YET, after, drive + rest.break_seconds, rest.latest_break)


def _first_ways(rest: Rest, there: Place) -> Iterator[Way]:
    """Yield each way to a place from where the crew stands."""
    if there.trip:
        yield from _by_base(rest, None, there, rest.out_home)
    elif there.out >= 0:
        yield Way(None, NOT_YET, NOT_YET, there.out, int(NEVER))
        if rest.break_seconds:
            rested = AT_SUSPECT if there.last_of_day else RESTED
            yield Way(None, NOT_YET, rested, there.out + rest.break_seconds, int(NEVER))


def _by_base(rest: Rest, at: int | None, there: Place, back: int) -> Iterator[Way]:
    """Yield the ways by base, with the break there or without: it is never begun later than it is due."""
    if back < 0 or there.base_out < 0:
        return
    seconds = back + rest.loading + there.base_out
    latest = rest.home_by - back - rest.loading
    due = min(latest, rest.latest_break - back)
    for state in range(2 if rest.break_seconds and at is not None else 1):
        yield Way(at, state, state, seconds, due if rest.break_seconds and state == NOT_YET else latest)
    if rest.break_seconds:
        pause = rest.break_seconds
        yield Way(at, NOT_YET, RESTED, seconds + pause, min(due, latest - pause))


def homes(rest: Rest, table: Table, can: Carried) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Return when the crew is home at the soonest with each set done, and whether only after a break at a suspect site.

    Shape (sets,); NEVER where it is not home in time.
    """
    clean, dirty = (np.full(len(table.sets), NEVER, dtype=np.int64) for _ in range(2))
    for number, place in enumerate(rest.places):
        for state in range(len(table.finishes)) if place.home >= 0 else ():
            back = table.finishes[state, number].astype(np.int64) + place.home
            back[back > last_home(rest, state)] = NEVER
            kept = dirty if state == AT_SUSPECT else clean
            np.minimum(kept, back, out=kept)
    clean[~can.allowed] = dirty[~can.allowed] = NEVER
    return np.where(clean < NEVER, clean, dirty), clean >= NEVER


def last_home(rest: Rest, state: int) -> int:
    """Return how late the crew may be home: without a break only before one is due."""
    return min(rest.home_by, rest.latest_break) if rest.break_seconds and state == NOT_YET else rest.home_by


def traced(rest: Rest, table: Table, column: int, home: int, *, dirty: bool) -> list[Step]:
    """Return the order that does a set and is home then, found again from its end."""
    states = (AT_SUSPECT,) if dirty else (NOT_YET, RESTED)
    number, state = next(
        (number, state)
        for number, place in enumerate(rest.places)
        for state in states
        if state < len(table.finishes)
        and place.home >= 0
        and home <= last_home(rest, state)
        and int(table.finishes[state, number, column]) + place.home == home
    )
    steps: list[Step] = []
    while column:
        finish = int(table.finishes[state, number, column])
        choice, before, was = _entered(rest, table, (number, state, column), finish)
        steps.append(Step(number, choice, finish, state))
        column = int(table.at(table.sets[column : column + 1] & ~choice.bits)[0])
        number, state = before, was
    return steps[::-1]


def _entered(rest: Rest, table: Table, here: tuple[int, int, int], finish: int) -> tuple[Choice, int, int]:
    """Return what was done last, where the crew came from, and the state of the break there."""
    number, state, column = here
    done = table.sets[column : column + 1]
    for choice in rest.places[number].choices:
        if choice.bits & ~int(done[0]):
            continue
        before = int(table.at(done & ~choice.bits)[0])
        for way in ways(rest, number, begun=bool(before)):
            ready = rest.now if way.at is None else int(table.finishes[way.before, way.at, before])
            may = way.after == state and ready <= way.latest and ready < NEVER
            if may and choice.finish(ready + way.seconds) == finish:
                return choice, -1 if way.at is None else way.at, way.before
    raise AssertionError("the table holds a state that nothing leads to")
