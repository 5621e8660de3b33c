"""The ways to make each visit that orders of all tasks are sought among, and the table that is made of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.problem import Planned, Problem

NEVER = 1 << 29
"""Stands for a set that cannot be finished."""

FINE = 60
"""Needs are counted in sixtieths of seconds, so that the time of a stop can be shared out over its work."""

COARSE = 900
"""Hours of sites are put together to so many seconds where they bound what is left."""

MOST_UNITS = 40
MOST_OPTIONS = 90
MOST_UNITS_A_VISIT = 3

Seconds = NDArray[np.int32]
Sets = NDArray[np.int64]


@dataclass(frozen=True)
class Limits:
    """How much may be looked at: the effort, the same on every machine."""

    ends: int = 20_000_000
    """Sets times options."""
    sets_a_size: int = 400_000
    """Of more sets of one size only the most hopeful are followed, and a no is no proof any more."""


@dataclass(frozen=True)
class Option:
    """One way of stopping: a visit, and which of its work is done in it."""

    visit: int
    tasks: tuple[int, ...]
    units: int
    """Bit by bit."""
    seconds: int
    opens: int
    closes: int
    place: int
    last: bool


@dataclass(frozen=True)
class Table:
    """The options as arrays, shape (options,) each, and (options, options) where drives are meant."""

    options: tuple[Option, ...]
    units: int
    out: Seconds
    """Earliest arrival at an option that the day begins with."""
    last_close: int
    drives: Seconds
    """From an option to an option, NEVER where it may not follow."""
    home: Seconds
    latest_starts: Seconds
    """Shape (options, units): the latest finish of an option from which a unit can still be begun in time."""
    needs: NDArray[np.float64]
    """Shape (units,): the least that each unit still takes, the way to it counted, in sixtieths of seconds."""
    spans: tuple[tuple[int, int, int], ...]
    """Stretches of the day: from (-NEVER for any), to, and the longest way to any unit whose hours lie inside."""
    inside: NDArray[np.float64]
    """Shape (units, spans): `needs` where the hours of the unit lie inside the stretch, else 0."""


def units_of(problem: Problem, route: int, tasks: frozenset[int]) -> list[tuple[int, ...]]:
    """Return the tasks in bundles that are best done together: those of a place that only one visit can do."""
    day = problem.routes[route].day
    homes: dict[tuple[int, ...], list[int]] = {}
    for task in sorted(tasks):
        visits = tuple(n for n, visit in enumerate(problem.visits) if visit.day == day and task in visit.tasks)
        homes.setdefault(visits if len(visits) == 1 else (*visits, -task - 1), []).append(task)
    return [tuple(bundle) for bundle in homes.values()]


def options_of(problem: Problem, route: int, units: Sequence[tuple[int, ...]]) -> Iterator[Option]:
    """Yield the ways of one route to stop at its visits, each for a few of the units of work."""
    for number, visit in enumerate(problem.visits):
        here = [unit for unit, tasks in enumerate(units) if set(tasks) <= set(visit.tasks)]
        if visit.day != problem.routes[route].day:
            continue
        for size in range(1, min(len(here), MOST_UNITS_A_VISIT) + 1):
            for chosen in combinations(here, size):
                done = tuple(sorted(task for unit in chosen for task in units[unit]))
                if not all(problem.routes[route].allowed[task] for task in done):
                    continue
                yield Option(
                    visit=number,
                    tasks=done,
                    units=sum(1 << unit for unit in chosen),
                    seconds=problem.on_site_seconds(route, Planned(number, done)),
                    opens=visit.opens,
                    closes=visit.closes,
                    place=visit.place,
                    last=visit.last_of_day,
                )


def table_of(problem: Problem, route: int, tasks: frozenset[int]) -> Table | None:
    """Return the arrays, or None where the work is too much for them, or some of it cannot be done at all."""
    rules = problem.routes[route]
    units = units_of(problem, route, tasks)
    options = tuple(options_of(problem, route, units))
    most = max((sum(set(unit) <= set(visit.tasks) for unit in units) for visit in problem.visits), default=0)
    if len(units) > MOST_UNITS or len(options) > MOST_OPTIONS or most > MOST_UNITS_A_VISIT or not options:
        return None
    places = np.array([option.place for option in options])
    ways = np.where(rules.drive_seconds < 0, NEVER, rules.drive_seconds).astype(np.int64)
    apart = ways[np.ix_(places, places)]
    shortest = ways.copy()
    for via in sorted(set(places.tolist())):  # nothing is passed on the way but what is stopped at
        shortest = np.minimum(shortest, shortest[:, via, None] + shortest[None, via, :])
    lasts = np.array([option.last for option in options])
    seconds = np.array([option.seconds for option in options])
    opens, closes = (np.array([getattr(option, end) for option in options]) for end in ("opens", "closes"))
    latest = np.full((len(options), len(units)), -NEVER, dtype=np.int64)
    needs = np.full(len(units), NEVER, dtype=np.int64)
    enters = np.zeros(len(units), dtype=np.int64)
    first_open, last_close = np.full(len(units), NEVER, dtype=np.int64), np.full(len(units), -NEVER, dtype=np.int64)
    several = {place for place in places.tolist() if sum(1 for o in options if o.place == place) > 1}
    for index, option in enumerate(options):
        others = places != option.place
        enter = 0 if option.place in several or not others.any() else int(shortest[places[others], option.place].min())
        inside = [unit for unit in range(len(units)) if option.units >> unit & 1]
        for unit in inside:
            needs[unit] = min(needs[unit], FINE * (option.seconds + enter) // len(inside))
            enters[unit] = max(enters[unit], FINE * enter)
            first_open[unit], last_close[unit] = (
                min(first_open[unit], opens[index]),
                max(last_close[unit], closes[index]),
            )
            start = closes[index] - seconds[index] - shortest[places, option.place]
            latest[:, unit] = np.maximum(latest[:, unit], start)
    spans, needed_inside = spans_of(needs, enters, first_open, last_close)
    return Table(
        options,
        len(units),
        out=np.minimum(rules.earliest_leave + ways[0, places], NEVER).astype(np.int32),
        last_close=int(closes.max()),
        drives=np.where(lasts[:, None] & ~lasts[None, :], NEVER, apart).astype(np.int32),
        home=np.minimum(ways[places, 0], NEVER).astype(np.int32),
        latest_starts=latest.clip(-NEVER, NEVER).astype(np.int32),
        needs=needs.astype(np.float64),
        spans=spans,
        inside=needed_inside,
    )


def spans_of(
    needs: NDArray[np.int64], enters: NDArray[np.int64], opens: NDArray[np.int64], closes: NDArray[np.int64]
) -> tuple[tuple[tuple[int, int, int], ...], NDArray[np.float64]]:
    """Return stretches of the day whose work may not find room in them, and the work inside, shape (units, spans)."""
    begins = sorted({-NEVER, *(opens // COARSE * COARSE).tolist()})
    ends = sorted({int(closes.max()), *(-(-closes // COARSE) * COARSE).tolist()})
    spans, columns = [], []
    for begin in begins:
        for end in ends:
            inside = (opens >= begin) & (closes <= end)
            if inside.any():
                spans.append((begin, end, int(enters[inside].max())))
                columns.append(np.where(inside, needs, 0).astype(np.float64))
    return tuple(spans), np.stack(columns, axis=1)
