"""The best rest of a day among all sets of jobs and all orders, by the rule of the crew's page.

Of all sets the most weight, rank by rank; then no break at a suspect site; then the soonest home.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.ask.rest_table import Choice, Place, Rest, Step, filled, homes, summed, traced
from routing.planning.model.problem import NO_LIMIT, RANKS, Order, Planned, Problem, widest
from routing.planning.model.supply_on_board import OnBoard

MOST_TASKS, MOST_CELLS = 20, 24_000_000
"""Of a day that is looked at in full: a number of its table takes four bytes."""


@dataclass(frozen=True)
class Found:
    """The best order, empty where nothing can be done."""

    order: Order
    home: int


def best_rest(problem: Problem, tasks: frozenset[int]) -> Found | None:
    """Return the best order of one route that is out already, None where there is too much to look at in full.

    It is None too where things are brought on board and what is there already is not known.
    """
    numbers = _by_place(problem, tasks)
    known = all(isinstance(supply, OnBoard) for supply in problem.supplies)
    weighs = any(problem.tasks[task].back or problem.tasks[task].carried for task in numbers)
    places = {problem.visits[visit].place for task in numbers for visit in problem.visits_of[task]}
    if len(numbers) > MOST_TASKS or 3 * len(places) << len(numbers) > MOST_CELLS or (weighs and not known):
        return None
    rest = _rest(problem, numbers)
    table = filled(rest)
    home, dirty = homes(rest, table)
    scores = [_of_rank(problem, numbers, rank) for rank in range(RANKS)]
    may = np.flatnonzero(home < 1 << 30)
    if not len(may):
        return Found((), problem.routes[0].earliest_leave)
    best = may[np.lexsort((home[may], dirty[may], *(-score[may] for score in reversed(scores))))[0]]
    steps = traced(rest, table, int(best), int(home[best]), dirty=bool(dirty[best]))
    return Found(widest(problem, (_order(problem, steps),))[0], int(home[best]))


def _by_place(problem: Problem, tasks: frozenset[int]) -> tuple[int, ...]:
    """Return the tasks that may be done, those of a place together."""
    may = [task for task in tasks if problem.routes[0].allowed[task] and problem.visits_of[task]]
    return tuple(sorted(may, key=lambda task: (problem.visits[problem.visits_of[task][0]].place, task)))


def _of_rank(problem: Problem, numbers: tuple[int, ...], rank: int) -> NDArray[np.float64]:
    each = [problem.tasks[task].weight if problem.tasks[task].rank == rank else 0 for task in numbers]
    return summed(each)


def _rest(problem: Problem, numbers: tuple[int, ...]) -> Rest:
    rules = problem.routes[0]
    allowed, room = _carried(problem, numbers)
    at: dict[int, list[int]] = {}
    for bit, task in enumerate(numbers):
        at.setdefault(problem.visits[problem.visits_of[task][0]].place, []).append(bit)
    drives = rules.drive_seconds
    places = tuple(
        Place(
            choices=_choices(problem, numbers, place, bits),
            last_of_day=problem.visits[problem.visits_of[numbers[bits[0]]][0]].last_of_day,
            out=int(drives[0, place]),
            home=int(drives[place, 0]),
            onward=tuple(0 if there == place else int(drives[place, there]) for there in at),
            room=room.get(bits[0]),
        )
        for place, bits in at.items()
    )
    return Rest(
        now=rules.earliest_leave,
        home_by=rules.home_by,
        break_seconds=rules.break_seconds,
        latest_break=rules.earliest_leave + rules.break_after_seconds,
        places=places,
        allowed=allowed,
    )


def _choices(problem: Problem, numbers: tuple[int, ...], place: int, bits: list[int]) -> tuple[Choice, ...]:
    """Return every set of a place's tasks that a window is for."""
    visits = [visit for visit in problem.visits if visit.place == place]
    found = []
    for chosen in range(1, 1 << len(bits)):
        mask = sum(1 << bit for number, bit in enumerate(bits) if chosen >> number & 1)
        tasks = tuple(sorted(numbers[bit] for bit in bits if mask >> bit & 1))
        spans = sorted({(visit.opens, visit.closes) for visit in visits if set(tasks) <= set(visit.tasks)})
        if spans:
            visit = next(number for number, one in enumerate(problem.visits) if one in visits)
            seconds = problem.on_site_seconds(0, Planned(visit, tasks))
            found.append(Choice(mask, tasks, seconds, tuple(spans)))
    return tuple(found)


def _carried(problem: Problem, numbers: tuple[int, ...]) -> tuple[NDArray[np.bool_], dict[int, NDArray[np.bool_]]]:
    """Return which sets are on board and can be carried, and by the bit of a move, whether there is room within it."""
    allowed = np.ones(1 << len(numbers), dtype=np.bool_)
    rules, tasks = problem.routes[0], [problem.tasks[task] for task in numbers]
    for supply, facts in enumerate(problem.supplies):
        used = [sum(amount for which, amount in task.uses if which == supply) for task in tasks]
        if facts.stock != NO_LIMIT and any(used):
            allowed &= summed(used) <= facts.stock
    brings = summed([bool(task.back) for task in tasks]) > 0
    room: dict[int, NDArray[np.bool_]] = {}
    if not any(task.back or task.carried for task in tasks):
        return allowed, room
    measures = (
        (rules.payload_grams, [supply.grams_each for supply in problem.supplies]),
        (rules.space_millilitres, [supply.millilitres_each for supply in problem.supplies]),
    )
    for limit, each in measures:
        held = sum(supply.loaded(0) * one for supply, one in zip(problem.supplies, each, strict=True))
        changes = [sum(a * each[s] for s, a in task.back) - sum(a * each[s] for s, a in task.uses) for task in tasks]
        load = held + summed(changes)
        allowed &= ~brings | (np.ceil(np.round(load, 6)) <= limit)
        for bit, task in enumerate(tasks):
            if task.carried:
                more = sum(amount * each[supply] for supply, amount in task.carried)
                room[bit] = room.get(bit, allowed) & (np.ceil(np.round(load + more, 6)) <= limit)
    return allowed, room


def _order(problem: Problem, steps: list[Step]) -> Order:
    """Return the stops with a window each that holds them at their times."""
    order = []
    for step in steps:
        begin = step.finish - step.choice.seconds
        visit = next(
            number
            for number, one in enumerate(problem.visits)
            if set(step.choice.tasks) <= set(one.tasks) and one.opens <= begin and step.finish <= one.closes
        )
        order.append(Planned(visit, step.choice.tasks))
    return tuple(order)
