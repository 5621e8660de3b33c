"""The subproblem of some tasks of a large problem: only their visits and places, so that no engine sees the rest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.problem import Orders, Planned, Problem


@dataclass(frozen=True)
class Subproblem:
    """The small problem and which visit of the large one each of its visits is; tasks keep their numbers."""

    problem: Problem
    visits: tuple[int, ...]
    """Shape (visits of the small problem,): the number in the large one."""

    def lifted(self, orders: Orders) -> Orders:
        """Return orders of the small problem as orders of the large one."""
        return tuple(tuple(Planned(self.visits[one.visit], one.tasks) for one in order) for order in orders)

    def restricted(self, orders: Orders) -> Orders:
        """Return orders of the large problem, which hold none but these tasks, as orders of the small one."""
        small = {large: number for number, large in enumerate(self.visits)}
        return tuple(tuple(Planned(small[one.visit], one.tasks) for one in order) for order in orders)


MOST_PLACES = 500
"""Of more places or tasks what is asked of some is asked of those alone."""


def is_large(problem: Problem) -> bool:
    """Return whether the problem has so many places or tasks that questions about some must not be asked of all."""
    places = max((len(route.drive_seconds) for route in problem.routes), default=0)
    return is_packed(problem) or max(places, len(problem.tasks)) > MOST_PLACES


def is_packed(problem: Problem) -> bool:
    """Return whether its drives are kept in fewer bits than engines need to add them up."""
    return any(route.drive_seconds.dtype != np.int64 for route in problem.routes)


def drives_among(places: Sequence[int]) -> Callable[[NDArray[np.int64]], NDArray[np.int64]]:
    """Return what gives the drives among these places of a whole array of them, in 64 bits.

    Routes that share an array share what comes of it.
    """
    found: dict[int, NDArray[np.int64]] = {}

    def among(drives: NDArray[np.int64]) -> NDArray[np.int64]:
        if id(drives) not in found:
            found[id(drives)] = drives[np.ix_(places, places)].astype(np.int64)
        return found[id(drives)]

    return among


def subproblem_of(problem: Problem, tasks: frozenset[int]) -> Subproblem:
    """Return the problem of these tasks alone; an order of it costs what it costs in the large one.

    Its drives are in 64 bits whatever those of the large one are in: engines add them up.
    """
    numbers = tuple(number for number, visit in enumerate(problem.visits) if not tasks.isdisjoint(visit.tasks))
    places = [0, *sorted({problem.visits[number].place for number in numbers})]
    place_of = {place: number for number, place in enumerate(places)}
    grid = drives_among(places)
    small = replace(
        problem,
        visits=tuple(
            replace(
                problem.visits[number],
                place=place_of[problem.visits[number].place],
                tasks=tuple(task for task in problem.visits[number].tasks if task in tasks),
            )
            for number in numbers
        ),
        routes=tuple(
            replace(
                route,
                allowed=tuple(allowed and task in tasks for task, allowed in enumerate(route.allowed)),
                drive_seconds=grid(route.drive_seconds),
                drive_metres=grid(route.drive_metres),
            )
            for route in problem.routes
        ),
    )
    return Subproblem(small, numbers)
