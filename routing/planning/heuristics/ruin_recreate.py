"""The engine of ruin and recreate; the compiled search is in `ruin_recreate_kernel`.

Cannot hold: coming back to base to load again, whole packs, stock over all crews, the break's place in the day. What
leaving a task out costs only approximates ranks.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.heuristics import ruin_recreate_kernel as kernel
from routing.planning.heuristics import ruin_segments
from routing.planning.model.engine import TOLL, Ask, Telling, empty, prizes
from routing.planning.model.frame import NO_WAY, Frame, Kind, Noted, build_frame, loads_of
from routing.planning.model.problem import NO_LIMIT, Order, Orders
from routing.planning.running.compiled_ahead import RUINS, wait_for

START_TEMPERATURE, END_TEMPERATURE = 600.0, 30.0
"""Seconds more that are readily accepted at the beginning of a run and at its end; of 200 to 2,000 none was better."""

WARM_START_TEMPERATURE = 300.0
"""The same at the beginning of a run that starts from orders."""

SLACK_WORTH = 3600.0
"""Seconds that an hour of slack in one day is worth while something is out; with half and twice as much hardly less is
served."""

MEAN_REMOVED = 10.0
"""Tasks taken out at once on average, and the longest string; as their authors have them."""

LONGEST_STRING = 10.0
BLINK_RATE = 0.01
REACH = 30
"""Neighbours of a ruin that are tried if they are out; with 15 and 60 tight rounds of 150 end no better."""

MOST_NEAR = 250
"""Neighbours of a client that are known; the strings of one ruin lie among them."""

STEPS_AT_ONCE = 500
STEPS_AN_ITERATION = 20
"""A step of ruin and recreate takes about a twentieth of what an iteration of the others does."""

REMEMBER_EVERY = 20


@dataclass(frozen=True, eq=False)
class _Arrays:
    """A frame in the columns that `ruin_segments` names, and the orders under way."""

    arcs: NDArray[np.int64]
    clients: NDArray[np.int64]
    tasks: NDArray[np.int64]
    routes: NDArray[np.int64]
    near: NDArray[np.int64]
    order: NDArray[np.int64]
    count: NDArray[np.int64]
    route_of: NDArray[np.int64]
    segments: NDArray[np.int64]
    away: NDArray[np.int64]
    numbers: tuple[int, ...]
    """The route of the problem that each row stands for."""


class RuinRecreate:
    """The engine."""

    def __call__(self, ask: Ask) -> Orders:
        """Return the best orders found from the start, or from nothing."""
        frame = build_frame(ask.problem, ask.tasks)
        if not frame.clients or not frame.kinds:
            return empty(ask.problem)
        wait_for(RUINS)
        arrays = _arrays(frame)
        _put(frame, arrays, empty(ask.problem) if ask.start is None else ask.start)
        dice = np.array([(ask.limit.seed * 0x9E3779B97F4A7C15 + 1) % 2**64 or 1], dtype=np.uint64)
        least = int(kernel.cost_of(arrays.tasks, arrays.route_of, arrays.away))
        cost = float(least)
        kept, kept_count = arrays.order.copy(), arrays.count.copy()
        best, best_count = arrays.order.copy(), arrays.count.copy()
        noted = Noted(frame)
        slack, toll = (SLACK_WORTH, TOLL) if ask.scarce else (0.0, 1.0)
        given = _given(slack, toll)
        hottest = START_TEMPERATURE if ask.start is None else WARM_START_TEMPERATURE
        telling, told = Telling(ask.better), least
        begun, done = time.monotonic(), 0
        try:
            while not ask.limit.over(done // STEPS_AN_ITERATION):
                share = ask.limit.share_over(begun, done, STEPS_AN_ITERATION)
                temperature = hottest * (END_TEMPERATURE / hottest) ** share
                given[kernel.GIVEN_COST], given[kernel.GIVEN_LEAST] = cost, least
                given[kernel.GIVEN_TEMPERATURE] = temperature
                cost, least = kernel.search(
                    arrays.arcs, arrays.clients, arrays.tasks, arrays.routes, arrays.near, arrays.order, arrays.count,
                    arrays.route_of, arrays.segments, arrays.away, dice, kept, kept_count, best, best_count, given,
                )  # fmt: skip
                if done // STEPS_AT_ONCE % REMEMBER_EVERY == 0:
                    for row in np.flatnonzero(kept_count):
                        noted.note(arrays.numbers[row], tuple(kept[row, : kept_count[row]].tolist()))
                if least < told and telling.due():
                    told = least
                    telling.tell(_orders(frame, arrays, best, best_count))
                done += STEPS_AT_ONCE
        finally:
            noted.tell(ask.found)
        return _orders(frame, arrays, best, best_count)


def _given(slack: float, toll: float) -> NDArray[np.float64]:
    """Return what the compiled search is given, in its columns; cost and temperature are still to come."""
    given = np.zeros(kernel.GIVEN_COLUMNS)
    given[kernel.GIVEN_STEPS], given[kernel.GIVEN_SLACK], given[kernel.GIVEN_TOLL] = STEPS_AT_ONCE, slack, toll
    given[kernel.GIVEN_MEAN], given[kernel.GIVEN_LONGEST_STRING] = MEAN_REMOVED, LONGEST_STRING
    given[kernel.GIVEN_BLINK_RATE], given[kernel.GIVEN_REACH] = BLINK_RATE, REACH
    return given


def _arrays(frame: Frame) -> _Arrays:
    problem = frame.problem
    tasks = sorted(frame.clients_of_task)
    index = {task: number for number, task in enumerate(tasks)}
    longest = max(kind.latest - kind.earliest for kind in frame.kinds) / ruin_segments.HOUR
    worth = prizes(problem, tasks, frame.prize_detour + int(SLACK_WORTH * longest**2))  # no slack is worth a task
    numbers = sorted(range(len(problem.routes)), key=lambda number: frame.kind_of[number])
    kinds = [frame.kinds[frame.kind_of[number]] for number in numbers]
    arcs = np.stack(frame.profiles).astype(np.int64)
    count = len(numbers)
    return _Arrays(
        arcs=arcs,
        clients=np.array(
            [
                (
                    client.service,
                    *client.starts,
                    *out,
                    *back,
                    index[client.task],
                )
                for client in frame.clients
                for out, back in (loads_of(problem, client.task),)
            ],
            dtype=np.int64,
        ),
        tasks=np.array(
            [
                (frame.clients_of_task[t][0], len(frame.clients_of_task[t]), worth[t], problem.tasks[t].rank)
                for t in tasks
            ],
            dtype=np.int64,
        ),
        routes=np.array([_route(kinds, number) for number in range(count)], dtype=np.int64),
        near=frame.near()[:, :MOST_NEAR].copy(),
        order=np.zeros((count, len(frame.clients)), dtype=np.int64),
        count=np.zeros(count, dtype=np.int64),
        route_of=np.full(len(tasks), -1, dtype=np.int64),
        segments=np.zeros((count, len(frame.clients) + 1, ruin_segments.SEGMENT_COLUMNS), dtype=np.int64),
        away=np.zeros(count, dtype=np.int64),
        numbers=tuple(numbers),
    )


def _route(kinds: list[Kind], number: int) -> tuple[int, ...]:
    kind = kinds[number]
    longest = NO_WAY if kind.longest == NO_LIMIT else kind.longest
    twin = number > 0 and kinds[number - 1] is kind
    return (kind.profile, kind.earliest, kind.latest, longest, kind.grams, kind.millilitres, int(twin))


def _mark(arrays: _Arrays, row: int) -> int:
    given = (arrays.arcs, arrays.clients, arrays.routes, arrays.order, arrays.count, arrays.segments)
    return int(ruin_segments.update_segments(*given, row))


def _put(frame: Frame, arrays: _Arrays, start: Orders) -> None:
    """Put the start into the arrays; a route that is not possible for the engine stays at home."""
    for row, number in enumerate(arrays.numbers):
        sequence = frame.sequence(start[number])
        arrays.count[row] = len(sequence)
        arrays.order[row, : len(sequence)] = sequence
        arrays.away[row] = _mark(arrays, row)
        if arrays.away[row] < 0:
            arrays.count[row] = 0
            arrays.away[row] = _mark(arrays, row)
        for client in arrays.order[row, : arrays.count[row]]:
            arrays.route_of[arrays.clients[client, ruin_segments.TASK]] = row


def _orders(frame: Frame, arrays: _Arrays, order: NDArray[np.int64], count: NDArray[np.int64]) -> Orders:
    orders: list[Order] = list(empty(frame.problem))
    for row, number in enumerate(arrays.numbers):
        orders[number] = frame.order(number, order[row, : count[row]].tolist())
    return tuple(orders)
