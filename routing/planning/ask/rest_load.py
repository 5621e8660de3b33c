"""What can be carried in the rest of a day, by set of work: from what is on board, and from base where that is come to.

Arrays have shape (sets,): a set is a number with a bit a task, and with as many more for the trip from base.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.ask.rest_table import summed
from routing.planning.model.problem import NO_LIMIT, Problem, Task

Flags = NDArray[np.bool_]
Amounts = NDArray[np.float64]


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
    """By the bit of a move, whether there is room within it."""
    enough: Flags
    """Which sets there is enough for; whether it can be carried is another thing."""
    lacking: bool
    """Whether there is not enough for all tasks, however they are shared out over the trips."""
    left: dict[int, Amounts]
    """By supply that is counted, how many thousandths each set leaves, of all that can be had."""


def carried(problem: Problem, numbers: Sequence[int], base: AtBase | None) -> Carried:
    """Return what can be carried of the tasks `numbers`, once in a set, and again for the trip from base."""
    tasks = [problem.tasks[task] for task in numbers]
    bits = len(tasks) * (1 if base is None else 2)
    allowed = np.ones(1 << bits, dtype=np.bool_)
    left: dict[int, Amounts] = {}
    lacking = False
    for supply, facts in enumerate(problem.supplies):
        each = _used(tasks, supply)
        if facts.stock == NO_LIMIT or not any(each):
            continue
        now = summed(each, bits)
        allowed &= now <= facts.stock
        left[supply] = facts.stock - now
        if base is not None:
            later = summed([0.0] * len(tasks) + list(each), bits)
            left[supply] = np.full(1 << bits, np.inf)
            if base.stock[supply] != NO_LIMIT:
                left[supply] = facts.stock + base.stock[supply] - now - later
                allowed &= (later == 0) | (left[supply] >= 0)
                lacking |= sum(each) > facts.stock + base.stock[supply]
        else:
            lacking |= sum(each) > facts.stock
    enough = allowed.copy()
    if base is None:
        return Carried(*_first_trip(problem, tasks, allowed), enough, lacking, left)
    sets = np.arange(1 << bits, dtype=np.int64)
    allowed &= (sets & (sets >> len(tasks)) & ((1 << len(tasks)) - 1)) == 0
    first, room = _first_trip(problem, tasks, np.ones(1 << len(tasks), dtype=np.bool_))
    begun = sets & ((1 << len(tasks)) - 1)
    onward = sets > begun
    loads = _second_trip(problem, tasks, base, bits)
    limits = _limits(problem)
    fits = np.logical_and.reduce([_within(load, limit) for load, limit in zip(loads, limits, strict=True)])
    allowed &= np.where(onward, fits, first[begun])
    rooms = {bit: each[begun] for bit, each in room.items()}
    for bit, task in enumerate(tasks):
        if task.carried:
            more = _weighed(problem, task.carried)
            pairs = zip(loads, limits, more, strict=True)
            rooms[bit + len(tasks)] = np.logical_and.reduce([_within(load + one, limit) for load, limit, one in pairs])
    return Carried(allowed, rooms, enough, lacking, left)


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


def _first_trip(problem: Problem, tasks: Sequence[Task], allowed: Flags) -> tuple[Flags, dict[int, Flags]]:
    """Return which sets of the trip under way can be carried, and the room within each move."""
    brings = summed([bool(task.back) for task in tasks]) > 0
    room: dict[int, Flags] = {}
    if not any(task.back or task.carried for task in tasks):
        return allowed, room
    for limit, each in zip(_limits(problem), _each(problem), strict=True):
        held = sum(supply.loaded(0) * one for supply, one in zip(problem.supplies, each, strict=True))
        changes = [sum(a * each[s] for s, a in task.back) - sum(a * each[s] for s, a in task.uses) for task in tasks]
        load = held + summed(changes)
        allowed = allowed & (~brings | _within(load, limit))
        for bit, task in enumerate(tasks):
            if task.carried:
                more = sum(amount * each[supply] for supply, amount in task.carried)
                room[bit] = room.get(bit, allowed) & _within(load + more, limit)
    return allowed, room


def _second_trip(problem: Problem, tasks: Sequence[Task], base: AtBase, bits: int) -> tuple[Amounts, Amounts]:
    """Return grams and millilitres of all that leaves base with what it brings, by set, as if all at once."""
    grams, millilitres = np.zeros(1 << bits), np.zeros(1 << bits)
    for supply, facts in enumerate(problem.supplies):
        each = _used(tasks, supply)
        remains = max(0, facts.stock) - summed(each, bits)
        later = summed([0.0] * len(tasks) + each, bits)
        short = np.maximum(0, later - remains)
        put_on = np.ceil(short / facts.pack) * facts.pack if facts.pack else short
        if base.stock[supply] != NO_LIMIT:
            put_on = np.minimum(put_on, base.stock[supply])
        back = [float(sum(amount for which, amount in task.back if which == supply)) for task in tasks]
        load = remains + put_on + summed([0.0] * len(tasks) + back, bits)
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
