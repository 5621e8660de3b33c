"""VROOM: quick constructions and local search, good on many visits.

Cannot hold: coming back to load again, whole packs, stock over all crews, the break's place in the day, what slower
crews need more (it takes the quickest crew's times), one visit in windows of different days that differ by more than
minutes (the widest is taken), a start. Ranks become priorities of 0 to 100, which count the tasks and not their time.
It may leave out what would fit.
It stops by itself or at the deadline: a count of iterations only picks how hard it tries.
Source: github.com/VROOM-Project/vroom, its API documentation, from memory, not checked.
"""

from __future__ import annotations

import datetime as dt

import numpy as np
import vroom

from routing.planning.model.engine import Ask, empty
from routing.planning.model.frame import NO_WAY, Client, Frame, build_frame, loads_of
from routing.planning.model.problem import RANKS, Order, Orders

TOP_PRIORITY = 100
LEAST_OF_RANK = (80, 50, 20, 1)
"""Priorities of a rank start here and leave room for weights under the next rank's."""

HARD_ITERATIONS = 2000
"""A limit of at least this many iterations asks for the engine's hardest search."""

THREADS = 32
"""As many as it makes searches at the most. With fewer, searches wait for each other by a semaphore of the C++ library
that may never wake them: on a busy machine one plan of some thousands waited for ever. It takes no more of the
processor, and the same input gave another answer in 4 of 120 rounds asked four times, where one thread did in 18."""

MOST_SECONDS = 10.0
"""Of a run by the clock: it ends before by itself up to 60 visits or so, and is no start worth more time above."""


class Vroom:
    """The engine."""

    def __call__(self, ask: Ask) -> Orders:
        """Return the orders it builds; the start is not used."""
        frame = build_frame(ask.problem, ask.tasks)
        if not frame.clients or not frame.kinds:
            return empty(ask.problem)
        chosen = [max(numbers, key=lambda n: _width(frame.clients[n])) for numbers in frame.clients_of_task.values()]
        given = _input(frame, chosen)
        left = ask.limit.seconds_left()
        hard = left is not None or ask.limit.iterations >= HARD_ITERATIONS
        timeout = None if left is None else dt.timedelta(seconds=min(left, MOST_SECONDS))
        answer = given.solve(exploration_level=5 if hard else 2, nb_threads=THREADS, timeout=timeout)
        return _orders(frame, answer, ask)


def _width(client: Client) -> tuple[int, int]:
    return len(client.visit_of_day), client.closes - client.opens


def _starts(client: Client) -> vroom.TimeWindow:
    return vroom.TimeWindow(*client.starts)


def _input(frame: Frame, chosen: list[int]) -> vroom.Input:
    given = vroom.Input()
    for number, arcs in enumerate(frame.profiles):
        nodes = np.array([0, *(c + 1 for c in chosen)])
        given.set_durations_matrix(
            profile=str(number), matrix_input=np.minimum(arcs, NO_WAY)[np.ix_(nodes, nodes)].astype(np.uint32)
        )
    problem = frame.problem
    weights = [
        [
            problem.tasks[frame.clients[c].task].weight
            for c in chosen
            if problem.tasks[frame.clients[c].task].rank == rank
        ]
        for rank in range(RANKS)
    ]
    tops = [max(rank, default=1) for rank in weights]
    for index, number in enumerate(chosen):
        client = frame.clients[number]
        facts = problem.tasks[client.task]
        out, back = loads_of(problem, client.task)
        room = (TOP_PRIORITY if facts.rank == 0 else LEAST_OF_RANK[facts.rank - 1] - 10) - LEAST_OF_RANK[facts.rank]
        given.add_job(
            vroom.Job(
                id=number,
                location=index + 1,
                default_service=client.service,
                delivery=list(out),
                pickup=list(back),
                priority=LEAST_OF_RANK[facts.rank] + room * facts.weight // max(1, tops[facts.rank]),
                time_windows=[_starts(client)],
                skills={number + 1},
            )
        )
    for number, kind in enumerate(frame.kinds):
        arcs = frame.profiles[kind.profile]
        able = {c + 1 for c in chosen if arcs[0, c + 1] < NO_WAY}
        for route in kind.routes:
            given.add_vehicle(
                vroom.Vehicle(
                    id=route,
                    start=0,
                    end=0,
                    profile=str(kind.profile),
                    capacity=[kind.grams, kind.millilitres],
                    time_window=vroom.TimeWindow(kind.earliest, max(kind.earliest, kind.latest)),
                    skills=able,
                    description=str(number),
                )
            )
    return given


def _orders(frame: Frame, answer: vroom.Solution, ask: Ask) -> Orders:
    sequences: dict[int, list[int]] = {}
    for step in answer.to_dict()["routes"]:
        sequences[step["vehicle"]] = [s["id"] for s in step["steps"] if s["type"] == "job"]
    orders: list[Order] = list(empty(frame.problem))
    for route, sequence in sequences.items():
        orders[route] = frame.order(route, sequence)
        ask.found(route, orders[route])
    return tuple(orders)
