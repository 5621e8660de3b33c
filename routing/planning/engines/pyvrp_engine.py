"""PyVRP's iterated local search.

It comes back to base to load again where that is allowed. Cannot hold: whole packs, stock over all crews, the break's
place in the day, days too short to need one. Its clients are optional with prizes, which only approximate ranks.
Integers only: it cuts floats off without a word.
Source: N. Wouda, L. Lan, W. Kool, PyVRP, INFORMS Journal on Computing 36 (2024), from memory, not checked.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np
import pyvrp
from numpy.typing import NDArray
from pyvrp import IteratedLocalSearchCallbacks
from pyvrp.exceptions import PenaltyBoundWarning
from pyvrp.search import NeighbourhoodParams, PerturbationParams

from routing.planning.engines.engine import TOLL, Ask, Limit, Telling, empty, prizes
from routing.planning.engines.frame import Frame, Noted, lay, loads_of
from routing.planning.engines.scarce import bound_by_light
from routing.planning.problem import NO_LIMIT, Order, Orders
from routing.planning.timing import timeline

# Prizes far above what lateness costs make it warn that it meets few possible routes: we mend those. Once for all:
# what is set for a while would be set for runs side by side too.
warnings.simplefilter("ignore", PenaltyBoundWarning)

NEIGHBOURS = 30
MOST_PERTURBED = 5
"""At equal time on rounds of 60 and 200 visits these two reach lower costs than the library's own 60 and 25."""

ITERATIONS_A_SECOND = 300_000
"""Times the clients, on the machine that this was written on; it only decides the history of runs by the clock."""

ITERATIONS_OF_HISTORY = 200
HISTORIES = {100: 135, 200: 240, 300: math.inf}
"""The library's own history of 300 takes some 40,000 iterations to settle: a run of 12,000 on a roomy round of 150
visits ends 1 % worse with it than with 100. Below 100, tight rounds of 60 end worse. In few steps, a little more time
goes on with the same run; each is taken up to what stands beside it."""

REMEMBER_EVERY = 80
"""Iterations between two looks at the routes of the current solution."""

MOST_SECONDS = 2**62
"""Stands for a day that may last as long as its hours."""

MOST_LOAD = 10**9
"""Loads and limits above this are cut to it, so that no sum leaves the engine's integers."""


@dataclass
class _Stop:
    """Stops as the limit says; it is asked once an iteration."""

    limit: Limit
    iterations: int = 0

    def __call__(self, best_cost: int) -> bool:
        del best_cost
        self.iterations += 1
        return self.limit.over(self.iterations - 1)


class _Watch(IteratedLocalSearchCallbacks):
    """Notes the routes of the current solution now and then, and tells of a better one at times."""

    def __init__(self, frame: Frame, telling: Telling) -> None:
        self.iterations = 0
        self.noted = Noted(frame)
        self._telling = telling
        self._told: object = None

    def on_iteration(
        self, current: pyvrp.Solution, _candidate: object, best: pyvrp.Solution, _evaluator: object
    ) -> None:
        """Note the routes of the current solution at times, and those of the best."""
        self.iterations += 1
        if self.iterations % REMEMBER_EVERY == 1:
            self.note(current)
            self.note(best)
        if self._telling.due() and best is not self._told and best.is_feasible():
            self._told = best
            self._telling.tell(_orders(self.noted.frame, best))

    def note(self, solution: pyvrp.Solution) -> None:
        """Note the possible routes of a solution."""
        for route in solution.routes():
            if route.is_feasible():
                self.noted.note(self.noted.frame.kinds[route.vehicle_type()].routes[0], _sequence(route))


@dataclass(eq=False)
class PyVRP:
    """The engine; `rank_ratio` and the rest of its translation are in `frame` and `prizes`."""

    name: str = field(default="pyvrp")

    def __call__(self, ask: Ask) -> Orders:
        """Return the best orders found from the start, or from a random solution where there is none."""
        frame = lay(ask.problem, ask.tasks)
        if not frame.clients or not frame.kinds:
            return empty(ask.problem)
        data = _data(frame, scarce=ask.scarce)
        watch = _Watch(frame, Telling(ask.better))
        params = pyvrp.SolveParams(
            ils=pyvrp.IteratedLocalSearchParams(
                history_length=_history(ask.limit, len(frame.clients)), callbacks=watch
            ),
            neighbourhood=NeighbourhoodParams(num_neighbours=NEIGHBOURS),
            perturbation=PerturbationParams(1, MOST_PERTURBED),
        )
        start = _start(frame, data, ask.start) if ask.start is not None else None
        try:
            result = pyvrp.solve(
                data,
                _Stop(ask.limit),
                seed=ask.limit.seed,
                collect_stats=False,
                params=params,
                initial_solution=start,
            )
            watch.note(result.best)
        finally:
            watch.noted.tell(ask.found)
        return _orders(frame, result.best)


def _history(limit: Limit, clients: int) -> int:
    """Return how far back a worse solution is measured against, so that the run has settled by its end."""
    left = limit.seconds_left()
    iterations = limit.iterations if left is None else left * ITERATIONS_A_SECOND / clients
    return next(history for history, most in HISTORIES.items() if iterations / ITERATIONS_OF_HISTORY <= most)


def _data(frame: Frame, *, scarce: bool) -> pyvrp.ProblemData:
    problem = frame.problem
    by_metres = problem.distance_first or scarce
    worth = prizes(problem, sorted({client.task for client in frame.clients}), frame.prize_detour)
    groups: list[pyvrp.ClientGroup] = []
    group_of: dict[int, int] = {}
    for numbers in frame.clients_of_task.values():
        if len(numbers) > 1:
            group_of |= dict.fromkeys(numbers, len(groups))
            groups.append(pyvrp.ClientGroup(numbers, required=False))
    clients = []
    for number, client in enumerate(frame.clients):
        out, back = loads_of(problem, client.task)
        first, last = client.starts
        clients.append(
            pyvrp.Client(
                location=number + 1,
                delivery=[min(amount, MOST_LOAD) for amount in out],
                pickup=[min(amount, MOST_LOAD) for amount in back],
                service_duration=client.service,
                tw_early=first,
                tw_late=last,
                prize=worth[client.task],
                required=False,
                group=group_of.get(number),
            )
        )
    types = [
        pyvrp.VehicleType(
            num_available=len(kind.routes),
            capacity=[min(kind.grams, MOST_LOAD), min(kind.millilitres, MOST_LOAD)],
            tw_early=kind.earliest,
            tw_late=max(kind.earliest, kind.latest),
            shift_duration=MOST_SECONDS if kind.longest == NO_LIMIT else kind.longest,
            unit_distance_cost=int(by_metres),
            unit_duration_cost=int(not by_metres),
            profile=kind.profile,
            reload_depots=[0] if kind.trips > 1 else [],
            max_reloads=kind.trips - 1,
        )
        for kind in frame.kinds
    ]
    locations = [pyvrp.Location(0, 0) for _ in range(len(frame.clients) + 1)]
    seconds: list[Any] = list(frame.profiles)
    metres: list[Any] = seconds
    if problem.distance_first:
        metres = list(frame.metres())
    elif scarce:
        metres = [_of_light(frame, profile) for profile in range(len(frame.profiles))]
    return pyvrp.ProblemData(locations, clients, [pyvrp.Depot(0)], types, metres, seconds, groups)


def _of_light(frame: Frame, profile: int) -> NDArray[np.int64]:
    """Return what the engine is to take for metres: the seconds of drive and work that each arc takes of the light."""
    arcs = frame.profiles[profile].copy()
    if all(bound_by_light(frame, kind) for kind in frame.kinds if kind.profile == profile):
        entries = np.array([client.entry for client in frame.clients])
        arcs[0, 1:] = entries + TOLL * (arcs[0, 1:] - entries)
        arcs[1:, 0] = TOLL * arcs[1:, 0]
    arcs[:, 1:] += [client.service for client in frame.clients]
    np.fill_diagonal(arcs, 0)
    return arcs


def _start(frame: Frame, data: pyvrp.ProblemData, start: Orders) -> pyvrp.Solution:
    routes = []
    for number, order in enumerate(start):
        activities = _activities(frame, number, order)
        if activities:
            routes.append(pyvrp.Route(data, activities, frame.kind_of[number]))
    return pyvrp.Solution(data, routes)


def _activities(frame: Frame, route: int, order: Order) -> list[Any]:
    """Return what the engine calls the activities of an order: clients, and base where it is come back to."""
    times = timeline(frame.problem, route, order) if order and frame.problem.returns[route] else None
    cuts = [0, *(one.before for one in times.returns), len(order)] if times is not None else [0, len(order)]
    found: list[Any] = []
    for start, end in pairwise(cuts):
        clients = frame.sequence(order[start:end])
        found += [pyvrp.Activity(pyvrp.ActivityType.DEPOT, 0)] if found and clients else []
        found += [pyvrp.Activity(pyvrp.ActivityType.CLIENT, number) for number in clients]
    return found


def _sequence(route: pyvrp.Route) -> tuple[int, ...]:
    return tuple(activity.idx for activity in route if activity.is_client())


def _orders(frame: Frame, solution: pyvrp.Solution) -> Orders:
    """Return the orders of a solution; routes of one kind go to its crew-days in turn."""
    orders: list[Order] = list(empty(frame.problem))
    free = {number: list(kind.routes) for number, kind in enumerate(frame.kinds)}
    routes: Sequence[pyvrp.Route] = solution.routes()
    for route in routes:
        number = free[route.vehicle_type()].pop(0)
        orders[number] = frame.order(number, _sequence(route))
    return tuple(orders)
