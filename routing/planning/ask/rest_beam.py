"""The best that a beam finds of a day of more than is looked at in full; the crew's page goes the same way.

Days are made longer job by job. Of all that have as many jobs done those are kept that promise most: the weight done,
and of what is left and can still be begun in time the most that the hours hold, rank by rank, each job with its
shortest drive. A second beam keeps to the order of the plan, and the best day of both is completed by whatever else
fits into it in its order.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields
from functools import cmp_to_key
from itertools import accumulate
from operator import or_

import numpy as np
from numpy.typing import NDArray

from routing.planning.ask.rest_load import AtBase, Flags, carried, summed
from routing.planning.ask.rest_table import (
    AT_SUSPECT,
    NEVER,
    NOT_YET,
    RESTED,
    Choice,
    Rest,
    Sets,
    Step,
    last_home,
    ways,
)
from routing.planning.model.problem import NO_LIMIT, RANKS, Problem

WIDTH = 400
"""How many days of as many jobs are made longer."""

THOUSAND = 1000
"""A job that fits the hours in part counts so many parts of its weight, rounded down."""

Numbers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Days:
    """Days under way; every array has shape (days,)."""

    sets: Sets
    at: Numbers
    """The place last worked at."""
    state: Numbers
    """Of the break."""
    finish: Numbers
    busy: Numbers
    """Seconds that were not waited."""
    before: Numbers
    """The day that it goes on from, -1 for none."""
    choice: Numbers
    """Which of the place's choices was made."""

    def some(self, rows: NDArray[np.int64] | NDArray[np.bool_]) -> Days:
        """Return some of them."""
        return Days(*(getattr(self, field.name)[rows] for field in fields(self)))


@dataclass(frozen=True, eq=False)
class Found:
    """What a beam found, by set of work done, the empty set first; arrays have shape (sets,)."""

    rest: Rest
    days: Days
    sets: Sets
    home: Numbers
    dirty: NDArray[np.bool_]
    last: Numbers
    """The day that is home soonest with that set, -1 for none."""

    def steps(self, column: int) -> list[Step]:
        """Return the stops of the day in a column."""
        day, found = int(self.last[column]), list[Step]()
        while day >= 0:
            place = int(self.days.at[day])
            choice = self.rest.places[place].choices[int(self.days.choice[day])]
            found.append(Step(place, choice, int(self.days.finish[day]), int(self.days.state[day])))
            day = int(self.days.before[day])
        return found[::-1]


Follows = Callable[[Days, int, Choice], Flags | None]
"""Says which days may go on to a place with a choice of its work; flags of shape (days,), None for no day."""


@dataclass(frozen=True, eq=False)
class Beam:
    """A day of some tasks, a bit each."""

    problem: Problem
    numbers: tuple[int, ...]
    rest: Rest
    base: AtBase | None

    @property
    def stops(self) -> int:
        """How many places there are; on the trip from base each stands there once more."""
        return len(self.rest.places) // (self.rest.places[-1].trip + 1)

    def found(self) -> Found:
        """Return what is found of all days, and of those in the order of the plan."""

        def freely(days: Days, _to: int, choice: Choice) -> Flags:
            return np.asarray(days.sets & choice.either == 0, dtype=np.bool_)

        def in_order(days: Days, to: int, choice: Choice) -> Flags:
            return freely(days, to, choice) & ((days.at < 0) | (days.at % self.stops < to % self.stops))

        levels = _levels(self, freely)
        return _at_home(self.rest, _joined([*levels, *_levels(self, in_order, sum(len(one.at) for one in levels))]))

    def completed(self, made: Sequence[tuple[int, ...]]) -> tuple[list[Step], int, bool] | None:
        """Return a day of stops with these tasks in turn with whatever else fits into it, None where nothing does.

        With it, when it is home, and whether its break is at a suspect site. What is left is put in where home is
        soonest, then where least is driven, what is worth most first.
        """
        bits = {task: 1 << bit | 1 << bit + len(self.numbers) for bit, task in enumerate(self.numbers)}
        turns = [sum(bits[task] for task in tasks) for tasks in made]
        found, added = None, True
        while added:
            added = False
            for lone in _by_worth(self.problem, self.numbers, self.rest):
                more = self._with(turns, lone) if not any(turn >> lone.bit & 1 for turn in turns) else None
                if more is not None:
                    found, added = more, True
                    turns = [step.choice.either for step in more[0]]
        return found

    def _with(self, made: Sequence[int], lone: _Lone) -> tuple[list[Step], int, bool] | None:
        """Return the stops in their order, with one more put in; None where it fits nowhere."""
        begun = [0, *accumulate(made, or_)]
        turns = {either: turn for turn, either in enumerate(made)}
        turns |= {either | lone.choice.either: turn for either, turn in turns.items()}  # at one stop

        def in_turn(days: Days, _to: int, choice: Choice) -> Flags | None:
            turn = turns.get(choice.either)
            if choice.either != lone.choice.either and turn is None:
                return None
            either = days.sets | days.sets >> len(self.numbers) | days.sets << len(self.numbers)
            fresh = np.asarray(either & choice.either == 0, dtype=np.bool_)
            return fresh if turn is None else np.logical_and(fresh, either & begun[turn] == begun[turn])

        found = _at_home(self.rest, _joined(_levels(self, in_turn)))
        either = found.sets | found.sets >> len(self.numbers)
        every = (begun[-1] | lone.choice.either) & ((1 << len(self.numbers)) - 1)
        columns = np.flatnonzero((either & every == every) & (found.last >= 0))
        if not len(columns):
            return None
        busy = found.days.busy[found.last[columns]]
        best = int(columns[np.lexsort((busy, found.home[columns], found.dirty[columns]))[0]])
        return found.steps(best), int(found.home[best]), bool(found.dirty[best])


def _levels(beam: Beam, follows: Follows, first: int = 0) -> list[Days]:
    """Return the days that are made longer, those of as many jobs together; they are numbered from `first`."""
    levels = [Days(*(np.zeros(0, dtype=np.int64) for _ in fields(Days)))]
    waiting: dict[int, list[Days]] = {}
    _wait(waiting, _longer(beam.rest, None, first, follows))
    for size in range(1, len(beam.numbers) + 1):
        if size in waiting:
            days = _earliest(_joined(waiting.pop(size)))
            days = days.some(_carried(beam, days))
            days = days.some(_most_promising(beam, days))
            _wait(waiting, _longer(beam.rest, days, first, follows))
            first += len(days.at)
            levels.append(days)
    return levels


def _joined(days: Sequence[Days]) -> Days:
    return Days(*(np.concatenate([getattr(one, field.name) for one in days]) for field in fields(Days)))


def _wait(waiting: dict[int, list[Days]], days: Iterator[Days]) -> None:
    """Put days where they are met when they are to be made longer: by how many jobs they have done."""
    for some in days:
        sizes = np.bitwise_count(some.sets)
        for size in np.unique(sizes):
            waiting.setdefault(int(size), []).append(some.some(sizes == size))


def _earliest(days: Days) -> Days:
    """Return of days with the same work done, the same last place and the same break the one that is over first."""
    order = np.lexsort((days.busy, days.finish, days.state, days.at, days.sets))
    keys = np.stack([days.sets, days.at, days.state])[:, order]
    fresh = np.ones(len(order), dtype=np.bool_)
    fresh[1:] = (keys[:, 1:] != keys[:, :-1]).any(axis=0)
    return days.some(order[fresh])


def _carried(beam: Beam, days: Days) -> Flags:
    can = carried(beam.problem, beam.numbers, beam.base, days.sets)
    may = can.allowed.copy()
    for number, place in enumerate(beam.rest.places):
        if place.move in can.room:
            may &= (days.at != number) | can.room[place.move]
    return may


def _longer(rest: Rest, days: Days | None, first: int, follows: Follows) -> Iterator[Days]:
    """Yield the days that go on from these, which are numbered from `first`; from where the crew stands for None."""
    begun = days or Days(*(np.array([value], dtype=np.int64) for value in (0, -1, NOT_YET, rest.now, 0, -1, -1)))
    rows = {
        (int(at), int(state)): np.flatnonzero((begun.at == at) & (begun.state == state))
        for at, state in np.unique(np.stack([begun.at, begun.state], axis=1), axis=0)
    }
    for to, place in enumerate(rest.places):
        asked = ((number, choice, follows(begun, to, choice)) for number, choice in enumerate(place.choices))
        chosen = [(number, choice, may) for number, choice, may in asked if may is not None and may.any()]
        for way in ways(rest, to, begun=days is not None) if chosen else ():
            here = rows.get((-1 if way.at is None else way.at, way.before))
            if here is None:
                continue
            here = here[begun.finish[here] <= way.latest]
            for number, choice, may in chosen:
                free = here[may[here]]
                ends = choice.finishes((begun.finish[free] + way.seconds).astype(np.int32)).astype(np.int64)
                free, ends = free[ends <= rest.home_by], ends[ends <= rest.home_by]
                busy = begun.busy[free] + way.seconds + choice.seconds
                if len(free):
                    before = free + first if days is not None else np.full(len(free), -1, dtype=np.int64)
                    at, state, made = (np.full(len(free), one, dtype=np.int64) for one in (to, way.after, number))
                    yield Days(begun.sets[free] | choice.bits, at, state, ends, busy, before, made)


def _most_promising(beam: Beam, days: Days) -> NDArray[np.int64]:
    """Return the rows of the days that promise most, then are over soonest; shape (WIDTH,) or less."""
    if len(days.at) <= WIDTH:
        return np.arange(len(days.at), dtype=np.int64)
    promised = _promised(beam.problem, beam.numbers, beam.rest, days)
    keys = (days.state, days.at, days.sets, days.finish, *(-promised[rank] for rank in reversed(range(RANKS))))
    return np.lexsort(keys)[:WIDTH]


def _promised(problem: Problem, numbers: Sequence[int], rest: Rest, days: Days) -> Numbers:
    """Return in thousandths of weights by rank, shape (ranks, days), what each day has done and may still do."""
    found = np.zeros((RANKS, len(days.at)), dtype=np.int64)
    hours = rest.home_by - min((place.home for place in rest.places if place.home >= 0), default=0) - days.finish
    left = {} if rest.places[-1].trip else _left(problem, numbers, days)
    for lone in _by_worth(problem, numbers, rest):
        task = problem.tasks[numbers[lone.bit]]
        done = (days.sets >> lone.bit | days.sets >> (lone.bit + len(numbers))) & 1 == 1
        ready = (days.finish + lone.drives[days.at]).astype(np.int32)
        may = ~done & (lone.choice.finishes(ready) + np.int64(lone.home) <= rest.home_by)
        for supply, amount in task.uses:
            may &= amount <= left.get(supply, np.inf)
        taken = np.where(may, np.clip(hours, 0, lone.cost), 0)
        found[task.rank] += task.weight * np.where(done, THOUSAND, taken * THOUSAND // lone.cost)
        hours = hours - taken
    return found


def _left(problem: Problem, numbers: Sequence[int], days: Days) -> dict[int, NDArray[np.float64]]:
    """Return by supply that is counted what each day leaves of it on board."""
    uses = [dict(problem.tasks[task].uses) for task in numbers]
    return {
        supply: facts.stock - summed([float(each.get(supply, 0)) for each in uses], days.sets)
        for supply, facts in enumerate(problem.supplies)
        if facts.stock != NO_LIMIT
    }


@dataclass(frozen=True, eq=False)
class _Lone:
    """A task done by itself."""

    bit: int
    choice: Choice
    cost: int
    """Its work and the shortest drive there."""
    drives: Numbers
    """To it from each place, NEVER where there is no way; shape (places,)."""
    home: int


def _by_worth(problem: Problem, numbers: Sequence[int], rest: Rest) -> list[_Lone]:
    """Return the tasks, those of the highest rank first, inside it those of most weight for their cost."""
    found = []
    for to, place in enumerate(rest.places):
        for choice in place.choices if place.trip == 0 and place.home >= 0 else ():
            if len(choice.tasks) == 1:
                others = [one.onward[to] for one in rest.places if one.trip == 0 and one is not place]
                least = min((drive for drive in (place.out, *others) if drive >= 0), default=0)
                cost = max(1, least + choice.seconds)
                found.append(_Lone(choice.bits.bit_length() - 1, choice, cost, _drives(rest, to), place.home))

    def better(one: _Lone, other: _Lone) -> int:
        mine, its = problem.tasks[numbers[one.bit]], problem.tasks[numbers[other.bit]]
        return mine.rank - its.rank or its.weight * one.cost - mine.weight * other.cost or one.bit - other.bit

    return sorted(found, key=cmp_to_key(better))


def _drives(rest: Rest, to: int) -> Numbers:
    """Return the quickest way to a place from each, straight or by base."""
    there = rest.places[to]
    found = np.full(len(rest.places), int(NEVER), dtype=np.int64)
    for number, place in enumerate(rest.places):
        if place.onward[to] >= 0:
            found[number] = place.onward[to]
        if place.trip == 0 and rest.places[-1].trip and min(place.home, there.base_out) >= 0:
            found[number] = min(found[number], place.home + rest.loading + there.base_out)
    return found


def _at_home(rest: Rest, days: Days) -> Found:
    """Return by set of work done the day that is home soonest, best without a break at a suspect site."""
    back = np.array([place.home for place in rest.places], dtype=np.int64)[days.at]
    latest = np.array([last_home(rest, state) for state in (NOT_YET, RESTED, AT_SUSPECT)], dtype=np.int64)
    home, dirty = days.finish + back, days.state == AT_SUSPECT
    rows = np.flatnonzero((back >= 0) & (home <= latest[days.state]))
    rows = rows[np.lexsort((days.busy[rows], home[rows], dirty[rows], days.sets[rows]))]
    sets, first = np.unique(days.sets[rows], return_index=True)
    last = rows[first]
    return Found(
        rest,
        days,
        np.concatenate([np.zeros(1, dtype=np.int64), sets]),
        np.concatenate([np.full(1, int(NEVER), dtype=np.int64), home[last]]),
        np.concatenate([np.zeros(1, dtype=np.bool_), dirty[last]]),
        np.concatenate([np.full(1, -1, dtype=np.int64), last]),
    )
