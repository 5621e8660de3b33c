"""The engine of one long route, of which the day does not hold all: ruin and recreate by worth and time, annealed.

Cannot hold: coming back to base to load again, what is on board within a stop only, whole packs (where they break a
route, it goes on with less room). Plans the first route alone. The compiled search is in `route_annealing_kernel`.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.heuristics import route_annealing_kernel as kernel
from routing.planning.heuristics import ruin_segments
from routing.planning.model.engine import RANK_RATIO, Ask, Telling, empty
from routing.planning.model.frame import NO_WAY, Frame, build_frame, loads_of
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import NO_LIMIT, RANKS, Order, Orders, rank_score, served
from routing.planning.running.compiled_ahead import ANNEALING, wait_for

STEPS_AT_ONCE = 500
STEPS_AN_ITERATION = 25
"""A step takes about a twenty-fifth of what an iteration of PyVRP does on a day of 50 places."""

TOLL = 0.3
"""What the longest day costs, as a share of what the best so far is worth; mostly 0.1 to 0.6 were no better."""

HOT, COLD = 0.5, 0.002
"""Temperatures at the beginning of a run and at its end, in worths of a mean task of the last rank."""

WARM = 0.1
"""The same at the beginning of a run that starts from orders."""

MEAN_REMOVED = 5.0
BLINK_RATE = 0.02
LEAST_PACK = 1000.0
"""Grams and millilitres by which there is less room at the least, once a route did not hold what it took."""

MOST_LOAD = 10**12
"""Loads above this are none to an engine; sums of them stay within its integers."""


@dataclass(eq=False)
class _Arrays:
    """A frame in the columns that `ruin_segments` names, and the route under way."""

    arcs: NDArray[np.int64]
    clients: NDArray[np.int64]
    tasks: NDArray[np.int64]
    routes: NDArray[np.int64]
    near: NDArray[np.int64]
    tolls: NDArray[np.int64]
    uses: NDArray[np.int64]
    weights: NDArray[np.int64]
    """Shape (tasks, 2): rank and weight."""
    worth: NDArray[np.float64]
    stock: NDArray[np.int64]
    """Shape (limited supplies,), and `uses` (tasks, limited supplies)."""
    order: NDArray[np.int64]
    count: NDArray[np.int64]
    segments: NDArray[np.int64]
    best: NDArray[np.int64]
    best_count: NDArray[np.int64]
    reached: NDArray[np.int64]
    """What the best comes to: weight by rank, then its cost."""
    rest_at: NDArray[np.int64]


class RouteAnnealing:
    """The engine."""

    def __call__(self, ask: Ask) -> Orders:
        """Return the orders with the best first route found, from that of the start or from nothing."""
        others = empty(ask.problem)[1:] if ask.start is None else ask.start[1:]
        frame = build_frame(ask.problem, ask.tasks)
        kind = frame.kind_of.get(0)
        if not frame.clients or kind is None:
            return ((), *others)
        wait_for(ANNEALING)
        return (_Run(frame, ask).order(), *others)


class _Run:
    """One run under way."""

    def __init__(self, frame: Frame, ask: Ask) -> None:
        self._frame, self._ask = frame, ask
        self._kind = frame.kinds[frame.kind_of[0]]
        self._order_costs = OrderCosts(ask.problem)
        self._arrays = _arrays(frame)
        self._best: Order = ()
        self._held = tuple(each.copy() for each in self._standing)
        """The best route that was timed and loaded, and what it comes to."""
        packs = [(s.pack * s.grams_each, s.pack * s.millilitres_each) for s in ask.problem.supplies]
        self._pack = np.ceil(np.array(packs).reshape(-1, 2).max(axis=0, initial=LEAST_PACK)).astype(np.int64)

    def order(self) -> Order:
        """Run to the limit and return the best order."""
        ask, arrays = self._ask, self._arrays
        rules = ask.problem.routes[0]
        hottest = HOT
        if ask.start is not None and ask.start[0] and self._put(ask.start[0]):
            hottest = WARM
        dice = np.array([(ask.limit.seed * 0x9E3779B97F4A7C15 + 1) % 2**64 or 1], dtype=np.uint64)
        given = np.zeros(kernel.GIVEN_COLUMNS)
        given[kernel.GIVEN_STEPS], given[kernel.GIVEN_BLINK] = STEPS_AT_ONCE, BLINK_RATE
        given[kernel.GIVEN_MEAN] = MEAN_REMOVED
        given[kernel.GIVEN_REST], given[kernel.GIVEN_AFTER] = self._kind.rest, rules.break_after_seconds
        telling, told, longest_way = Telling(ask.better), self._best, self._longest_way()
        begun, done = time.monotonic(), 0
        while not ask.limit.over(done // STEPS_AN_ITERATION):
            given[kernel.GIVEN_TOLL] = TOLL * self._worth_of_best() / longest_way
            share = ask.limit.share_over(begun, done, STEPS_AN_ITERATION)
            given[kernel.GIVEN_TEMPERATURE] = hottest * (COLD / hottest) ** share
            gains = kernel.search(
                arrays.arcs, arrays.clients, arrays.tasks, arrays.routes, arrays.order, arrays.count, arrays.segments,
                arrays.tolls, arrays.near, arrays.uses, arrays.stock, arrays.worth, arrays.weights, dice, arrays.best,
                arrays.best_count, arrays.reached, arrays.rest_at, given,
            )  # fmt: skip
            if gains:
                self._look()
            if self._best is not told and telling.due():
                told = self._best
                telling.tell((told, *empty(ask.problem)[1:]))
            done += STEPS_AT_ONCE
        return self._best

    def _worth_of_best(self) -> float:
        arrays = self._arrays
        stops = arrays.best[0, : arrays.best_count[0]]
        return float(arrays.worth[arrays.clients[stops, ruin_segments.TASK]].sum())

    def _longest_way(self) -> float:
        """Return what a day may cost: its seconds, or where distance comes first a mean way for each task."""
        tolls = self._arrays.tolls
        return float(max(1, tolls.mean() * len(tolls) if len(tolls) else self._ask.problem.routes[0].longest))

    def _look(self) -> None:
        """Take over the best of the compiled search if it keeps every rule; else go back to the one before.

        Then less goes on board, by one pack of the heaviest, where load may have been what it broke.
        """
        arrays = self._arrays
        order = self._frame.order(0, arrays.best[0, : arrays.best_count[0]].tolist())
        if self._order_costs.cost(0, order) is not None:
            self._best = order
            self._held = tuple(each.copy() for each in self._standing)
            self._ask.found(0, order)
            return
        if self._ask.problem.heavy[0]:
            room = arrays.routes[0, ruin_segments.ROOM : ruin_segments.ROOM + 2]
            room -= np.minimum(room, self._pack)
        for each, before in zip(self._standing, self._held, strict=True):
            each[:] = before
        arrays.order[:], arrays.count[:] = arrays.best, arrays.best_count

    @property
    def _standing(self) -> tuple[NDArray[np.int64], ...]:
        arrays = self._arrays
        return arrays.best, arrays.best_count, arrays.reached, arrays.rest_at

    def _put(self, order: Order) -> bool:
        """Put the start into the arrays; return whether it is possible for the engine."""
        arrays, sequence = self._arrays, self._frame.sequence(order)
        cost = self._order_costs.cost(0, order)
        if not sequence or cost is None:
            return False
        rest = self._kind.rest
        arrays.order[0, : len(sequence)], arrays.count[0] = sequence, len(sequence)
        for stop in (kernel.NO_STOP, *sequence[1:]) if rest else (kernel.NO_STOP,):
            kernel.rest_before(arrays.arcs, stop, rest)
            away = ruin_segments.update_segments(
                arrays.arcs, arrays.clients, arrays.routes, arrays.order, arrays.count, arrays.segments, 0
            )
            timely = kernel.rest_in_time(
                arrays.order, arrays.count, arrays.segments, stop, self._ask.problem.routes[0].break_after_seconds
            )
            kernel.rest_before(arrays.arcs, stop, -rest)
            if away >= 0 and timely:
                break
        else:
            arrays.count[0] = 0
            return False
        arrays.rest_at[0] = stop
        arrays.best[:], arrays.best_count[:] = arrays.order, arrays.count
        arrays.reached[:] = (*rank_score(self._ask.problem, served((order,))), cost.main)
        self._best = order
        self._held = tuple(each.copy() for each in self._standing)
        return True


def _arrays(frame: Frame) -> _Arrays:
    problem, kind = frame.problem, frame.kinds[frame.kind_of[0]]
    numbers = sorted(frame.clients_of_task)
    index = {task: number for number, task in enumerate(numbers)}
    facts = [problem.tasks[task] for task in numbers]
    limited = [number for number, supply in enumerate(problem.supplies) if supply.stock != NO_LIMIT]
    uses = [[sum(amount for s, amount in task.uses if s == supply) for supply in limited] for task in facts]
    weights = np.array([(task.rank, task.weight) for task in facts], dtype=np.int64)
    longest = NO_WAY if kind.longest == NO_LIMIT else kind.longest + kind.rest
    room = (min(kind.grams, MOST_LOAD), min(kind.millilitres, MOST_LOAD))
    clients = len(frame.clients)
    return _Arrays(
        arcs=frame.profiles[kind.profile][None].astype(np.int64),
        clients=np.array(
            [
                (client.service, *client.starts, *out, *back, index[client.task])
                for client in frame.clients
                for out, back in (loads_of(problem, client.task),)
            ],
            dtype=np.int64,
        ),
        tasks=np.array(
            [(frame.clients_of_task[task][0], len(frame.clients_of_task[task])) for task in numbers], dtype=np.int64
        ),
        routes=np.array([(0, kind.earliest - kind.rest, kind.latest, longest, *room, 0)], dtype=np.int64),
        near=frame.near(),
        tolls=frame.metres()[kind.profile] if problem.distance_first else np.zeros((0, 0), dtype=np.int64),
        uses=np.array(uses, dtype=np.int64).reshape(len(numbers), len(limited)),
        stock=np.array([problem.supplies[supply].stock for supply in limited], dtype=np.int64),
        weights=weights,
        worth=_worth(weights),
        order=np.zeros((1, clients), dtype=np.int64),
        count=np.zeros(1, dtype=np.int64),
        segments=np.zeros((1, clients + 1, ruin_segments.SEGMENT_COLUMNS), dtype=np.int64),
        best=np.zeros((1, clients), dtype=np.int64),
        best_count=np.zeros(1, dtype=np.int64),
        reached=np.zeros(RANKS + 1, dtype=np.int64),
        rest_at=np.full(1, kernel.NO_STOP, dtype=np.int64),
    )


def _worth(weights: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return what each task is worth, 1 for a mean one of the last rank, and more for any of a rank before."""
    worth = np.zeros(len(weights))
    level = 0.0
    for rank in sorted(set(weights[:, 0].tolist()), reverse=True):
        those = weights[:, 0] == rank
        counts = weights[those, 1].astype(np.float64)
        worth[those] = counts / counts.mean() if not level else level * counts / counts.min()
        level = RANK_RATIO * max(level, float(worth[those].max()))
    return worth
