"""A part of a large problem: some of its crew-days and tasks as a small problem with numbers of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from routing.planning.model.problem import Order, Orders, Planned, Problem
from routing.planning.model.subproblem import drives_among


@dataclass(frozen=True, eq=False)
class PartProblem:
    """The small problem, and what its numbers are in the large one; drives are in 64 bits, as engines add them up."""

    problem: Problem
    routes: tuple[int, ...]
    """Shape (routes of the part,): the number in the large problem."""
    tasks: tuple[int, ...]
    """Shape (tasks of the part,), rising."""
    visits: tuple[int, ...]
    """Shape (visits of the part,), rising."""

    def lifted(self, orders: Orders) -> dict[int, Order]:
        """Return orders of the part as orders of the large problem, by route."""
        return {
            route: tuple(Planned(self.visits[one.visit], tuple(self.tasks[t] for t in one.tasks)) for one in order)
            for route, order in zip(self.routes, orders, strict=True)
        }

    def restricted(self, orders: Orders) -> Orders:
        """Return the orders of the part's routes, which hold none but its tasks, in its own numbers."""
        visits = {large: number for number, large in enumerate(self.visits)}
        tasks = {large: number for number, large in enumerate(self.tasks)}
        return tuple(
            tuple(Planned(visits[one.visit], tuple(tasks[t] for t in one.tasks)) for one in orders[route])
            for route in self.routes
        )


def part_of(problem: Problem, routes: Sequence[int], tasks: Sequence[int], stock: Sequence[int]) -> PartProblem:
    """Return the problem of these routes and tasks alone, with so much of each supply (shape (supplies,)).

    An order of it costs what it costs in the large one.
    """
    tasks, mine = tuple(sorted(tasks)), frozenset(tasks)
    days = {problem.routes[route].day for route in routes}
    visits = tuple(sorted({v for task in tasks for v in problem.visits_of[task] if problem.visits[v].day in days}))
    places = [0, *sorted({problem.visits[number].place for number in visits})]
    place_of = {place: number for number, place in enumerate(places)}
    number_of = {task: number for number, task in enumerate(tasks)}
    grid = drives_among(places)
    small = replace(
        problem,
        supplies=tuple(replace(supply, stock=left) for supply, left in zip(problem.supplies, stock, strict=True)),
        tasks=tuple(problem.tasks[task] for task in tasks),
        visits=tuple(
            replace(
                problem.visits[number],
                place=place_of[problem.visits[number].place],
                tasks=tuple(number_of[task] for task in problem.visits[number].tasks if task in mine),
            )
            for number in visits
        ),
        routes=tuple(
            replace(
                route,
                work_seconds=tuple(route.work_seconds[task] for task in tasks),
                allowed=tuple(route.allowed[task] for task in tasks),
                drive_seconds=grid(route.drive_seconds),
                drive_metres=grid(route.drive_metres),
            )
            for route in (problem.routes[number] for number in routes)
        ),
    )
    return PartProblem(small, tuple(routes), tasks, visits)
