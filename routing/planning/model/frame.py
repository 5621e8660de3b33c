"""A problem as routing engines see it: one client a task, all days laid over each other in one time frame.

Work at one site chains without a second set-up because the set-up is part of the arc into the site. What differs
between crews (people, vehicle) is in their profile's arcs too. A task whose windows differ between days becomes several
clients of which at most one may be served; windows that differ by minutes are narrowed to what they share.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.engine import Found
from routing.planning.model.problem import NO_LIMIT, Order, Planned, Problem, Visit

NO_WAY = 5 * 24 * 3600
"""Seconds of an arc that must not be used: longer than any crew is out, short enough for every engine's integers."""

MOST_NARROWED_SECONDS = 20 * 60
"""Windows of different days share a client while neither end loses more than this."""

MOST_TOLD = 3000
"""Routes noted last that are told of after a run."""


@dataclass(frozen=True)
class Client:
    """A task in one window, on the days that have it."""

    task: int
    place: int
    opens: int
    closes: int
    """In the frame: seconds since the day's first departure."""
    visit_of_day: Mapping[int, int]
    service: int
    """Seconds of work for the quickest crew; set-up, walk and what slower crews need more are on the arcs."""
    entry: int
    """Walk and set-up when coming from another site."""

    @property
    def starts(self) -> tuple[int, int]:
        """Return the first and the last second at which work may begin, where engines have no time before zero."""
        first = max(0, self.opens + self.entry)
        return first, max(first, self.closes - self.service)


@dataclass(frozen=True)
class Kind:
    """Routes that look alike to an engine."""

    profile: int
    earliest: int
    latest: int
    grams: int
    millilitres: int
    trips: int
    """How often it may leave base, to load again; `arcs` to base then hold what loading takes, and so does `latest`."""
    rest: int
    """Seconds of the break that every client's closing and the way home already leave room for."""
    longest: int
    """The most seconds from base to base, the break left out, or NO_LIMIT."""
    routes: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Frame:
    """Clients, profiles and kinds of routes; node 0 of a profile is the base, node c + 1 is client c."""

    problem: Problem
    clients: tuple[Client, ...]
    kinds: tuple[Kind, ...]
    profiles: tuple[NDArray[np.int64], ...]
    """Each of shape (clients + 1, clients + 1): seconds from node to node, set-up included, NO_WAY or more if none."""
    prize_detour: int
    kind_of: Mapping[int, int] = field(default_factory=dict)
    """The kind of each route."""

    @cached_property
    def clients_of_task(self) -> dict[int, list[int]]:
        """Return which clients stand for a task."""
        found: dict[int, list[int]] = {}
        for number, client in enumerate(self.clients):
            found.setdefault(client.task, []).append(number)
        return found

    def near(self) -> NDArray[np.int64]:
        """Return all clients by nearness to each, there and back, shape (clients, clients)."""
        arcs = self.profiles[0][1:, 1:]
        return np.argsort(arcs + arcs.T, axis=1, kind="stable")

    def metres(self) -> list[NDArray[np.int64]]:
        """Return the metres of every profile's arcs, each of shape (clients + 1, clients + 1)."""
        places = np.array([0, *(client.place for client in self.clients)])
        first = {kind.profile: kind.routes[0] for kind in reversed(self.kinds)}
        return [
            np.maximum(self.problem.routes[first[profile]].drive_metres[np.ix_(places, places)], 0).astype(np.int64)
            for profile in range(len(self.profiles))
        ]

    def order(self, route: int, sequence: Sequence[int]) -> Order:
        """Return the stops of a sequence of clients; tasks in a row at one site become one stop."""
        problem, day = self.problem, self.problem.routes[route].day
        stops: list[Planned] = []
        for number in sequence:
            client = self.clients[number]
            visit = client.visit_of_day.get(day)
            if visit is None:
                continue
            if stops and problem.visits[stops[-1].visit].place == client.place:
                tasks = tuple(sorted({*stops[-1].tasks, client.task}))
                shared = [v for v in (stops[-1].visit, visit) if set(tasks) <= set(problem.visits[v].tasks)]
                if shared:
                    stops[-1] = Planned(shared[0], tasks)
                    continue
            stops.append(Planned(visit, (client.task,)))
        return tuple(stops)

    def sequence(self, order: Order) -> list[int]:
        """Return the clients of an order, the longest set-up of a stop first so that it is counted once."""
        found = []
        for planned in order:
            visit = self.problem.visits[planned.visit]
            for task in sorted(planned.tasks, key=lambda t: -self.problem.tasks[t].set_up_seconds):
                fitting = [c for c in self.clients_of_task.get(task, []) if visit.day in self.clients[c].visit_of_day]
                exact = [c for c in fitting if self.clients[c].visit_of_day[visit.day] == planned.visit]
                found += (exact or fitting)[:1]
        return found


class Noted:
    """Routes that an engine came upon; they are told of after its run, to keep the run quick."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self._routes: dict[tuple[int, tuple[int, ...]], None] = {}

    def note(self, route: int, sequence: tuple[int, ...]) -> None:
        """Note a route's sequence of clients, as the last."""
        self._routes.pop((route, sequence), None)
        self._routes[route, sequence] = None

    def tell(self, found: Found) -> None:
        """Tell of those noted last."""
        for route, sequence in list(self._routes)[-MOST_TOLD:]:
            found(route, self.frame.order(route, sequence))


def build_frame(problem: Problem, tasks: frozenset[int]) -> Frame:
    """Return the problem laid into one frame for these tasks; tasks that no route may do get no client."""
    shifts: dict[int, int] = {}
    for route in problem.routes:
        shifts[route.day] = min(shifts.get(route.day, route.earliest_leave), route.earliest_leave)
    clients = tuple(
        client
        for task in sorted(tasks)
        if any(r.allowed[task] for r in problem.routes)
        for client in _clients(problem, task, shifts)
    )
    profiles: dict[object, int] = {}
    matrices: list[NDArray[np.int64]] = []
    kinds: dict[tuple[int, int, int, int, int, int, int, int], list[int]] = {}
    for number, route in enumerate(problem.routes):
        able = tuple(route.allowed[c.task] and route.day in c.visit_of_day for c in clients)
        extra = tuple(route.work_seconds[c.task] - c.service for c in clients)
        trips, reload_seconds = (route.most_trips, route.reload_seconds) if problem.returns[number] else (1, 0)
        key = (id(route.drive_seconds), able, extra, reload_seconds)
        if key not in profiles:
            profiles[key] = len(matrices)
            matrices.append(_arcs(problem, number, clients, able, extra))
            matrices[-1][1:, 0] += reload_seconds
        shift = shifts[route.day]
        rest = route.break_seconds if route.longest > route.break_after_seconds else 0
        kind = (
            profiles[key],
            route.earliest_leave - shift + rest,  # before the first work the break takes the least light
            route.home_by - shift + reload_seconds,
            route.payload_grams,
            route.space_millilitres,
            trips,
            rest,
            NO_LIMIT if route.most_away == NO_LIMIT else max(0, route.most_away - rest + reload_seconds),
        )
        kinds.setdefault(kind, []).append(number)
    made = tuple(Kind(*kind, tuple(routes)) for kind, routes in kinds.items())
    longest = max((int(m[m < NO_WAY].max(initial=0)) for m in matrices), default=0)
    detour = 2 * longest + max((c.service for c in clients), default=0)
    of = {route: number for number, kind in enumerate(made) for route in kind.routes}
    return Frame(problem, clients, made, tuple(matrices), detour, of)


def _clients(problem: Problem, task: int, shifts: Mapping[int, int]) -> list[Client]:
    """Return the task's clients: windows of different days joined while they hardly differ."""
    routes = [route for route in problem.routes if route.allowed[task]]
    service = min(route.work_seconds[task] for route in routes)
    groups: list[tuple[int, int, int, int, dict[int, int]]] = []
    for number, visit in enumerate(problem.visits):
        if task not in visit.tasks or visit.day not in shifts:
            continue
        opens, closes = visit.opens - shifts[visit.day], visit.closes - shifts[visit.day]
        for index, (low, high, left, right, days) in enumerate(groups):
            near = max(high, opens) - min(low, opens) <= MOST_NARROWED_SECONDS
            near = near and max(right, closes) - min(left, closes) <= MOST_NARROWED_SECONDS
            if near and visit.day not in days:
                days[visit.day] = number
                groups[index] = (min(low, opens), max(high, opens), min(left, closes), max(right, closes), days)
                break
        else:
            groups.append((opens, opens, closes, closes, {visit.day: number}))
    found = []
    for _, opens, closes, _, days in groups:
        visit = problem.visits[next(iter(days.values()))]
        entry = visit.walk_seconds + problem.tasks[task].set_up_seconds
        if opens + entry + service <= closes:
            found.append(Client(task, visit.place, opens, closes, days, service, entry))
    return found


def _arcs(
    problem: Problem, route: int, clients: Sequence[Client], able: Sequence[bool], extra: Sequence[int]
) -> NDArray[np.int64]:
    drive = problem.routes[route].drive_seconds
    places = np.array([0, *(c.place for c in clients)])
    set_ups = np.array([0, *(problem.tasks[c.task].set_up_seconds for c in clients)])
    entries = np.array([0, *(c.entry for c in clients)])
    more = np.array([0, *extra])
    arcs = drive[np.ix_(places, places)].astype(np.int64)
    closed = arcs < 0
    same = (places[:, None] == places[None, :]) & (places[None, :] > 0)
    again = np.maximum(0, set_ups[None, :] - set_ups[:, None])
    arcs = np.where(same, again, np.maximum(arcs, 0) + entries[None, :]) + more[None, :]
    shut = np.array([False, *(not ok for ok in able)])
    last = np.array([False, *(_visit(problem, c).last_of_day for c in clients)])
    order_broken = last[:, None] & ~last[None, :]
    order_broken[:, 0] = False
    arcs[closed | shut[None, :] | shut[:, None] | order_broken] = NO_WAY
    np.fill_diagonal(arcs, 0)
    return np.asarray(arcs, dtype=np.int64)


def _visit(problem: Problem, client: Client) -> Visit:
    return problem.visits[next(iter(client.visit_of_day.values()))]


def loads_of(problem: Problem, task: int) -> tuple[tuple[int, int], tuple[int, int]]:
    """Return what a task takes out and what it brings back, each in whole grams and millilitres, rounded up."""
    facts, supplies = problem.tasks[task], problem.supplies

    def weigh(amounts: Sequence[tuple[int, int]]) -> tuple[int, int]:
        grams = sum(amount * supplies[s].grams_each for s, amount in amounts)
        millilitres = sum(amount * supplies[s].millilitres_each for s, amount in amounts)
        return int(np.ceil(grams)), int(np.ceil(millilitres))

    return weigh(facts.uses), weigh(facts.back)
