"""Of far more jobs than the days at hand hold, those worth searching among, and what no choice of them all can pass.

The choice is a guess by rank, weight, work and nearness, and only says where to look: what else fits is put in
afterwards, and the bound counts every job.
"""

from __future__ import annotations

from math import floor

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.problem import BLOCK, RANKS, Problem

MOST_OF_A_DAY, LEAST_MOST = 25, 250
"""So many tasks are searched among for each crew-day, and never fewer in all; few days hold more than fifteen stops."""

STOPS_A_DAY = 10
"""The way from base and home is shared by about so many stops."""

NEAREST = 3
"""What a stop adds to the driving is guessed by the mean drive from so many of its nearest neighbours."""

FAR = 2**40
"""Stands for no way; more than any way takes."""


def preselected(problem: Problem, tasks: frozenset[int]) -> frozenset[int]:
    """Return the tasks that are searched among: all of them unless they are far more than the routes can do.

    The greater ranks come first; within one those of the most weight for the time that they take by a guess.
    """
    most = max(LEAST_MOST, MOST_OF_A_DAY * len(problem.routes))
    if len(tasks) <= most:
        return tasks
    numbers = np.array(sorted(tasks))
    _, worth = worth_of(problem, numbers)
    ranks = np.array([problem.tasks[task].rank for task in numbers.tolist()])
    chosen = np.lexsort((numbers, -worth, ranks))[:most]
    return frozenset(numbers[chosen].tolist())


def worth_of(problem: Problem, numbers: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return a guess at the seconds that each task takes, driving included, and its weight a second."""
    seconds = least_seconds(problem, numbers) + _driving(problem, numbers)
    weights = np.array([problem.tasks[task].weight for task in numbers.tolist()])
    return seconds.astype(np.int64), weights / np.maximum(seconds, 1)


def least_seconds(
    problem: Problem, numbers: NDArray[np.int64], ways_in: NDArray[np.int64] | None = None
) -> NDArray[np.int64]:
    """Return what each task takes at the very least: its work, and walk, set-up and way in if it stands alone.

    Where several of these tasks may be done at a place, one walk, set-up and way in may serve them all. The shortest
    way to each place, `ways_in`, shape (places,), is counted where it is given.
    """
    at: dict[int, set[int]] = {}
    mine = frozenset(numbers.tolist())
    for visit in problem.visits:
        at.setdefault(visit.place, set()).update(mine.intersection(visit.tasks))
    work = np.full(len(problem.tasks), FAR, dtype=np.int64)
    for route in problem.routes:
        work = np.minimum(work, np.where(route.allowed, route.work_seconds, np.int64(FAR)))
    found = work[numbers]
    for position, task in enumerate(numbers.tolist()):
        visits = [problem.visits[number] for number in problem.visits_of[task]]
        if visits and all(len(at[visit.place]) == 1 for visit in visits):
            found[position] += problem.tasks[task].set_up_seconds + min(visit.walk_seconds for visit in visits)
            if ways_in is not None:
                found[position] += min(int(ways_in[visit.place]) for visit in visits)
    return np.minimum(found, FAR)


def _driving(problem: Problem, numbers: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return a guess at the driving that each task adds: from its nearest neighbours, and some of the way to base."""
    visits = [problem.visits_of[task] for task in numbers.tolist()]
    places = np.array([problem.visits[each[0]].place if each else 0 for each in visits])
    others = np.unique(places)
    drives = problem.routes[0].drive_seconds
    near = np.zeros(len(drives))
    for first in range(0, len(others), BLOCK):
        rows = others[first : first + BLOCK]
        ways = np.where(drives[np.ix_(rows, others)] < 0, np.int64(FAR), drives[np.ix_(rows, others)])
        count = min(NEAREST + 1, len(others))
        near[rows] = np.partition(ways, count - 1, axis=1)[:, 1:count].mean(axis=1) if count > 1 else 0
    out, home = drives[0, places], drives[places, 0]
    return np.asarray(near[places] + np.where((out < 0) | (home < 0), FAR, out.astype(np.int64) + home) / STOPS_A_DAY)


def _ways_in(problem: Problem) -> NDArray[np.int64]:
    """Return the shortest drive to each place from any other, by whatever vehicle, shape (places,)."""
    matrices = {id(route.drive_seconds): route.drive_seconds for route in problem.routes}
    shortest = np.full(len(problem.routes[0].drive_seconds), FAR, dtype=np.int64)
    for drives in matrices.values():
        for first in range(0, len(drives), BLOCK):
            rows = drives[first : first + BLOCK].astype(np.int64)
            rows[rows < 0] = FAR
            rows[np.arange(len(rows)), np.arange(first, first + len(rows))] = FAR
            shortest = np.minimum(shortest, rows.min(axis=0))
    shortest[0] = 0  # base itself may be where a crew stands already
    return shortest


def most_weight(problem: Problem, tasks: frozenset[int]) -> tuple[int, ...]:
    """Return by rank a weight that no orders pass, shape (RANKS,), whatever else they do.

    What is served takes its least seconds out of the hours of all routes together, the shortest way to it included; the
    best that these could hold if tasks could be cut is a knapsack filled by weight a second. Source: G. B. Dantzig,
    Discrete-variable extremum problems, Operations Research 5 (1957), from memory, not checked.
    """
    numbers = np.array(sorted(tasks))
    seconds = least_seconds(problem, numbers, _ways_in(problem))
    hours = sum(max(0, route.longest) for route in problem.routes)
    bounds = []
    for rank in range(RANKS):
        those = [position for position, task in enumerate(numbers.tolist()) if problem.tasks[task].rank == rank]
        weights = [problem.tasks[int(numbers[position])].weight for position in those]
        needs = [int(seconds[position]) for position in those]
        bounds.append(_knapsack(weights, needs, hours))
    return tuple(bounds)


def _knapsack(weights: list[int], needs: list[int], room: int) -> int:
    taken = 0
    for weight, need in sorted(zip(weights, needs, strict=True), key=lambda one: one[1] / one[0] if one[0] else FAR):
        if need > room:
            return floor(taken + weight * room / need)
        taken, room = taken + weight, room - need
    return taken
