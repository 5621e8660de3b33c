"""The table of the rest of a day: for each set of work done, last stop and state of the break, the earliest finish.

Whatever follows is never worse for having begun sooner. A set is a number with a bit a task, the tasks of a stop are
neighbours in it. Where base may be come back to, each place stands there once more for the trip from base, with bits of
its own. A stop may be made again for other tasks, in another window or the same. Sets of one size are gone
through at once, in whole arrays.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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
    room: NDArray[np.bool_] | None = None
    """By set with its task, whether what is on board within this stop has room; None where no more is than after it."""


@dataclass(frozen=True)
class Rest:
    """What is left of a day."""

    now: int
    home_by: int
    break_seconds: int
    latest_break: int
    """When the break has to begin, and how late a day without one may be home."""
    places: tuple[Place, ...]
    allowed: NDArray[np.bool_]
    """By set, whether it can be carried and is on board."""
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


def filled(rest: Rest) -> Finishes:
    """Return the table, shape (states of the break, places, sets)."""
    sets, states = len(rest.allowed), 3 if rest.break_seconds else 1
    table = np.full((states, len(rest.places), sets), NEVER, dtype=np.int32)
    numbers = np.arange(sets, dtype=np.int64)
    sizes = np.bitwise_count(numbers)
    for size in range(int(sizes.max())):
        some = numbers[(sizes == size) & rest.allowed]
        if size:
            some = some[(table[:, :, some] < NEVER).any(axis=(0, 1))]
        if len(some):
            for to, place in enumerate(rest.places):
                _go_on(rest, table, some, to, place)
    return table


def _go_on(rest: Rest, table: Finishes, sets: Sets, to: int, place: Place) -> None:
    ready = _ready(rest, table, sets, to)
    for choice in place.choices:
        free = np.flatnonzero(sets & choice.bits == 0)
        after = sets[free] | choice.bits
        for state, moments in enumerate(ready):
            ends = choice.finishes(moments[free])
            ends[(ends > rest.home_by) | (place.room is not None and ~place.room[after])] = NEVER
            table[state, to, after] = np.minimum(table[state, to, after], ends)


def _ready(rest: Rest, table: Finishes, sets: Sets, to: int) -> list[Finishes]:
    """Return when work at a place may begin after each set, by state of the break."""
    found = [np.full(len(sets), NEVER, dtype=np.int32) for _ in range(len(table))]
    for way in _ways(rest, to, begun=bool(sets[0])):
        finish = np.full(len(sets), rest.now, dtype=np.int32) if way.at is None else table[way.before][way.at, sets]
        finish = np.where(finish <= way.latest, finish, NEVER)
        found[way.after] = np.minimum(found[way.after], finish + np.int32(way.seconds))
    return found


def _ways(rest: Rest, to: int, *, begun: bool) -> Iterator[Way]:
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


def homes(rest: Rest, table: Finishes) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Return when the crew is home at the soonest with each set done, and whether only after a break at a suspect site.

    Shape (sets,); NEVER where it is not home in time.
    """
    clean, dirty = (np.full(table.shape[2], NEVER, dtype=np.int64) for _ in range(2))
    for number, place in enumerate(rest.places):
        for state in range(len(table)) if place.home >= 0 else ():
            back = table[state, number].astype(np.int64) + place.home
            back[back > last_home(rest, state)] = NEVER
            kept = dirty if state == AT_SUSPECT else clean
            np.minimum(kept, back, out=kept)
    clean[~rest.allowed] = dirty[~rest.allowed] = NEVER
    return np.where(clean < NEVER, clean, dirty), clean >= NEVER


def last_home(rest: Rest, state: int) -> int:
    """Return how late the crew may be home: without a break only before one is due."""
    return min(rest.home_by, rest.latest_break) if rest.break_seconds and state == NOT_YET else rest.home_by


def traced(rest: Rest, table: Finishes, done: int, home: int, *, dirty: bool) -> list[Step]:
    """Return the order that does a set and is home then, found again from its end."""
    states = (AT_SUSPECT,) if dirty else (NOT_YET, RESTED)
    number, state = next(
        (number, state)
        for number, place in enumerate(rest.places)
        for state in states
        if state < len(table)
        and place.home >= 0
        and home <= last_home(rest, state)
        and int(table[state, number, done]) + place.home == home
    )
    steps: list[Step] = []
    while done:
        finish = int(table[state, number, done])
        choice, before, was = _entered(rest, table, (number, state, done), finish)
        steps.append(Step(number, choice, finish, state))
        done, number, state = done & ~choice.bits, before, was
    return steps[::-1]


def _entered(rest: Rest, table: Finishes, here: tuple[int, int, int], finish: int) -> tuple[Choice, int, int]:
    """Return what was done last, where the crew came from, and the state of the break there."""
    number, state, done = here
    for choice in rest.places[number].choices:
        if choice.bits & ~done:
            continue
        before = done & ~choice.bits
        for way in _ways(rest, number, begun=bool(before)):
            ready = rest.now if way.at is None else int(table[way.before, way.at, before])
            may = way.after == state and ready <= way.latest and ready < NEVER
            if may and choice.finish(ready + way.seconds) == finish:
                return choice, -1 if way.at is None else way.at, way.before
    raise AssertionError("the table holds a state that nothing leads to")


def summed(each: Sequence[float], bits: int | None = None) -> NDArray[np.float64]:
    """Return for every set the sum over its tasks, shape (sets,); whole numbers stay whole up to 2 to the 53rd.

    Sets of more bits than there are tasks take nothing for the others.
    """
    found = np.zeros(1 << len(each), dtype=np.float64)
    for task, amount in enumerate(each):
        found[1 << task : 2 << task] = found[: 1 << task] + amount
    return np.tile(found, 1 << ((bits or len(each)) - len(each)))
