"""Where jobs go best into days that a person gives: the place that breaks least, and of such that which adds least."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import replace

from routing.errors import AskedError
from routing.planning.ask.given_days import GivenDay, GivenDays
from routing.planning.ask.own_choice import Named, options
from routing.planning.explain.forced_insertion import extra_seconds
from routing.planning.model.lateness import lateness
from routing.planning.model.load import overload
from routing.planning.model.problem import Order, Planned

_NEVER = 1 << 40


def placed(
    given: GivenDays, days: Sequence[GivenDay], jobs: tuple[str, ...], into: Sequence[tuple[str, dt.date]]
) -> tuple[GivenDay, ...]:
    """Return the days with jobs of one site put into one of the crew-days `into` each, all else as it is.

    They go as one stop, and join one that is made there on that day already; a move of hives is a stop by itself.
    Raises AskedError where none of these crews is out.
    """
    stops: dict[int, tuple[str, ...]] = {}
    for job in jobs:
        place = given.instance.task_places[given.tasks[job]]
        stops[place] = (*stops.get(place, ()), job)
    found = tuple(days)
    for stop in stops.values():
        found = _placed(given, found, stop, into)
    return found


def _placed(
    given: GivenDays, days: Sequence[GivenDay], jobs: tuple[str, ...], into: Sequence[tuple[str, dt.date]]
) -> tuple[GivenDay, ...]:
    """Return the days with jobs of one place put into one of the crew-days."""
    ways = [way for day in days if (day.crew, day.date) in into for way in _ways(given, day, jobs)]
    out = {(day.crew, day.date) for day in days}
    ways += [way for crew, date in into if (crew, date) not in out for way in _ways(given, GivenDay(crew, date), jobs)]
    if not ways:
        raise AskedError("none of these crews is out on that day")
    best = min(ways, key=lambda way: way[0])[1]
    found = [best if (day.crew, day.date) == (best.crew, best.date) else day for day in days]
    return tuple(found if (best.crew, best.date) in out else [*found, best])


def _ways(given: GivenDays, day: GivenDay, jobs: tuple[str, ...]) -> Iterator[tuple[tuple[int, ...], GivenDay]]:
    """Yield how bad each way is of putting jobs into a day, and the day with them."""
    route = given.routes.get((day.crew, day.date))
    if route is None:
        return
    before = _order(given, route, day)
    here = {given.instance.task_places[given.tasks[job]] for job in jobs}
    for at, stop in enumerate(day.stops):
        if {given.instance.task_places[given.tasks[job]] for job in stop} == here:
            joined = replace(day, stops=(*day.stops[:at], (*stop, *jobs), *day.stops[at + 1 :]))
            yield (0, *_badness(given, route, before, joined)), joined
    for at in range(len(day.stops) + 1):
        longer = replace(day, stops=(*day.stops[:at], jobs, *day.stops[at:]))
        yield (1, *_badness(given, route, before, longer)), longer


def _order(given: GivenDays, route: int, day: GivenDay) -> Order | None:
    """Return a day's order in its first hours, None where a stop has none that day."""
    order: list[Planned] = []
    for jobs in day.stops:
        stop = Named(frozenset(given.tasks[job] for job in jobs))
        some = next(options(given.instance.problem, route, stop.tasks, whole=True), None)
        if some is None:
            return None
        order.append(some)
    return tuple(order)


def _badness(given: GivenDays, route: int, before: Order | None, day: GivenDay) -> tuple[int, ...]:
    problem, order = given.instance.problem, _order(given, route, day)
    if order is None:
        return (_NEVER, 0, 0, 0)
    lasts = [problem.visits[planned.visit].last_of_day for planned in order]
    unable = sum(not problem.routes[route].allowed[task] for planned in order for task in planned.tasks)
    late = lateness(problem, route, order)
    over = round(sum(overload(problem, route, order)))
    extra = 0 if before is None else extra_seconds(problem, route, before, order)
    return (unable + (lasts != sorted(lasts)), _NEVER if late is None else late.total, over, extra)
