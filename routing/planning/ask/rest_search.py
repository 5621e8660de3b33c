"""The best rest of a day among all sets of jobs and all orders, by the rule of the crew's page.

Of all sets the most weight, rank by rank; then no break at a suspect site; then the soonest home.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.ask.rest_load import AtBase, Carried, carried
from routing.planning.ask.rest_table import (
    NOT_YET,
    Choice,
    Finishes,
    Place,
    Rest,
    Step,
    filled,
    homes,
    summed,
    traced,
)
from routing.planning.model.problem import RANKS, Order, Planned, Problem, widest
from routing.planning.model.supply_on_board import OnBoard

MOST_TASKS, MOST_CELLS = 20, 24_000_000
"""Of a day that is looked at in full: a number of its table takes four bytes."""


@dataclass(frozen=True)
class Found:
    """The best day; its orders are empty where nothing can be done."""

    order: Order
    home: int
    score: tuple[float, ...] = (0.0,) * RANKS
    dirty: bool = False
    """Whether its break is at a suspect site."""
    later: Order = ()
    """What is done on the trip from base; nothing where base is not come back to."""
    rested: bool = False
    """Whether the break is taken before base is come back to."""
    rested_at_base: bool = False
    left_at: int = 0
    """When the last work before base is finished; now where there is none."""


@dataclass(frozen=True, eq=False)
class Looked:
    """A day that was looked at in full: every array has shape (sets,)."""

    problem: Problem
    numbers: tuple[int, ...]
    """The tasks, one a bit; on the trip from base as many bits more."""
    rest: Rest
    table: Finishes
    carried: Carried
    home: NDArray[np.int64]
    dirty: NDArray[np.bool_]
    scores: tuple[NDArray[np.float64], ...]
    """By rank."""

    @property
    def possible(self) -> NDArray[np.bool_]:
        """Which sets can be done."""
        return self.home < 1 << 30

    def best(self, may: NDArray[np.bool_] | None = None) -> Found | None:
        """Return the best day among sets that may be done, None where none can."""
        sets = np.flatnonzero(self.possible if may is None else self.possible & may)
        if not len(sets):
            return None
        ranks = (-score[sets] for score in reversed(self.scores))
        best = int(sets[np.lexsort((self.home[sets], self.dirty[sets], *ranks))[0]])
        home, dirty = int(self.home[best]), bool(self.dirty[best])
        steps = traced(self.rest, self.table, best, home, dirty=dirty)
        first = [step for step in steps if not self.rest.places[step.place].trip]
        later = steps[len(first) :]
        state = first[-1].state if first else NOT_YET
        return Found(
            order=widest(self.problem, (_order(self.problem, first),))[0],
            home=home,
            score=tuple(float(score[best]) for score in self.scores),
            dirty=dirty,
            later=_order(self.problem, later),
            rested=state != NOT_YET,
            rested_at_base=bool(later) and state == NOT_YET and later[0].state != NOT_YET,
            left_at=first[-1].finish if first else self.rest.now,
        )


def look(problem: Problem, tasks: frozenset[int], base: AtBase | None = None) -> Looked | None:
    """Return one route that is out already, looked at in full; None where there is too much.

    It is None too where things are brought on board and what is there already is not known.
    """
    numbers = _by_place(problem, tasks)
    known = all(isinstance(supply, OnBoard) for supply in problem.supplies)
    weighs = any(problem.tasks[task].back or problem.tasks[task].carried for task in numbers)
    places = {problem.visits[visit].place for task in numbers for visit in problem.visits_of[task]}
    trips = 1 if base is None else 2
    cells = 3 * trips * len(places) << trips * len(numbers)
    if len(numbers) > MOST_TASKS or cells > MOST_CELLS or (weighs and not known):
        return None
    can = carried(problem, numbers, base)
    rest = _rest(problem, numbers, can, base)
    table = filled(rest)
    home, dirty = homes(rest, table)
    scores = tuple(_of_rank(problem, numbers, rank, trips) for rank in range(RANKS))
    return Looked(problem, numbers, rest, table, can, home, dirty, scores)


def _by_place(problem: Problem, tasks: frozenset[int]) -> tuple[int, ...]:
    """Return the tasks that may be done, those of a place together."""
    may = [task for task in tasks if problem.routes[0].allowed[task] and problem.visits_of[task]]
    return tuple(sorted(may, key=lambda task: (problem.visits[problem.visits_of[task][0]].place, task)))


def _of_rank(problem: Problem, numbers: tuple[int, ...], rank: int, trips: int) -> NDArray[np.float64]:
    each = [problem.tasks[task].weight if problem.tasks[task].rank == rank else 0 for task in numbers]
    return summed(each * trips)


def _rest(problem: Problem, numbers: tuple[int, ...], can: Carried, base: AtBase | None) -> Rest:
    rules = problem.routes[0]
    at: dict[int, list[int]] = {}
    for bit, task in enumerate(numbers):
        at.setdefault(problem.visits[problem.visits_of[task][0]].place, []).append(bit)
    drives, trips = rules.drive_seconds, range(1 if base is None else 2)
    places = tuple(
        Place(
            choices=_choices(problem, numbers, place, bits, trip),
            last_of_day=problem.visits[problem.visits_of[numbers[bits[0]]][0]].last_of_day,
            out=int(drives[0, place]),
            home=int(drives[place, 0]),
            onward=tuple(0 if there == place else int(drives[place, there]) for _ in trips for there in at),
            trip=trip,
            base_out=-1 if base is None else int(base.out[place]),
            room=can.room.get(bits[0] + trip * len(numbers)),
        )
        for trip in trips
        for place, bits in at.items()
    )
    return Rest(
        now=rules.earliest_leave,
        home_by=rules.home_by,
        break_seconds=rules.break_seconds,
        latest_break=rules.earliest_leave + rules.break_after_seconds,
        places=places,
        allowed=can.allowed,
        out_home=-1 if base is None else int(drives[0, 0]),
        loading=0 if base is None else base.loading,
    )


def _choices(problem: Problem, numbers: tuple[int, ...], place: int, bits: list[int], trip: int) -> tuple[Choice, ...]:
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
            found.append(Choice(mask << trip * len(numbers), tasks, seconds, tuple(spans)))
    return tuple(found)


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
