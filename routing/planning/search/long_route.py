"""One route of many candidates: annealing beside walks, other engines after them, annealing again from the best."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace

import numpy as np

from routing.planning import exact, heuristics
from routing.planning.model.engine import Ask, Engine, Limit
from routing.planning.model.load import stock_left
from routing.planning.model.problem import Order, Orders, Problem, served
from routing.planning.search.background_run import BackgroundRun
from routing.planning.search.engines import engines_for
from routing.planning.search.incumbent import Incumbent
from routing.planning.search.schedule import NO_END, Schedule
from routing.planning.search.settings import Settings

WALKED_SHARE = 0.25
"""Of the work, what walks have."""

WALKED_UNTIL, ENGINES_UNTIL, BESIDE_UNTIL, REFINED_UNTIL = 0.5, 0.7, 0.8, 0.88
"""Of a given time, when walks end, the other engines, the annealing beside, and that from the best."""

LONG_STOPS, LEAST_WALKED_SECONDS = 16, 60
"""Stops of a route times the share of pairs whose windows allow either order, from where walks are too many: with 44
stops and 0.8 one pricing took 7 s of the 2 it had. By the clock such a day is not walked, nor is the circuit model
asked, unless there is that much time. The published days that walks prove come to 13 at the most."""

ENGINES_ALONE_UNTIL, BESIDE_ALONE_UNTIL, REFINED_ALONE_UNTIL = 0.6, 0.88, 0.97
"""The same shares where walks are left out."""

BRIEF_SHARE, BRIEF_SECONDS = 0.05, 0.5
"""Of the work, and of a given time at the most, what annealing has before walks: the better what they begin with, the
fewer they are."""

REFINED_SHARE = 0.25
"""Of the iterations of one annealing from nothing, those of one from the best."""


@dataclass(frozen=True)
class Begun:
    """Orders of one route to go on from."""

    orders: Orders
    walked: exact.crew_day.WalkedDay | None
    """What walks came to."""
    interrupted: bool
    """Whether Ctrl-C ended it."""
    too_long: bool
    """Whether it is not worth its time to try a proof."""


def begin_long(problem: Problem, tasks: frozenset[int], settings: Settings) -> Begun:
    """Return the best orders of one route that walks and engines come to.

    Raises KeyboardInterrupt where there are no orders yet.
    """
    return _LongRoute(problem, tasks, settings).run()


class _LongRoute:
    """One search under way."""

    def __init__(self, problem: Problem, tasks: frozenset[int], settings: Settings) -> None:
        self._problem, self._tasks, self._seed, self._budget = problem, tasks, settings.seed, settings.budget
        if self._budget.deadline is not None:
            exact.crew_day.get_ready()
        self._begun = time.monotonic()
        self._found = Incumbent(problem, tasks, settings.progress)
        self._anneal = heuristics.route_annealing.RouteAnnealing()
        self._iterations = round(Schedule(self._begun, None, len(tasks), 1).iterations(self._budget.work)[0])
        self._beside: BackgroundRun | None = None
        self._ends = ENGINES_UNTIL, BESIDE_UNTIL, REFINED_UNTIL
        self._too_long = False

    def _until(self, share: float) -> float | None:
        """Return the moment after a share of a given time."""
        deadline = self._budget.deadline
        return None if deadline is None else self._begun + share * (deadline - self._begun)

    def run(self) -> Begun:
        """Return what it comes to."""
        walked: exact.crew_day.WalkedDay | None = None
        interrupted = False
        try:
            self._briefly()
            self._look_how_long()
            self._begin_beside()
            walked = None if self._too_long else self._walks()
            interrupted = walked is not None and walked.interrupted
            if walked is None or not (walked.proven or interrupted):
                self._engines()
        except KeyboardInterrupt:
            interrupted = True
        finally:
            self._end_beside(at_once=True)
        if interrupted and not served(self._found.orders):
            raise KeyboardInterrupt
        return Begun(self._found.orders, walked, interrupted, self._too_long)

    def _ask(self, engine: Engine, limit: Limit, start: Orders | None = None) -> None:
        better = None if limit.deadline is None else self._found.offer
        self._found.offer(engine(Ask(self._problem, self._tasks, limit, start, better=better)))

    def _briefly(self) -> None:
        until = self._until(BRIEF_SHARE)
        if until is not None:
            until = min(until, self._begun + BRIEF_SECONDS)
        self._ask(self._anneal, Limit(round(BRIEF_SHARE * self._iterations), self._seed + 1, until))

    def _look_how_long(self) -> None:
        """See whether the route is one of so many stops that no proof is tried in the time that is given."""
        deadline = self._budget.deadline
        if deadline is not None and deadline - self._begun < LEAST_WALKED_SECONDS:
            stops = len(self._found.orders[0])
            self._too_long = stops * free_share(self._problem, self._tasks) > LONG_STOPS
        if self._too_long:
            self._ends = ENGINES_ALONE_UNTIL, BESIDE_ALONE_UNTIL, REFINED_ALONE_UNTIL

    def _begin_beside(self) -> None:
        until = self._until(self._ends[1])
        if until is not None:
            ask = Ask(self._problem, self._tasks, Limit(NO_END, self._seed, until))
            self._beside = BackgroundRun(self._anneal, ask).start()

    def _end_beside(self, *, at_once: bool) -> None:
        """Take over what was found beside."""
        beside, self._beside = self._beside, None
        if beside is not None:
            if at_once:
                beside.halt()
            self._found.offer(beside.end() or self._found.orders)

    def _walks(self) -> exact.crew_day.WalkedDay | None:
        """Return what walks come to; they take half of the time that their budget has."""
        stock, hint = stock_left(self._problem, ()), self._found.orders[0]
        budget = replace(self._budget, deadline=self._until(2 * WALKED_UNTIL))
        walked = exact.cp_sat.walked_within(
            self._problem, 0, self._tasks, stock, hint, budget, self._hear, WALKED_SHARE
        )
        if walked is not None:
            self._found.offer((walked.order,))
        return walked

    def _hear(self, order: Order) -> None:
        self._found.show((order,))

    def _engines(self) -> None:
        """Let each engine do all the work from nothing, annealing beside by the clock, then annealing from the best.

        So without a clock nothing is worse than what one of them does alone with the same work and seed.
        """
        engines: list[Engine] = list(engines_for(self._problem, len(self._tasks)))
        if self._beside is None:
            engines.append(self._anneal)
        begun, end = time.monotonic(), self._until(self._ends[0])
        for number, engine in enumerate(engines, start=1):
            until = None if end is None else begun + number / len(engines) * (end - begun)
            self._ask(engine, Limit(self._iterations, self._seed, until))
        self._end_beside(at_once=False)
        limit = Limit(round(REFINED_SHARE * self._iterations), self._seed + 2, self._until(self._ends[2]))
        self._ask(self._anneal, limit, self._found.orders)


def free_share(problem: Problem, tasks: frozenset[int]) -> float:
    """Return the share of pairs of tasks that windows allow in either order, each in its first visit."""
    rules = problem.routes[0]
    firsts = [(task, problem.visits[problem.visits_of[task][0]]) for task in sorted(tasks) if problem.visits_of[task]]
    if not firsts:
        return 0.0
    places = [visit.place for _, visit in firsts]
    drives = rules.drive_seconds[np.ix_(places, places)]
    work = np.array([rules.work_seconds[task] for task, _ in firsts])
    soonest = np.array([visit.opens for _, visit in firsts]) + work
    latest = np.array([visit.closes for _, visit in firsts]) - work
    after = (drives >= 0) & (soonest[:, None] + drives <= latest[None, :])
    return float((after & after.T).mean())
