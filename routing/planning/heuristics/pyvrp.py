"""PyVRP's iterated local search.

It comes back to base to load again where that is allowed. Cannot hold: whole packs, stock over all crews, the break's
place in the day, days too short to need one. Its clients are optional with prizes, which only approximate ranks.
Integers only: it cuts floats off without a word.
Source: N. Wouda, L. Lan, W. Kool, PyVRP, INFORMS Journal on Computing 36 (2024), from memory, not checked.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import pyvrp
from pyvrp import IteratedLocalSearchCallbacks
from pyvrp.search import NeighbourhoodParams, PerturbationParams

from routing.planning.heuristics.pyvrp_model import model, orders_of, sequence_of, solution_of
from routing.planning.model.engine import Ask, Limit, Telling, empty
from routing.planning.model.frame import Frame, Noted, build_frame
from routing.planning.model.problem import Orders

NEIGHBOURS = 30
MOST_PERTURBED = 5
"""At equal time on rounds of 60 and 200 visits these two reach lower costs than the library's own 60 and 25."""

ITERATIONS_A_SECOND = 300_000
"""Times the clients, on the machine that this was written on; it only decides the history of runs by the clock."""

ITERATIONS_OF_HISTORY = 200
HISTORIES = {100: 135, 200: 240, 300: math.inf}
"""The library's own history of 300 takes some 40,000 iterations to settle: a run of 12,000 on a roomy round of 150
visits ends 1 % worse with it than with 100. Below 100, tight rounds of 60 end worse. In few steps, a little more time
goes on with the same run; each is taken up to what stands beside it."""

REMEMBER_EVERY = 80
"""Iterations between two looks at the routes of the current solution."""


@dataclass
class _Stop:
    """Stops as the limit says; it is asked once an iteration."""

    limit: Limit
    iterations: int = 0

    def __call__(self, best_cost: int) -> bool:
        del best_cost
        self.iterations += 1
        return self.limit.over(self.iterations - 1)


class _Watch(IteratedLocalSearchCallbacks):
    """Notes the routes of the current solution now and then, and tells of a better one at times."""

    def __init__(self, frame: Frame, telling: Telling) -> None:
        self.iterations = 0
        self.noted = Noted(frame)
        self._telling = telling
        self._told: object = None

    def on_iteration(
        self, current: pyvrp.Solution, _candidate: object, best: pyvrp.Solution, _evaluator: object
    ) -> None:
        """Note the routes of the current solution at times, and those of the best."""
        self.iterations += 1
        if self.iterations % REMEMBER_EVERY == 1:
            self.note(current)
            self.note(best)
        if self._telling.due() and best is not self._told and best.is_feasible():
            self._told = best
            self._telling.tell(orders_of(self.noted.frame, best))

    def note(self, solution: pyvrp.Solution) -> None:
        """Note the possible routes of a solution."""
        for route in solution.routes():
            if route.is_feasible():
                self.noted.note(self.noted.frame.kinds[route.vehicle_type()].routes[0], sequence_of(route))


class PyVRP:
    """The engine; `rank_ratio` and the rest of its translation are in `frame` and `prizes`."""

    def __call__(self, ask: Ask) -> Orders:
        """Return the best orders found from the start, or from a random solution where there is none."""
        frame = build_frame(ask.problem, ask.tasks)
        if not frame.clients or not frame.kinds:
            return empty(ask.problem)
        data = model(frame, scarce=ask.scarce)
        watch = _Watch(frame, Telling(ask.better))
        params = pyvrp.SolveParams(
            ils=pyvrp.IteratedLocalSearchParams(
                history_length=_history(ask.limit, len(frame.clients)), callbacks=watch
            ),
            neighbourhood=NeighbourhoodParams(num_neighbours=NEIGHBOURS),
            perturbation=PerturbationParams(1, MOST_PERTURBED),
        )
        start = solution_of(frame, data, ask.start) if ask.start is not None else None
        try:
            result = pyvrp.solve(
                data,
                _Stop(ask.limit),
                seed=ask.limit.seed,
                collect_stats=False,
                params=params,
                initial_solution=start,
            )
            watch.note(result.best)
        finally:
            watch.noted.tell(ask.found)
        return orders_of(frame, result.best)


def _history(limit: Limit, clients: int) -> int:
    """Return how far back a worse solution is measured against, so that the run has settled by its end."""
    left = limit.seconds_left()
    iterations = limit.iterations if left is None else left * ITERATIONS_A_SECOND / clients
    return next(history for history, most in HISTORIES.items() if iterations / ITERATIONS_OF_HISTORY <= most)
