"""Whether one route can do everything at all: the earliest finish of every set of work and last stop, all at once.

A dynamic programme over sets (M. Held and R. Karp, SIAM Journal 10, 1962, from memory, not checked), in whole arrays:
20 sites of which windows rule nothing out are a million sets and some seconds. Loads are not seen, so a no is a proof,
and a yes must be looked at.

Measured on 21 days of 20 to 40 jobs of which arithmetic proved nothing, and CP-SAT took 1 to 30 s, 13 of them without
an answer: following the 300 most hopeful sets of each size answers 16 of them in a quarter of a second each.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.exact.visit_options import FINE, NEVER, Limits, Seconds, Sets, Table, table_of
from routing.planning.model.problem import Order, Planned, Problem, Route


@dataclass(frozen=True)
class Verdict:
    """Whether an order does everything."""

    order: Order
    """Empty where none was found."""
    proven: bool
    """Whether, with no order found, there is none."""
    ends: int
    """How many sets of work, times options, were looked at."""


def order_of_all(problem: Problem, route: int, tasks: frozenset[int], limits: Limits, *, rest: bool) -> Verdict:
    """Return an order of one route that does all tasks, if there is one; loads are not looked at.

    With `rest` the crew's break is taken before the work of a stop, however late, else it is not.
    """
    table = table_of(problem, route, tasks)
    if table is None:
        return Verdict((), proven=False, ends=0)
    return _search(problem.routes[route], table, rest=rest, limits=limits)


@dataclass
class _Layer:
    """The sets of one size, rising, and the earliest finishes, shape (sets, options): before the break, and after."""

    sets: Sets
    before: Seconds
    after: Seconds


Waiting = dict[int, list[tuple[int, Sets, Seconds, Seconds]]]
"""By size: an option, the sets that it ends, and its finishes before and after the break."""


def _search(rules: Route, table: Table, *, rest: bool, limits: Limits) -> Verdict:
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


def _extend(table: Table, layer: _Layer, break_seconds: np.int32, size: int, waiting: Waiting) -> None:
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


def _best(table: Table, layer: _Layer, count: int) -> _Layer:
    """Return the sets from which most time is left over for what is missing."""
    spare = -(_missing(table, layer.sets) @ table.needs) // FINE - layer.after.min(axis=1)
    rows = np.sort(np.argsort(-spare, kind="stable")[:count])
    return _Layer(layer.sets[rows], layer.before[rows], layer.after[rows])


def _missing(table: Table, sets: Sets) -> NDArray[np.float64]:
    """Return 1 for every unit that a set lacks and 0 for others, shape (sets, units)."""
    missing: NDArray[np.bool_] = sets[:, None] >> np.arange(table.units) & 1 == 0
    return missing.astype(np.float64)


def _finish(table: Table, option: int, finishes: Seconds) -> Seconds:
    """Return the earliest finish of an option after each row of finishes, shape (rows,)."""
    if not len(finishes):
        return np.empty(0, dtype=np.int32)
    return _begun(table, option, (finishes + table.drives[:, option]).min(axis=1))


def _begun(table: Table, option: int, ready: Seconds) -> Seconds:
    """Return when an option is finished that may be begun at these moments, NEVER where that is too late."""
    facts = table.options[option]
    finishes = np.maximum(ready, np.int32(facts.opens)) + np.int32(facts.seconds)
    return np.where(finishes > facts.closes, np.int32(NEVER), finishes).astype(np.int32)


def _layer(table: Table, home_by: int, rest: int, waiting: list[tuple[int, Sets, Seconds, Seconds]]) -> _Layer:
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


def _latest(table: Table, sets: Sets, home_by: int) -> Seconds:
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


def _order(table: Table, layers: dict[int, _Layer], last: int, rest: int) -> Order:
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
