"""The least that given tasks can cost however they are shared out: quick, valid for any size, and not near."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.problem import Problem

FAR = 2**40
"""Stands for no way; more than any way takes."""


def least_cost(problem: Problem, tasks: frozenset[int]) -> int:
    """Return seconds away (metres, where these come first) that no orders of all these tasks can be under.

    The drives of all routes together join every place of the tasks with the base; work and one walk and set-up a place
    come on top. Waits, breaks, hours and loads are left out.
    """
    places = sorted({visit.place for visit in problem.visits if not tasks.isdisjoint(visit.tasks)})
    driving = least_joining(problem, (0, *places))
    return driving if problem.distance_first else driving + least_work(problem, tasks)


def least_joining(problem: Problem, places: Sequence[int], trees: int = 1) -> int:
    """Return the least seconds (metres, where these come first) of drives that join these places, in so many trees.

    A least spanning forest, each pair at the shorter of its two directions and by the vehicle that does it best, by way
    of base where a crew may load there.
    """
    arrays = {
        id(drives): drives
        for route in problem.relaxation.routes
        for drives in (route.drive_metres if problem.distance_first else route.drive_seconds,)
    }
    edges = sorted(_tree(list(arrays.values()), np.array(places, dtype=np.int64)))
    return sum(edges[: max(0, len(edges) - trees + 1)])


def _tree(arrays: Sequence[NDArray[np.int64]], places: NDArray[np.int64]) -> Iterator[int]:
    """Yield the edges of a least spanning forest, one row of the drives at a time: 5,000 places need no room for pairs.

    Source: R. C. Prim, Shortest connection networks, Bell System Technical Journal 36 (1957), from memory, not checked.
    """
    near = np.full(len(places), FAR, dtype=np.int64)
    apart = np.ones(len(places), dtype=bool)
    for _ in range(len(places)):
        nearest = int(np.argmin(np.where(apart, near, FAR + 1)))
        if near[nearest] < FAR:
            yield int(near[nearest])
        apart[nearest] = False
        for drives in arrays:
            for ways in (drives[places[nearest], places], drives[places, places[nearest]]):
                near = np.minimum(near, np.where(ways < 0, np.int64(FAR), ways))


def least_work(problem: Problem, tasks: frozenset[int]) -> int:
    """Return the least seconds at the places of these tasks: a walk, a set-up each, the work of the quickest crew."""
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
