"""Whether one route can do everything at all: the earliest finish of every set of work and last stop, all at once.

A dynamic programme over sets (M. Held and R. Karp, SIAM Journal 10, 1962, from memory, not checked), in whole arrays:
20 sites of which windows rule nothing out are a million sets and some seconds. Loads are not seen, so a no is a proof,
and a yes must be looked at.

Measured on 21 days of 20 to 40 jobs of which arithmetic proved nothing, and CP-SAT took 1 to 30 s, 13 of them without
an answer: following the 300 most hopeful sets of each size answers 16 of them in a quarter of a second each.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.problem import Order, Planned, Problem, Route

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
class Verdict:
    """Whether an order does everything."""

    order: Order
    """Empty where none was found."""
    proven: bool
    """Whether, with no order found, there is none."""
    ends: int
    """How many sets of work, times options, were looked at."""


@dataclass(frozen=True)
class _Option:
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
class _Table:
    """The options as arrays, shape (options,) each, and (options, options) where drives are meant."""

    options: tuple[_Option, ...]
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


def order_of_all(problem: Problem, route: int, tasks: frozenset[int], limits: Limits, *, rest: bool) -> Verdict:
    """Return an order of one route that does all tasks, if there is one; loads are not looked at.

    With `rest` the crew's break is taken before the work of a stop, however late, else it is not.
    """
    table = _table(problem, route, tasks)
    if table is None:
        return Verdict((), proven=False, ends=0)
    return _search(problem.routes[route], table, rest=rest, limits=limits)


def _units(problem: Problem, route: int, tasks: frozenset[int]) -> list[tuple[int, ...]]:
    """Return the tasks in bundles that are best done together: those of a place that only one visit can do."""
    day = problem.routes[route].day
    homes: dict[tuple[int, ...], list[int]] = {}
    for task in sorted(tasks):
        visits = tuple(n for n, visit in enumerate(problem.visits) if visit.day == day and task in visit.tasks)
        homes.setdefault(visits if len(visits) == 1 else (*visits, -task - 1), []).append(task)
    return [tuple(bundle) for bundle in homes.values()]


def _options(problem: Problem, route: int, units: Sequence[tuple[int, ...]]) -> Iterator[_Option]:
    for number, visit in enumerate(problem.visits):
        here = [unit for unit, tasks in enumerate(units) if set(tasks) <= set(visit.tasks)]
        if visit.day != problem.routes[route].day:
            continue
        for size in range(1, min(len(here), MOST_UNITS_A_VISIT) + 1):
            for chosen in combinations(here, size):
                done = tuple(sorted(task for unit in chosen for task in units[unit]))
                if not all(problem.routes[route].allowed[task] for task in done):
                    continue
                yield _Option(
                    visit=number,
                    tasks=done,
                    units=sum(1 << unit for unit in chosen),
                    seconds=problem.on_site_seconds(route, Planned(number, done)),
                    opens=visit.opens,
                    closes=visit.closes,
                    place=visit.place,
                    last=visit.last_of_day,
                )


def _table(problem: Problem, route: int, tasks: frozenset[int]) -> _Table | None:
    """Return the arrays, or None where the work is too much for them, or some of it cannot be done at all."""
    rules = problem.routes[route]
    units = _units(problem, route, tasks)
    options = tuple(_options(problem, route, units))
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
    spans, needed_inside = _spans(needs, enters, first_open, last_close)
    return _Table(
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


def _spans(
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


@dataclass
class _Layer:
    """The sets of one size, rising, and the earliest finishes, shape (sets, options): before the break, and after."""

    sets: Sets
    before: Seconds
    after: Seconds


Waiting = dict[int, list[tuple[int, Sets, Seconds, Seconds]]]
"""By size: an option, the sets that it ends, and its finishes before and after the break."""


def _search(rules: Route, table: _Table, *, rest: bool, limits: Limits) -> Verdict:
    break_seconds = np.int32(rules.break_seconds * rest)
    waiting: Waiting = {}
    layers: dict[int, _Layer] = {}
    looked_at, whole = 0, True
    for index, option in enumerate(table.options):
        start = _begun(table, index, table.out[index : index + 1])
        late = _begun(table, index, table.out[index : index + 1] + break_seconds)
        waiting.setdefault(option.units.bit_count(), []).append(
            (index, np.array([option.units], dtype=np.int64), start, late)
        )
    for size in range(1, table.units + 1):
        layer = _layer(table, rules.home_by, int(break_seconds), waiting.pop(size, []))
        if len(layer.sets) > limits.sets_a_size:
            layer, whole = _best(table, layer, limits.sets_a_size), False
        layers[size] = layer
        looked_at += layer.after.size
        if looked_at > limits.ends:
            return Verdict((), proven=False, ends=looked_at)
        if size < table.units:
            _extend(table, layer, break_seconds, size, waiting)
    ends = layers[table.units]
    homes = ends.after.astype(np.int64) + table.home if len(ends.sets) else np.full((1, 1), NEVER)
    if int(homes.min()) > rules.home_by:
        return Verdict((), proven=whole, ends=looked_at)
    return Verdict(_order(table, layers, int(homes.argmin()), int(break_seconds)), proven=True, ends=looked_at)


def _extend(table: _Table, layer: _Layer, break_seconds: np.int32, size: int, waiting: Waiting) -> None:
    """Add every option to every set of one size."""
    for index, option in enumerate(table.options):
        rows = np.flatnonzero(layer.sets & option.units == 0)
        after = _finish(table, index, layer.after[rows])
        before = after
        if break_seconds:
            before = _finish(table, index, layer.before[rows])
            after = np.minimum(after, _finish(table, index, layer.before[rows] + break_seconds))
        alive = np.flatnonzero(np.minimum(before, after) < NEVER)
        if len(alive):
            sets = layer.sets[rows[alive]] | option.units
            waiting.setdefault(size + option.units.bit_count(), []).append((index, sets, before[alive], after[alive]))


def _best(table: _Table, layer: _Layer, count: int) -> _Layer:
    """Return the sets from which most time is left over for what is missing."""
    spare = -(_missing(table, layer.sets) @ table.needs) // FINE - layer.after.min(axis=1)
    rows = np.sort(np.argsort(-spare, kind="stable")[:count])
    return _Layer(layer.sets[rows], layer.before[rows], layer.after[rows])


def _missing(table: _Table, sets: Sets) -> NDArray[np.float64]:
    """Return 1 for every unit that a set lacks and 0 for others, shape (sets, units)."""
    missing: NDArray[np.bool_] = sets[:, None] >> np.arange(table.units) & 1 == 0
    return missing.astype(np.float64)


def _finish(table: _Table, option: int, finishes: Seconds) -> Seconds:
    """Return the earliest finish of an option after each row of finishes, shape (rows,)."""
    if not len(finishes):
        return np.empty(0, dtype=np.int32)
    return _begun(table, option, (finishes + table.drives[:, option]).min(axis=1))


def _begun(table: _Table, option: int, ready: Seconds) -> Seconds:
    """Return when an option is finished that may be begun at these moments, NEVER where that is too late."""
    facts = table.options[option]
    finishes = np.maximum(ready, np.int32(facts.opens)) + np.int32(facts.seconds)
    return np.where(finishes > facts.closes, np.int32(NEVER), finishes).astype(np.int32)


def _layer(table: _Table, home_by: int, rest: int, waiting: list[tuple[int, Sets, Seconds, Seconds]]) -> _Layer:
    """Return the sets of one size without what cannot come to a good end."""
    if not waiting:
        empty = np.empty((0, len(table.options)), dtype=np.int32)
        return _Layer(np.empty(0, dtype=np.int64), empty, empty)
    sets = np.unique(np.concatenate([part[1] for part in waiting]))
    latest = _latest(table, sets, home_by)
    shape = (len(sets), len(table.options))
    before, after = np.full(shape, NEVER, dtype=np.int32), np.full(shape, NEVER, dtype=np.int32)
    for option, some, early, late in waiting:
        rows = np.searchsorted(sets, some)
        before[rows, option], after[rows, option] = early, late
    # The break is before the last work of all, but may be after what must be done by an earlier hour.
    needed = (_missing(table, sets) @ table.needs) // FINE
    latest_of_all = np.minimum(home_by - int(table.home.min()), table.last_close - needed) - rest
    before[before > np.minimum(latest, latest_of_all)[:, None]] = NEVER
    after[after > latest[:, None]] = NEVER
    for unit in range(table.units):
        missing = (sets >> unit & 1 == 0)[:, None]
        for finishes in (before, after):
            finishes[missing & (finishes > table.latest_starts[:, unit])] = NEVER
    alive = np.flatnonzero((np.minimum(before, after) < NEVER).any(axis=1))
    return _Layer(sets[alive], before[alive], after[alive])


def _latest(table: _Table, sets: Sets, home_by: int) -> Seconds:
    """Return the latest finish from which all that is missing from a set could be done, shape (sets,).

    What must be done by an hour takes at least its own time, and what opens later cannot be begun sooner.
    """
    needed = _missing(table, sets) @ table.inside
    latest = np.full(len(sets), home_by - int(table.home.min()), dtype=np.float64)
    for column, (opens, shuts, way) in enumerate(table.spans):
        any_missing = needed[:, column] > 0
        if opens == -NEVER:
            latest[any_missing] = np.minimum(latest, shuts - needed[:, column] // FINE)[any_missing]
        else:
            latest[any_missing & (opens + (needed[:, column] - way) // FINE > shuts)] = -NEVER
    return latest.clip(-NEVER, NEVER).astype(np.int32)


def _order(table: _Table, layers: dict[int, _Layer], last: int, rest: int) -> Order:
    """Return the order that reaches the whole at `last`, walked backwards."""
    stops: list[int] = []
    now, at, rested = (1 << table.units) - 1, last, True
    while True:
        stops.append(at)
        facts = table.options[at]
        layer = layers[now.bit_count()]
        row = int(np.searchsorted(layer.sets, now))
        finish = int((layer.after if rested else layer.before)[row, at])
        now ^= facts.units
        if not now:
            break
        before = layers[now.bit_count()]
        row = int(np.searchsorted(before.sets, now))
        for was_rested, finishes in ((True, before.after), (False, before.before)):
            if was_rested and not rested:
                continue
            took = rest if rested and not was_rested else 0
            reached = np.maximum(finishes[row] + table.drives[:, at] + took, facts.opens) + facts.seconds
            hits = np.flatnonzero(reached == finish)
            if len(hits):
                at, rested = int(hits[0]), was_rested
                break
    return tuple(Planned(table.options[at].visit, table.options[at].tasks) for at in reversed(stops))
