"""The least that given tasks can cost however they are shared out: quick, valid for any size, and not near."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from routing.planning.problem import Problem

FAR = 2**40
"""Stands for no way; more than any way takes."""


def least_cost(problem: Problem, tasks: frozenset[int]) -> int:
    """Return seconds away (metres, where these come first) that no orders of all these tasks can be under.

    The drives of all routes together join every place of the tasks with the base, so they are no shorter than the least
    spanning tree, each pair at the shorter of its two directions in the vehicle that does it best; work and one walk
    and set-up a place come on top. Waits, breaks, hours and loads are left out.
    Source: R. C. Prim, Bell System Technical Journal 36 (1957), from memory, not checked.
    """
    problem = problem.carefree
    visits = [visit for visit in problem.visits if not tasks.isdisjoint(visit.tasks)]
    places = np.array([0, *sorted({visit.place for visit in visits})])
    arrays = {
        id(drives): drives
        for route in problem.routes
        for drives in (route.drive_metres if problem.distance_first else route.drive_seconds,)
    }
    ways = np.full((len(places), len(places)), FAR, dtype=np.int64)
    for drives in arrays.values():
        there = drives[np.ix_(places, places)]
        there = np.where(there < 0, FAR, there)
        ways = np.minimum(ways, np.minimum(there, there.T))
    driving = _spanning(ways)
    return driving if problem.distance_first else driving + _least_work(problem, tasks)


def _least_work(problem: Problem, tasks: frozenset[int]) -> int:
    here: dict[int, set[int]] = {}
    walks: dict[int, int] = {}
    for visit in problem.visits:
        mine = tasks.intersection(visit.tasks)
        if mine:
            here.setdefault(visit.place, set()).update(mine)
            walks[visit.place] = min(walks.get(visit.place, visit.walk_seconds), visit.walk_seconds)
    quickest = np.min(
        [np.where(route.allowed, route.work_seconds, FAR) for route in problem.routes], axis=0, initial=FAR
    )
    return sum(
        walks[place]
        + max(problem.tasks[task].set_up_seconds for task in mine)
        + sum(int(quickest[task]) for task in mine)
        for place, mine in here.items()
    )


def _spanning(ways: NDArray[np.int64]) -> int:
    """Return the length of the least tree that joins all nodes of a symmetric matrix."""
    nearest, left = ways[0].copy(), np.ones(len(ways), dtype=bool)
    left[0] = False
    total = 0
    for _ in range(len(ways) - 1):
        node = int(np.where(left, nearest, 2 * FAR).argmin())
        total += int(nearest[node])
        left[node] = False
        nearest = np.minimum(nearest, ways[node])
    return total
