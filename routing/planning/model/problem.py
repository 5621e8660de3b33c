"""The waist of the hourglass: the work to be planned as integers and indices, with no word of bees in it.

Seconds are counted from the first local midnight of the round, weights are grams, space is millilitres, materials are
thousandths of their unit. Index 0 of the places is the base.

A place may be one that is entered at one spot and left from another, as when hives are moved: its column of the drives
leads to where it is entered, its row from where it is left, and what lies between counts as work.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from math import ceil

import numpy as np
from numpy.typing import NDArray

RANKS = 4
"""now, must, want, passing: 0, 1, 2, 3."""

LIMITLESS = 2**62
"""A load that nothing passes."""

NO_LIMIT = -1
"""Stands for `no limit` in stock."""


@dataclass(frozen=True)
class Supply:
    """One material: how it is packed and how much there is, in thousandths of its unit."""

    pack: int
    """Thousandths in one pack; 0 where it is loaded loose."""
    stock: int
    """Thousandths at base, or NO_LIMIT."""
    grams_each: float
    """Grams of one thousandth."""
    millilitres_each: float

    def loaded(self, used: int) -> int:
        """Return what goes on the vehicle when `used` is needed: whole packs, never more than the stock."""
        whole = -(-used // self.pack) * self.pack if self.pack else used
        return whole if self.stock == NO_LIMIT else min(whole, max(self.stock, used))


@dataclass(frozen=True)
class Task:
    """One job."""

    set_up_seconds: int
    rank: int
    weight: int
    """What it counts inside its rank."""
    uses: tuple[tuple[int, int], ...] = ()
    """Supply index and thousandths, taken out of the vehicle."""
    back: tuple[tuple[int, int], ...] = ()
    """Supply index and thousandths, brought onto the vehicle."""
    carried: tuple[tuple[int, int], ...] = ()
    """Supply index and thousandths that are on the vehicle for a while within the visit only, all else on it too."""
    people: int = 1


@dataclass(frozen=True)
class Visit:
    """A possible stop: a place, one window on one day, and the tasks that may be done in it.

    A place may have several possible visits (other hours, other light); a task is done in at most one of them.
    """

    place: int
    opens: int
    closes: int
    tasks: tuple[int, ...]
    walk_seconds: int = 0
    last_of_day: bool = False
    day: int = 0
    """Which day of the round."""
    closed_by_light: bool = True
    """Whether the window ends because light does, and not because the gate is shut."""


@dataclass(frozen=True, eq=False)
class Route:
    """One crew on one day."""

    earliest_leave: int
    home_by: int
    payload_grams: int
    space_millilitres: int
    break_seconds: int
    break_after_seconds: int
    work_seconds: tuple[int, ...]
    """Shape (tasks,): what each task takes this crew, set-up not counted."""
    allowed: tuple[bool, ...]
    """Shape (tasks,): whether this crew's people and vehicle can do the task."""
    drive_seconds: NDArray[np.int64]
    """Shape (places, places), [from, to], as this crew's vehicle drives; negative where there is no way."""
    drive_metres: NDArray[np.int64]
    day: int = 0
    """Which day of the round; only visits of that day can be made."""
    most_away: int = NO_LIMIT
    """The longest that it may be away, in seconds, or NO_LIMIT."""
    most_trips: int = 1
    """How often it may leave base on its day: once, and again each time it has come back to load."""
    reload_seconds: int = 0
    """What loading again at base takes."""
    leaves_by: int = LIMITLESS
    """The latest that it may leave: where the crew is out already, now, since waiting there is time away too."""

    @property
    def longest(self) -> int:
        """The longest that it can be away."""
        hours = self.home_by - self.earliest_leave
        return hours if self.most_away == NO_LIMIT else min(hours, self.most_away)


@dataclass(frozen=True, eq=False)
class Problem:
    """Everything an engine may know."""

    supplies: tuple[Supply, ...]
    tasks: tuple[Task, ...]
    visits: tuple[Visit, ...]
    routes: tuple[Route, ...]
    distance_first: bool = False
    """Whether the least distance counts before the least time away, as published instances have it."""

    @cached_property
    def legs(self) -> tuple[tuple[Rows, Rows], ...]:
        """By route the drive seconds and metres in rows, of which one number is read ten times as quickly.

        Routes that share an array share its rows: 80 crew-days of 1,000 places would else take gigabytes.
        """
        arrays = {id(array): array for route in self.routes for array in (route.drive_seconds, route.drive_metres)}
        rows = {key: rows_of(array) for key, array in arrays.items()}
        return tuple((rows[id(route.drive_seconds)], rows[id(route.drive_metres)]) for route in self.routes)

    @cached_property
    def visits_of(self) -> tuple[tuple[int, ...], ...]:
        """Return by task the visits in which it may be done, rising."""
        found: list[list[int]] = [[] for _ in self.tasks]
        for number, visit in enumerate(self.visits):
            for task in visit.tasks:
                found[task].append(number)
        return tuple(tuple(visits) for visits in found)

    def visits_for(self, tasks: Sequence[int]) -> list[int]:
        """Return the visits, rising, in which all of these tasks may be done, at least one task."""
        every = set(tasks)
        return [number for number in self.visits_of[tasks[0]] if every <= set(self.visits[number].tasks)]

    @cached_property
    def heavy(self) -> tuple[bool, ...]:
        """Whether each route could pass payload or space if it did all that it is allowed to, shape (routes,)."""
        return tuple(
            bool(measures_over(self, route, [task for task, allowed in enumerate(route.allowed) if allowed]))
            for route in self.routes
        )

    @cached_property
    def returns(self) -> tuple[bool, ...]:
        """Whether each route might come back to base to load again, shape (routes,)."""
        return tuple(heavy and route.most_trips > 1 for heavy, route in zip(self.heavy, self.routes, strict=True))

    @cached_property
    def breaks_elsewhere(self) -> tuple[Problem, Problem, Problem]:
        """Return the problem without breaks, with the break before all stops and with it after them all.

        A visit may be possible though it cannot host the break itself: then another stop does, before it or after.
        """
        rested = tuple(replace(route, break_seconds=0) for route in self.routes)
        pairs = tuple(zip(rested, (route.break_seconds for route in self.routes), strict=True))
        before = tuple(replace(route, earliest_leave=route.earliest_leave + rest) for route, rest in pairs)
        after = tuple(replace(route, home_by=route.home_by - rest) for route, rest in pairs)
        return replace(self, routes=rested), replace(self, routes=before), replace(self, routes=after)

    @cached_property
    def relaxation(self) -> Problem:
        """Return the problem for bounds: no trip needs to end for its load, and nothing takes longer than here.

        Where a route may come back to base, each drive is at most the way by base with loading there, and no break is
        due, which at base needs no window. An order that is possible here is possible there, and costs no more.
        Itself where no route may come back.
        """
        if not any(self.returns):
            return self
        by_base: dict[tuple[int, int], NDArray[np.int64]] = {}  # routes that share an array share what comes of it
        routes = tuple(
            _relaxed(route, by_base) if returns else route
            for returns, route in zip(self.returns, self.routes, strict=True)
        )
        return replace(self, routes=routes)

    @cached_property
    def on_site_seconds(self) -> Callable[[int, Planned], int]:
        """Walk, one set-up and the work of a route's planned stop, the break not counted; each worked out once."""

        def seconds(route: int, planned: Planned) -> int:
            work = self.routes[route].work_seconds
            return (
                self.visits[planned.visit].walk_seconds
                + max(self.tasks[task].set_up_seconds for task in planned.tasks)
                + sum(work[task] for task in planned.tasks)
            )

        return cache(seconds)


Rows = Sequence[Sequence[int]]
"""Numbers of a square array, [from][to]."""

BLOCK = 500
"""So many rows of a large array are worked out together."""

MOST_LISTED = 1200
"""Up to so many places the rows are lists: 5,000 places in lists of numbers would take 2 GB."""


def rows_of(array: NDArray[np.int64]) -> Rows:
    """Return the rows of an array so that one number of them is read quickly; a large array's own memory."""
    rows: list[list[int]] = array.tolist() if len(array) <= MOST_LISTED else []
    return rows or [memoryview(row) for row in np.ascontiguousarray(array)]


def quickest_ways(seconds: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the least seconds of drives between places by whatever others, shape (places, places) as `seconds`.

    Negative where there is no way. Source: R. W. Floyd, "Algorithm 97: Shortest Path", Communications of the ACM 5
    (1962), from memory, not checked.
    """
    far = np.iinfo(np.int64).max // 4
    ways = np.where(seconds < 0, np.int64(far), seconds)
    np.fill_diagonal(ways, 0)
    for via in range(len(ways)):
        ways = np.minimum(ways, ways[:, via, None] + ways[None, via, :])
    return np.where(ways >= far, -1, ways)


def _relaxed(route: Route, known: dict[tuple[int, int], NDArray[np.int64]]) -> Route:
    """Return the route that carries everything at once, each drive at most that by way of base; without a break."""
    for drives, extra in ((route.drive_seconds, route.reload_seconds), (route.drive_metres, 0)):
        if (id(drives), extra) not in known:
            known[id(drives), extra] = _by_base(drives, extra)
    return replace(
        route,
        payload_grams=LIMITLESS,
        space_millilitres=LIMITLESS,
        break_seconds=0,
        drive_seconds=known[id(route.drive_seconds), route.reload_seconds],
        drive_metres=known[id(route.drive_metres), 0],
        most_trips=1,
    )


def _by_base(drives: NDArray[np.int64], extra: int) -> NDArray[np.int64]:
    far = np.int64(np.iinfo(np.int64).max // 4)
    onward = np.where(drives[:1] < 0, far, drives[:1])
    found = np.empty_like(drives)
    for first in range(0, len(drives), BLOCK):
        plain = np.where(drives[first : first + BLOCK] < 0, far, drives[first : first + BLOCK])
        least = np.minimum(plain, plain[:, :1] + extra + onward)
        found[first : first + BLOCK] = np.where(least >= far, -1, least)
    return found


@dataclass(frozen=True, order=True)
class Planned:
    """A stop that an engine chose: a visit and the tasks done in it, in rising order, never empty."""

    visit: int
    tasks: tuple[int, ...]


Order = tuple[Planned, ...]
"""One route's stops in order; empty where the crew stays at home."""

Orders = tuple[Order, ...]
"""Shape (routes,)."""


def fits_limit(amount: float, limit: int) -> bool:
    """Return whether an amount, rounded up at a millionth, is within a limit."""
    return amount <= limit or ceil(round(amount, 6)) <= limit


def used_by(problem: Problem, tasks: Iterable[int]) -> list[int]:
    """Return the thousandths of each supply that the tasks use, shape (supplies,)."""
    used = [0] * len(problem.supplies)
    for task in tasks:
        for supply, amount in problem.tasks[task].uses:
            used[supply] += amount
    return used


def measures_over(problem: Problem, rules: Route, tasks: Collection[int]) -> list[tuple[int, list[float]]]:
    """Return payload and space, and what a thousandth of each supply takes of it, where all tasks together pass it."""
    more = [0] * len(problem.supplies)
    for task in tasks:
        for supply, amount in (*problem.tasks[task].back, *problem.tasks[task].carried):
            more[supply] += amount
    most = [s.loaded(out) + back for s, out, back in zip(problem.supplies, used_by(problem, tasks), more, strict=True)]
    measures = (
        (rules.payload_grams, [s.grams_each for s in problem.supplies]),
        (rules.space_millilitres, [s.millilitres_each for s in problem.supplies]),
    )
    return [
        (limit, each)
        for limit, each in measures
        if not fits_limit(sum(a * e for a, e in zip(most, each, strict=True)), limit)
    ]


def served(orders: Sequence[Order]) -> frozenset[int]:
    """Return the tasks done in these orders."""
    return frozenset(task for order in orders for planned in order for task in planned.tasks)


def rank_score(problem: Problem, tasks: frozenset[int]) -> tuple[int, ...]:
    """Return the weight served in each rank, shape (RANKS,): larger is better, compared from the left."""
    score = [0] * RANKS
    for task in tasks:
        score[problem.tasks[task].rank] += problem.tasks[task].weight
    return tuple(score)


def widest(problem: Problem, orders: Orders) -> Orders:
    """Return the orders with every stop in the widest window that its tasks allow; nothing fits worse for it.

    An engine may do only the less demanding tasks of a visit; what was left undone must not narrow the window.
    """
    alike: dict[tuple[int, int, int], list[int]] = {}
    for number, visit in enumerate(problem.visits):
        alike.setdefault((visit.place, visit.day, visit.walk_seconds), []).append(number)

    def wide(planned: Planned) -> Planned:
        now = problem.visits[planned.visit]
        best = planned.visit
        for number in alike[now.place, now.day, now.walk_seconds]:
            visit = problem.visits[number]
            wider = visit.opens <= problem.visits[best].opens and visit.closes >= problem.visits[best].closes
            if wider and set(planned.tasks) <= set(visit.tasks):
                best = number
        return Planned(best, planned.tasks)

    return tuple(tuple(wide(planned) for planned in order) for order in orders)
