"""How far a given order violates its day: the least by which light, gates, home or payload must give for it to hold."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from itertools import islice, product
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from routing.planning.model.lateness import lateness
from routing.planning.model.load import overload
from routing.planning.model.problem import Order, Planned, Problem, served
from routing.planning.model.timing import timeline

if TYPE_CHECKING:
    from routing.planning.model.timing import Timeline

MOST_STRETCH_SECONDS = 48 * 3600
"""An order that breaks its day by more is told as one that has no way."""

MOST_WINDOWS = 64
"""So many ways to choose the hours of an order are looked at for the one that is broken least."""


@dataclass(frozen=True)
class Give:
    """What of a day gives way, and by how much: seconds, then grams and millilitres."""

    light: int = 0
    """So much later every window ends that ends because light does."""
    hours: int = 0
    """So much later every other window ends."""
    earlier: int = 0
    home: int = 0
    grams: int = 0
    millilitres: int = 0

    @property
    def nothing(self) -> bool:
        """Whether nothing gives way."""
        return not any(getattr(self, one.name) for one in fields(self))


def given(problem: Problem, give: Give) -> Problem:
    """Return the problem in which all days give way so far."""
    if give.nothing:
        return problem  # with all that is remembered of it
    later = (give.hours, give.light)
    return replace(
        problem,
        visits=tuple(replace(visit, closes=visit.closes + later[visit.closed_by_light]) for visit in problem.visits),
        routes=tuple(
            replace(
                route,
                earliest_leave=route.earliest_leave - give.earlier,
                home_by=route.home_by + give.home,
                payload_grams=route.payload_grams + give.grams,
                space_millilitres=route.space_millilitres + give.millilitres,
            )
            for route in problem.routes
        ),
    )


def of_order_alone(problem: Problem, route: int, order: Order) -> tuple[Problem, Order]:
    """Return the problem of one route with nothing in it but the order's own stops and tasks, and the order there.

    So small a problem is changed and timed again in microseconds, however large the farm.
    """
    visits = [problem.visits[planned.visit] for planned in order]
    places = [0, *dict.fromkeys(visit.place for visit in visits)]
    names = {task: number for number, task in enumerate(sorted(served((order,))))}
    own = [tuple(names[task] for task in planned.tasks) for planned in order]
    rules, grid = problem.routes[route], np.ix_(places, places)
    alone = replace(
        problem,
        tasks=tuple(problem.tasks[task] for task in names),
        visits=tuple(
            replace(visit, place=places.index(visit.place), tasks=tasks)
            for visit, tasks in zip(visits, own, strict=True)
        ),
        routes=(
            replace(
                rules,
                work_seconds=tuple(rules.work_seconds[task] for task in names),
                allowed=tuple(rules.allowed[task] for task in names),
                drive_seconds=rules.drive_seconds[grid].astype(np.int64),
                drive_metres=rules.drive_metres[grid].astype(np.int64),
            ),
        ),
    )
    return alone, tuple(Planned(number, tasks) for number, tasks in enumerate(own))


@dataclass(frozen=True)
class Violation:
    """By how much an order breaks its day at the very least, and the times that it then has."""

    give: Give
    times: Timeline


def least_violation(problem: Problem, route: int, order: Order) -> Violation | None:
    """Return the least that must give way for an order to hold, None where there is no way however much does.

    First as much payload and space as it is over; then home alone, light alone or gates alone where one of these is
    enough, else all three together, as little as they can and each no more than it needs.
    """
    small, alone = of_order_alone(problem, route, order)
    grams, millilitres = (ceil(over) for over in overload(small, 0, alone))
    carried = Give(grams=grams, millilitres=millilitres)
    small = given(small, carried)
    early = lateness(small, 0, alone)
    found = None
    for kinds in (("home",), ("light",), ("hours",), ("home", "light", "hours")):
        found = found or _least(
            small, alone, kinds, 0 if early is None else max(getattr(early, kind) for kind in kinds)
        )
    if found is None:
        return None
    times = found.times
    late = [
        (visit.closed_by_light, finish - visit.closes)
        for visit, finish in zip(small.visits, times.finishes, strict=True)
    ]
    give = replace(
        carried,
        light=max((by for lit, by in late if lit and by > 0), default=0),
        hours=max((by for lit, by in late if not lit and by > 0), default=0),
        home=max(0, times.home - small.routes[0].home_by),
    )
    return Violation(give, times)


def least_broken(problem: Problem, route: int, ways: Sequence[Sequence[Planned]]) -> tuple[Order, Violation | None]:
    """Return the order in those hours that are broken least, and what must give way; None where there is no way.

    `ways` are the hours of each stop; the first of each is taken where nothing helps.
    """
    best: tuple[tuple[int, int], Order, Violation] | None = None
    for order in islice(product(*ways), MOST_WINDOWS):
        found = least_violation(problem, route, order)
        if found is None:
            continue
        measure = (found.give.light + found.give.hours + found.give.home, found.times.away)
        if best is None or measure < best[0]:
            best = (measure, order, found)
    return (tuple(way[0] for way in ways), None) if best is None else (best[1], best[2])


def _least(problem: Problem, order: Order, kinds: tuple[str, ...], guess: int) -> Violation | None:
    """Return the fewest seconds by which all these together must give way, None where they do not do.

    The guess is looked at first: mostly it is right, which spares halving in two days of seconds.
    """

    def at(seconds: int) -> tuple[Give, Timeline | None]:
        give = Give(**dict.fromkeys(kinds, seconds))
        return give, timeline(given(problem, give), 0, order)

    if at(MOST_STRETCH_SECONDS)[1] is None:
        return None
    seconds = guess
    if not 0 < guess < MOST_STRETCH_SECONDS or at(guess)[1] is None or at(guess - 1)[1] is not None:
        seconds = bisect_left(range(MOST_STRETCH_SECONDS), 1, key=lambda tried: at(tried)[1] is not None)
    give, times = at(seconds)
    return None if times is None else Violation(give, times)
