"""What can be carried in the rest of a day, by set of work: from what is on board, and from base where that is come to.

Arrays have shape (sets,): a set is a number with a bit a task, and as many bits more for the trip from base.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.problem import NO_LIMIT, Problem, Task

Flags = NDArray[np.bool_]
Amounts = NDArray[np.float64]
Sets = NDArray[np.int64]


@dataclass(frozen=True)
class AtBase:
    """What a return to base is: the drives out of it, how long loading takes, and what is there."""

    out: NDArray[np.int64]
    """Shape (places,): seconds, below zero where there is no way."""
    loading: int
    stock: tuple[int, ...]
    """Shape (supplies,): thousandths, or NO_LIMIT."""


@dataclass(frozen=True)
class Carried:
    """Which sets can be done with what is there, and carried."""

    allowed: Flags
    room: dict[int, Flags]
    """By the bit of a move, by set with that move, whether there is room within it."""
    enough: Flags
    """Which sets there is enough for; whether it can be carried is another thing."""
    lacking: bool
    """Whether there is not enough for all tasks, however they are shared out over the trips."""
    left: dict[int, Amounts]
    """By supply that is counted, how many thousandths each set leaves, of all that can be had."""


def summed(each: Sequence[float], sets: Sets) -> Amounts:
    """Return for every set the sum over its tasks, shape (sets,); whole numbers stay whole up to 2 to the 53rd."""
    found = np.zeros(len(sets), dtype=np.float64)
    for task, amount in enumerate(each):
        if amount:
            found += amount * (sets >> task & 1)
    return found


def carried(problem: Problem, numbers: Sequence[int], base: AtBase | None, sets: Sets) -> Carried:
    """Return what can be carried of sets of the tasks `numbers`: a bit each, as many more for the trip from base."""
    tasks = [problem.tasks[task] for task in numbers]
    begun, later = sets & ((1 << len(tasks)) - 1), sets >> len(tasks)
    enough = np.ones(len(sets), dtype=np.bool_)
    left: dict[int, Amounts] = {}
    lacking = False
    for supply, facts in enumerate(problem.supplies):
        each = _used(tasks, supply)
        if facts.stock == NO_LIMIT or not any(each):
            continue
        now = summed(each, begun)
        enough &= now <= facts.stock
        had = np.inf if base is not None and base.stock[supply] == NO_LIMIT else float(facts.stock)
        if base is not None and had < np.inf:
            had += base.stock[supply]
        then = summed(each, later)
        left[supply] = had - now - then
        enough &= (then == 0) | (left[supply] >= 0)
        lacking |= sum(each) > had
    if base is None:
        allowed, room = _first_trip(problem, tasks, begun)
        return Carried(allowed & enough, room, enough, lacking, left)
    first, room = _first_trip(problem, tasks, begun)
    loads = _second_trip(problem, tasks, base, (begun, later))
    limits = _limits(problem)
    fits = np.logical_and.reduce([_within(load, limit) for load, limit in zip(loads, limits, strict=True)])
    for bit, task in enumerate(tasks):
        if task.carried:
            more = _weighed(problem, task.carried)
            pairs = zip(loads, limits, more, strict=True)
            room[bit + len(tasks)] = np.logical_and.reduce([_within(load + one, limit) for load, limit, one in pairs])
    return Carried(enough & np.where(later > 0, fits, first), room, enough, lacking, left)


def _used(tasks: Sequence[Task], supply: int) -> list[float]:
    return [float(sum(amount for which, amount in task.uses if which == supply)) for task in tasks]


def _limits(problem: Problem) -> tuple[int, int]:
    return problem.routes[0].payload_grams, problem.routes[0].space_millilitres


def _within(load: Amounts, limit: int) -> Flags:
    return np.asarray(np.ceil(np.round(load, 6)) <= limit, dtype=np.bool_)


def _each(problem: Problem) -> tuple[list[float], list[float]]:
    return [one.grams_each for one in problem.supplies], [one.millilitres_each for one in problem.supplies]


def _weighed(problem: Problem, amounts: Sequence[tuple[int, int]]) -> tuple[float, float]:
    grams, millilitres = (sum(amount * each[supply] for supply, amount in amounts) for each in _each(problem))
    return grams, millilitres


def _first_trip(problem: Problem, tasks: Sequence[Task], begun: Sets) -> tuple[Flags, dict[int, Flags]]:
    """Return which sets of the trip under way can be carried, and the room within each move."""
    brings = summed([bool(task.back) for task in tasks], begun) > 0
    allowed = np.ones(len(begun), dtype=np.bool_)
    room: dict[int, Flags] = {}
    if not any(task.back or task.carried for task in tasks):
        return allowed, room
    for limit, each in zip(_limits(problem), _each(problem), strict=True):
        held = sum(supply.loaded(0) * one for supply, one in zip(problem.supplies, each, strict=True))
        changes = [sum(a * each[s] for s, a in task.back) - sum(a * each[s] for s, a in task.uses) for task in tasks]
        load = held + summed(changes, begun)
        allowed = allowed & (~brings | _within(load, limit))
        for bit, task in enumerate(tasks):
            if task.carried:
                more = sum(amount * each[supply] for supply, amount in task.carried)
                room[bit] = room.get(bit, allowed) & _within(load + more, limit)
    return allowed, room


def _second_trip(
    problem: Problem, tasks: Sequence[Task], base: AtBase, trips: tuple[Sets, Sets]
) -> tuple[Amounts, Amounts]:
    """Return grams and millilitres of all that leaves base with what it brings, by set, as if all at once."""
    begun, onward = trips
    grams, millilitres = np.zeros(len(begun)), np.zeros(len(begun))
    for supply, facts in enumerate(problem.supplies):
        each = _used(tasks, supply)
        remains = max(0, facts.stock) - summed(each, begun)
        later = summed(each, onward)
        short = np.maximum(0, later - remains)
        put_on = np.ceil(short / facts.pack) * facts.pack if facts.pack else short
        if base.stock[supply] != NO_LIMIT:
            put_on = np.minimum(put_on, base.stock[supply])
        back = [float(sum(amount for which, amount in task.back if which == supply)) for task in tasks]
        load = remains + put_on + summed(back, onward)
        grams += load * facts.grams_each
        millilitres += load * facts.millilitres_each
    return grams, millilitres


def put_on(problem: Problem, base: AtBase, first: Sequence[int], later: Sequence[int]) -> tuple[list[int], list[int]]:
    """Return by supply what is left on board after the first trip, and what is put on at base for the later tasks."""
    left, more = [], []
    for supply, facts in enumerate(problem.supplies):
        remains = max(0, facts.stock) - int(sum(_used([problem.tasks[task] for task in first], supply)))
        short = max(0, int(sum(_used([problem.tasks[task] for task in later], supply))) - remains)
        whole = -(-short // facts.pack) * facts.pack if facts.pack else short
        left.append(remains)
        more.append(whole if base.stock[supply] == NO_LIMIT else min(whole, base.stock[supply]))
    return left, more
