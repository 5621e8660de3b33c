"""One route of many candidates: annealing beside walks, other engines after them, annealing again from the best."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace

from routing.planning import exact, heuristics
from routing.planning.model.engine import Ask, Limit
from routing.planning.model.load import stock_left
from routing.planning.model.problem import Order, Orders, Problem, served
from routing.planning.running.budget import Budget
from routing.planning.search.background_run import BackgroundRun
from routing.planning.search.driver import Search
from routing.planning.search.engines import search_interrupted
from routing.planning.search.schedule import NO_END, Schedule
from routing.planning.search.settings import Settings

WALKED_SHARE = 0.25
"""Of the work, what walks have."""

WALKED_UNTIL, SEARCHED_UNTIL, BESIDE_UNTIL, REFINED_UNTIL = 0.3, 0.6, 0.75, 0.85
"""Of a given time, when walks end, the engines that take turns, the annealing beside, and that from the best."""

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


def begin_long(problem: Problem, tasks: frozenset[int], settings: Settings) -> Begun:
    """Return the best orders of one route that walks and engines come to.

    Raises KeyboardInterrupt where there are no orders yet.
    """
    return _LongRoute(problem, tasks, settings).run()


class _LongRoute:
    """One search under way."""

    def __init__(self, problem: Problem, tasks: frozenset[int], settings: Settings) -> None:
        self._problem, self._tasks, self._seed, self._budget = problem, tasks, settings.seed, settings.budget
        self._progress = settings.progress
        if self._budget.deadline is not None:
            exact.crew_day.get_ready()
        self._begun = time.monotonic()
        self._search = Search(problem, tasks, self._until(SEARCHED_UNTIL), settings.progress)
        self._anneal = heuristics.route_annealing.RouteAnnealing()
        self._annealed = not any(problem.returns)  # it knows of one load a day
        self._iterations = round(Schedule(self._begun, None, len(tasks), 1).iterations(self._budget.work)[0])
        self._beside: BackgroundRun | None = None

    def _until(self, share: float) -> Budget:
        """Return the budget that ends after a share of a given time."""
        deadline = self._budget.deadline
        if deadline is None:
            return self._budget
        return replace(self._budget, deadline=self._begun + share * (deadline - self._begun))

    def run(self) -> Begun:
        """Return what it comes to."""
        walked: exact.crew_day.WalkedDay | None = None
        interrupted = False
        try:
            self._briefly()
            self._begin_beside()
            walked = self._walks()
            if walked is not None and (walked.proven or walked.interrupted):
                interrupted = walked.interrupted
            else:
                interrupted = search_interrupted(self._search, self._seed) or self._from_best()
        except KeyboardInterrupt:
            interrupted = True
        finally:
            self._end_beside(at_once=True)
        if interrupted and not served(self._search.best):
            raise KeyboardInterrupt
        return Begun(self._search.best, walked, interrupted)

    def _briefly(self) -> None:
        if self._annealed:
            until = self._budget.deadline
            if until is not None:
                until = self._begun + min(BRIEF_SECONDS, BRIEF_SHARE * (until - self._begun))
            self._annealing(Limit(round(BRIEF_SHARE * self._iterations), self._seed, until), None)

    def _annealing(self, limit: Limit, start: Orders | None) -> None:
        self._search.offer(self._anneal(Ask(self._problem, self._tasks, limit, start)))

    def _begin_beside(self) -> None:
        until = self._until(BESIDE_UNTIL).deadline
        if self._annealed and until is not None:
            ask = Ask(self._problem, self._tasks, Limit(NO_END, self._seed + 1, until))
            self._beside = BackgroundRun(self._anneal, ask).start()

    def _end_beside(self, *, at_once: bool) -> None:
        """Take over what was found beside."""
        beside, self._beside = self._beside, None
        if beside is not None:
            if at_once:
                beside.halt()
            self._search.offer(beside.end() or self._search.best)

    def _walks(self) -> exact.crew_day.WalkedDay | None:
        """Return what walks come to; they take half of the time that their budget has."""
        stock = stock_left(self._problem, ())
        given = self._until(2 * WALKED_UNTIL)
        hint = self._search.best[0]
        walked = exact.cp_sat.walked_within(self._problem, 0, self._tasks, stock, hint, given, self._hear, WALKED_SHARE)
        if walked is not None:
            self._search.offer((walked.order,))
        return walked

    def _hear(self, order: Order) -> None:
        if self._progress is not None:
            self._progress((order,))

    def _from_best(self) -> bool:
        """Anneal from nothing, where that was not done beside, and from the best; return whether Ctrl-C ended it."""
        if not self._annealed:
            return False
        try:
            if self._budget.deadline is None:
                self._annealing(Limit(self._iterations, self._seed + 1), None)
            self._end_beside(at_once=False)
            limit = Limit(round(REFINED_SHARE * self._iterations), self._seed + 2, self._until(REFINED_UNTIL).deadline)
            self._annealing(limit, self._search.best)
        except KeyboardInterrupt:
            return True
        return False
