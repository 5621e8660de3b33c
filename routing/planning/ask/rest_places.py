"""The places of the rest of a day, with what may be done at each and the drives between them, out of a problem."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import inf

import numpy as np
from numpy.typing import NDArray

from routing.planning.ask.rest_load import AtBase
from routing.planning.ask.rest_table import Choice, Place, Rest
from routing.planning.model.problem import NO_LIMIT, Planned, Problem

MOST_TOGETHER = 5
"""Jobs of a place of which a beam goes through every set; of more, each alone and all that a window is for."""


def rest_of(problem: Problem, numbers: Sequence[int], base: AtBase | None, *, thin: bool) -> Rest:
    """Return what is left of a day of these tasks, a bit each; `thin` where not every set of a place is looked at."""
    rules = problem.routes[0]
    at: dict[int, list[int]] = {}
    for bit, task in enumerate(numbers):
        at.setdefault(problem.visits[problem.visits_of[task][0]].place, []).append(bit)
    drives, trips = rules.drive_seconds, range(1 if base is None else 2)
    places = tuple(
        Place(
            choices=tuple(_choices(problem, numbers, (place, bits), trip, thin=thin)),
            last_of_day=problem.visits[problem.visits_of[numbers[bits[0]]][0]].last_of_day,
            out=int(drives[0, place]),
            home=int(drives[place, 0]),
            onward=tuple(0 if there == place else int(drives[place, there]) for _ in trips for there in at),
            trip=trip,
            base_out=-1 if base is None else int(base.out[place]),
            move=bits[0] + trip * len(numbers) if problem.tasks[numbers[bits[0]]].carried else -1,
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
        out_home=-1 if base is None else int(drives[0, 0]),
        loading=0 if base is None else base.loading,
    )


def _choices(
    problem: Problem, numbers: Sequence[int], here: tuple[int, list[int]], trip: int, *, thin: bool
) -> Iterator[Choice]:
    """Yield each set of a place's tasks that is looked at and that a window is for."""
    place, bits = here
    visits = [visit for visit in problem.visits if visit.place == place]
    for chosen in _sets_here(numbers, bits, [visit.tasks for visit in visits], thin=thin):
        tasks = tuple(sorted(numbers[bit] for number, bit in enumerate(bits) if chosen >> number & 1))
        spans = sorted({(visit.opens, visit.closes) for visit in visits if set(tasks) <= set(visit.tasks)})
        if spans:
            visit = next(number for number, one in enumerate(problem.visits) if one in visits)
            mask = sum(1 << bit for number, bit in enumerate(bits) if chosen >> number & 1)
            seconds = problem.on_site_seconds(0, Planned(visit, tasks))
            yield Choice(mask << trip * len(numbers), mask | mask << len(numbers), tasks, seconds, tuple(spans))


def may_be_done(
    problem: Problem, tasks: Sequence[int], base: AtBase | None, in_part: Callable[[int], bool]
) -> tuple[int, ...]:
    """Return the tasks that some day may do: by the quickest ways there are, by whatever places, without a break.

    Of what there is not enough for some hives may be done where `in_part` says so. The page leaves away the same.
    """
    rules, drives = problem.routes[0], problem.routes[0].drive_seconds
    tasks = [task for task in tasks if rules.allowed[task] and problem.visits_of[task]]
    places = sorted({problem.visits[problem.visits_of[task][0]].place for task in tasks})
    out, home = quickest(drives, places, base)
    found = []
    for task in tasks:
        place = places.index(problem.visits[problem.visits_of[task][0]].place)
        if any(amount > _had(problem, base, supply) for supply, amount in problem.tasks[task].uses):
            if in_part(task):
                found.append(task)
            continue
        for visit in problem.visits_of[task]:
            span = problem.visits[visit]
            ends = max(rules.earliest_leave + out[place], span.opens) + problem.on_site_seconds(
                0, Planned(visit, (task,))
            )
            if ends <= span.closes and ends + home[place] <= rules.home_by:
                found.append(task)
                break
    return tuple(found)


def _had(problem: Problem, base: AtBase | None, supply: int) -> float:
    stock = problem.supplies[supply].stock
    if stock == NO_LIMIT or (base is not None and base.stock[supply] == NO_LIMIT):
        return inf
    return stock + (0 if base is None else base.stock[supply])


def quickest(
    drives: NDArray[np.int64], places: Sequence[int], base: AtBase | None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the least seconds to each place from where the crew stands, and from each home, by whatever places.

    Shape (places,); infinite where there is no way.
    """
    rows = [0, *places]
    direct = np.where(drives < 0, np.inf, drives)[np.ix_(rows, rows)]
    home = direct[:, 0].copy()
    direct[:, 0] = np.inf
    if base is not None:
        onward = np.where(base.out < 0, np.inf, base.out)[list(places)]
        direct[:, 1:] = np.minimum(direct[:, 1:], home[:, None] + base.loading + onward)
    np.fill_diagonal(direct, 0)
    for by in range(1, len(rows)):
        direct = np.minimum(direct, direct[:, by : by + 1] + direct[by])
    return direct[0, 1:], (direct[1:, 1:] + home[1:]).min(axis=1, initial=np.inf)


def _sets_here(
    numbers: Sequence[int], bits: Sequence[int], windows: Sequence[tuple[int, ...]], *, thin: bool
) -> Sequence[int]:
    if not thin or len(bits) <= MOST_TOGETHER:
        return range(1, 1 << len(bits))
    singles = {1 << number for number in range(len(bits))}
    together = {sum(1 << number for number, bit in enumerate(bits) if numbers[bit] in tasks) for tasks in windows}
    return sorted((singles | together) - {0})
