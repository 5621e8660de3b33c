"""A frame in PyVRP's own terms, and its solutions as orders; for the engines that search with it."""

from __future__ import annotations

import warnings
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import pyvrp
from numpy.typing import NDArray
from pyvrp.exceptions import PenaltyBoundWarning

from routing.planning.model.engine import TOLL, empty, prizes
from routing.planning.model.frame import Frame, loads_of
from routing.planning.model.problem import NO_LIMIT, Order, Orders
from routing.planning.model.scarce_light import bound_by_light
from routing.planning.model.timing import timeline

# Prizes far above what lateness costs make it warn that it meets few possible routes: we mend those. Once for all:
# what is set for a while would be set for runs side by side too.
warnings.simplefilter("ignore", PenaltyBoundWarning)

BASE = -1
"""Stands among the clients of a route for coming back to base to load again."""

MOST_SECONDS = 2**62
"""Stands for a day that may last as long as its hours."""

MOST_LOAD = 10**9
"""Loads and limits above this are cut to it, so that no sum leaves the engine's integers."""


def model(frame: Frame, *, scarce: bool) -> pyvrp.ProblemData:
    """Return the frame as a problem of optional clients with prizes; a vehicle type for every kind, in their order."""
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


def solution_of(frame: Frame, data: pyvrp.ProblemData, start: Orders) -> pyvrp.Solution:
    """Return orders as a solution."""
    routes = []
    for number, order in enumerate(start):
        stops = stops_of(frame, number, order)
        if stops:
            routes.append(pyvrp.Route(data, activities(stops), frame.kind_of[number]))
    return pyvrp.Solution(data, routes)


def stops_of(frame: Frame, route: int, order: Order) -> tuple[int, ...]:
    """Return the clients of an order, BASE between them where it is come back to."""
    times = timeline(frame.problem, route, order) if order and frame.problem.returns[route] else None
    cuts = [0, *(one.before for one in times.returns), len(order)] if times is not None else [0, len(order)]
    found: list[int] = []
    for start, end in pairwise(cuts):
        clients = frame.sequence(order[start:end])
        found += [BASE] if found and clients else []
        found += clients
    return tuple(found)


def clients_in(stops: Iterable[int]) -> list[int]:
    """Return the stops that are not BASE."""
    return [stop for stop in stops if stop != BASE]


def activities(stops: Sequence[int]) -> list[Any]:
    """Return what the engine calls clients and the returns to BASE between them."""
    return [
        pyvrp.Activity(pyvrp.ActivityType.DEPOT, 0) if stop == BASE else pyvrp.Activity(pyvrp.ActivityType.CLIENT, stop)
        for stop in stops
    ]


def stops_in(route: pyvrp.Route) -> tuple[int, ...]:
    """Return the clients of a route, BASE between them where it is come back to."""
    return tuple(stop.idx if stop.is_client() else BASE for stop in list(route)[1:-1])


def sequence_of(route: pyvrp.Route) -> tuple[int, ...]:
    """Return the clients of a route."""
    return tuple(activity.idx for activity in route if activity.is_client())


def orders_of(frame: Frame, solution: pyvrp.Solution) -> Orders:
    """Return the orders of a solution."""
    return in_turn(frame, ((route.vehicle_type(), sequence_of(route)) for route in solution.routes()))


def in_turn(frame: Frame, sequences: Iterable[tuple[int, Sequence[int]]]) -> Orders:
    """Return the orders of sequences of clients, each with its kind; those of one kind go to its crew-days in turn."""
    orders: list[Order] = list(empty(frame.problem))
    free = [list(kind.routes) for kind in frame.kinds]
    for kind, sequence in sequences:
        number = free[kind].pop(0)
        orders[number] = frame.order(number, sequence)
    return tuple(orders)
