"""The best rest of a day among all sets of jobs and all orders, by the rule of the crew's page.

Of all sets the most weight, rank by rank; then no break at a suspect site; then the soonest home. What is too much to
be looked at in full is looked at by a beam (`rest_beam.py`), by the page's own measure of what is too much.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.ask.rest_beam import Beam
from routing.planning.ask.rest_load import AtBase, Carried, carried, summed
from routing.planning.ask.rest_places import rest_of
from routing.planning.ask.rest_size import Sizes, sizes_of
from routing.planning.ask.rest_table import NOT_YET, Sets, Step, every_set, filled, homes, traced
from routing.planning.model.problem import RANKS, Order, Planned, Problem, widest
from routing.planning.model.supply_on_board import OnBoard


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
    """What was looked at of a day: every array has shape (sets,)."""

    problem: Problem
    numbers: tuple[int, ...]
    """The tasks, one a bit; on the trip from base as many bits more."""
    sets: Sets
    """Rising: all that there are where `whole`."""
    carried: Carried
    home: NDArray[np.int64]
    dirty: NDArray[np.bool_]
    scores: tuple[NDArray[np.float64], ...]
    """By rank."""
    steps: Callable[[int], list[Step]]
    """The stops of the day that does the set in a column."""
    sizes: Sizes
    beam: Beam | None
    """What found them where not all was looked at: the day is completed by whatever else fits."""

    @property
    def possible(self) -> NDArray[np.bool_]:
        """Which sets can be done."""
        return self.home < 1 << 30

    def has(self, task: int) -> NDArray[np.bool_]:
        """Return which sets do a task, on whichever trip."""
        bit = self.numbers.index(task)
        return np.asarray((self.sets >> bit | self.sets >> (bit + len(self.numbers))) & 1 == 1)

    def best(self, may: NDArray[np.bool_] | None = None) -> Found | None:
        """Return the best day among sets that may be done, None where none can."""
        columns = np.flatnonzero(self.possible if may is None else self.possible & may)
        if not len(columns):
            return None
        ranks = (-score[columns] for score in reversed(self.scores))
        best = int(columns[np.lexsort((self.home[columns], self.dirty[columns], *ranks))[0]])
        found = _found(self.problem, self.numbers, self.steps(best), int(self.home[best]), dirty=bool(self.dirty[best]))
        return found if self.beam is None else completed(self.beam, found)


def completed(beam: Beam, found: Found) -> Found:
    """Return a day with whatever else fits into its order."""
    more = beam.completed([stop.tasks for stop in (*found.order, *found.later)])
    return found if more is None else _found(beam.problem, beam.numbers, more[0], more[1], dirty=more[2])


def _found(problem: Problem, numbers: Sequence[int], steps: list[Step], home: int, *, dirty: bool) -> Found:
    tasks = [problem.tasks[task] for step in steps for task in step.choice.tasks]
    later = [step for step in steps if step.choice.bits >> len(numbers)]
    first = steps[: len(steps) - len(later)]
    state = first[-1].state if first else NOT_YET
    return Found(
        order=widest(problem, (_order(problem, first),))[0],
        home=home,
        score=tuple(float(sum(task.weight for task in tasks if task.rank == rank)) for rank in range(RANKS)),
        dirty=dirty,
        later=_order(problem, later),
        rested=state != NOT_YET,
        rested_at_base=bool(later) and state == NOT_YET and later[0].state != NOT_YET,
        left_at=first[-1].finish if first else problem.routes[0].earliest_leave,
    )


def beam_of(problem: Problem, tasks: Sequence[int], base: AtBase | None) -> Beam:
    """Return what a beam looks at of a day of these tasks."""
    numbers = _by_place(problem, tasks)
    return Beam(problem, numbers, rest_of(problem, numbers, base, thin=True), base)


def look(problem: Problem, tasks: Sequence[int], base: AtBase | None = None) -> Looked | None:
    """Return one route that is out already, looked at as far as the crew's page does.

    `tasks` are in the order of the plan. None where they are more than a beam can hold, and where things are brought on
    board and what is there already is not known.
    """
    numbers, trips = _by_place(problem, tasks), 1 if base is None else 2
    known = all(isinstance(supply, OnBoard) for supply in problem.supplies)
    weighs = any(problem.tasks[task].back or problem.tasks[task].carried for task in numbers)
    sizes = sizes_of(problem, numbers, trips)
    if not sizes.beam or (weighs and not known):
        return None
    rest, beam = rest_of(problem, numbers, base, thin=not sizes.whole), None
    if sizes.whole:
        sets = every_set(len(numbers), trips)
        can = carried(problem, numbers, base, sets)
        table = filled(rest, sets, can)
        home, dirty = homes(rest, table, can)

        def steps(column: int) -> list[Step]:
            return traced(rest, table, column, int(home[column]), dirty=bool(dirty[column]))
    else:
        beam = Beam(problem, numbers, rest, base)
        found = beam.found()
        sets, home, dirty, steps = found.sets, found.home, found.dirty, found.steps
        can = carried(problem, numbers, base, sets)
    scores = tuple(_of_rank(problem, numbers, rank, sets) for rank in range(RANKS))
    return Looked(problem, numbers, sets, can, home, dirty, scores, steps, sizes, beam)


def _by_place(problem: Problem, tasks: Sequence[int]) -> tuple[int, ...]:
    """Return the tasks that may be done, those of a place together, places as they are first met."""
    at: dict[int, list[int]] = {}
    for task in tasks:
        if problem.routes[0].allowed[task] and problem.visits_of[task]:
            at.setdefault(problem.visits[problem.visits_of[task][0]].place, []).append(task)
    return tuple(task for here in at.values() for task in here)


def _of_rank(problem: Problem, numbers: tuple[int, ...], rank: int, sets: Sets) -> NDArray[np.float64]:
    each = [problem.tasks[task].weight if problem.tasks[task].rank == rank else 0 for task in numbers]
    return summed(each, sets & ((1 << len(each)) - 1)) + summed(each, sets >> len(each))


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
