"""Many crew-days at once: engines propose, everything possible is pooled and recombined, each crew-day is polished."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace

from routing.planning.model.engine import Ask, Engine, Limit
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Orders, Problem, served
from routing.planning.model.route_pool import RoutePool
from routing.planning.running.budget import Budget
from routing.planning.running.parts import Parts
from routing.planning.search.exchange import Exchange
from routing.planning.search.incumbent import MOST_THINNED, Incumbent
from routing.planning.search.insertion import construct
from routing.planning.search.polish import Polish
from routing.planning.search.runs_apart import RunsApart
from routing.planning.search.schedule import (
    FEW_TASKS,
    MANY_TASKS,
    MOST_FRESH,
    RECOMBINED_SHARE,
    ROOMY_SHARE,
    TOLD_SHARE,
    Schedule,
    Standing,
)
from routing.planning.search.settings import Progress, alone
from routing.planning.search.task_selection import TaskSelection

CYCLES_WITHOUT_GAIN = 3

RESCUE_SECONDS = 2.0

MOST_AFRESH = 60
"""Up to so many tasks the time away is sought from nothing by a whole run, where light is scarce: of 50 by 4 crews it
came nearer by 0.4 %, from the best so far it did not. More tasks have what is left of one."""

BRIEF_ITERATIONS_A_TASK = 50
"""Of each engine, before a small round is closed."""


class Search:
    """The best orders so far, the pool, and how much may still be done."""

    def __init__(
        self,
        problem: Problem,
        tasks: frozenset[int],
        budget: Budget,
        progress: Progress | None = None,
        longer: float | None = None,
        parts: Parts | None = None,
    ) -> None:
        """`longer` is the deadline as soon as all tasks are served, where it is given; `parts` are done by others."""
        self._incumbent = Incumbent(problem, tasks, progress)
        self.order_costs: OrderCosts = self._incumbent.order_costs
        self.pool: RoutePool = self._incumbent.pool
        self.tasks, self.budget, self.longer = tasks, budget, longer
        self._begun = time.monotonic()
        self._selection = TaskSelection(self._incumbent)
        self._parts = parts or alone()
        self._polish = Polish(self._incumbent, self._parts)
        self._exchange = Exchange(self._incumbent)
        self._genetic: Engine | None = None

    @property
    def best(self) -> Orders:
        """The best orders so far."""
        return self._incumbent.orders

    @property
    def incumbent(self) -> Incumbent:
        """The best orders so far with the pool of all routes that were found."""
        return self._incumbent

    @property
    def days_proven(self) -> bool:
        """Whether each crew-day is proven best for its tasks and all those left out."""
        return self._polish.days_proven

    def offer(self, orders: Orders) -> bool:
        """Mend and fill the orders, pool their routes, keep them if they are the best; return whether they are."""
        return self._incumbent.offer(orders)

    @property
    def _schedule(self) -> Schedule:
        return Schedule(self._begun, self.budget.deadline, len(self.tasks), len(self.best))

    @property
    def _contested(self) -> bool:
        return self._selection.contested is not None

    @property
    def _standing(self) -> Standing:
        return Standing(
            self._contested, self._exchange.beside is not None, self._genetic_runs, len(self._selection.asked())
        )

    def run(
        self, seed: int, engines: tuple[Engine, ...], *, enough: bool = False, genetic: Engine | None = None
    ) -> None:
        """Search until nothing more is gained, the work is done or the deadline has come.

        Where `enough`, the search ends as soon as all tasks are served, and days of many are not solved exactly. The
        `genetic` engine, if there is one, takes turns with the last of the engines; where that goes on beside, it has
        the time here after a brief start, and takes in what is found there.
        """
        self._begun = time.monotonic()
        if len(self.tasks) <= FEW_TASKS:
            self.offer(construct(self.order_costs, self.tasks))
        self._selection.look()
        self._exchange.begin_beside(seed, engines[-1], self._schedule)
        beside, apart = self._exchange.beside, self._apart(seed, (genetic or engines[-1], engines[-1]))
        self._genetic = genetic
        if self._contested or self._genetic_runs:
            engines = engines[-2:]  # the first of three is not made for it, or takes too long for a start
        try:
            self._cycles(seed, engines, enough=enough)
            done = enough and self._incumbent.serves_all
            if self._contested and not done:
                self._refine(seed, engines)
        finally:
            if beside is not None:
                beside.halt()
        if beside is not None or apart is not None:
            self._exchange.end_beside()
            if apart is not None:
                self._exchange.note(apart.take_over(self._incumbent))
            self._recombine_told()
            self._exchange.pool_beside(self.budget.deadline)
            self._recombine_thinned()
        if not done and not (enough and len(self.tasks) > FEW_TASKS):
            self._polish.run(self.budget.work, self._schedule)

    def _apart(self, seed: int, engines: Sequence[Engine]) -> RunsApart | None:
        """Begin more runs of the engines with an executor that was handed in, where a clock ends them."""
        schedule = self._schedule
        if not self._parts.handed_in or schedule.deadline is None or schedule.tasks <= FEW_TASKS:
            return None
        return RunsApart(self._parts, self._incumbent, engines, seed, schedule.end_beside())

    def brief(self, seed: int, engines: tuple[Engine, ...]) -> None:
        """Let each of the engines run once and briefly, the last from nothing too, and recombine what they found."""
        if len(self.tasks) <= FEW_TASKS:
            self.offer(construct(self.order_costs, self.tasks))
        for number, engine in enumerate((*engines, engines[-1])):
            limit = Limit(BRIEF_ITERATIONS_A_TASK * len(self.tasks), seed + number)
            orders = engine(Ask(self.order_costs.problem, self.tasks, limit, None, self.pool.add))
            self.offer(orders)
        self._recombine_thinned()

    def go_on(self, orders: Orders, limit: Limit, engines: Sequence[Engine]) -> None:
        """Go on from orders with each of the engines in turn, as a part of a larger round is searched."""
        self.offer(orders)
        self._selection.look()
        for number, engine in enumerate(engines):
            left = limit.seconds_left()
            turn = limit if left is None else limit.ending_in(left / (len(engines) - number))
            self._propose(replace(turn, seed=limit.seed + number), engine, self.best)
        self._recombine_thinned()

    def _refine(self, seed: int, engines: tuple[Engine, ...]) -> None:
        """Go on from the best with every task, once no more of a contested rank is sought from nothing.

        Where there is a run beside, the better of both saves light once more, now for every task; then time away counts
        alone, without a clock by the genetic engine from nothing too. Recombination then waits for what is found
        beside.
        """
        schedule = self._schedule
        whole = schedule.iterations(self.budget.work)[1]
        iterations = round(whole * (1 - schedule.scarce_share))
        stages = [(True, schedule.scarce_share), (False, 1.0)] if self._exchange.beside is not None else [(False, 1.0)]
        for scarce, share in stages:
            self._selection.contested = None
            end = schedule.end(share)
            if end is not None and time.monotonic() >= end:
                continue
            self._exchange.hear()
            limit = Limit(iterations, seed + (MOST_FRESH if scarce else 0), end)
            self._propose(limit, engines[-1], self.best, scarce=scarce)
        if self.budget.deadline is None and self._genetic is not None:
            self._selection.contested = None
            afresh = whole if len(self.tasks) <= MOST_AFRESH else iterations
            self._propose(Limit(afresh, seed), self._genetic, (), scarce=False)
        if self._exchange.beside is None:
            self._recombine_thinned()

    @property
    def _genetic_runs(self) -> bool:
        """Whether the genetic engine has the time here, while another goes on beside."""
        return self._genetic is not None and self._exchange.beside is not None

    def _cycles(self, seed: int, engines: tuple[Engine, ...], *, enough: bool) -> None:
        idle = number = 0
        while idle < CYCLES_WITHOUT_GAIN or self.budget.deadline is not None:
            if enough and self._incumbent.serves_all:
                return
            if self.longer is not None and self._incumbent.serves_all:
                self.budget = replace(self.budget, deadline=self.longer)
            schedule, standing = self._schedule, self._standing
            end = schedule.end_of_cycles(standing)
            roomy = self._incumbent.serves_all
            most, each = schedule.iterations(self.budget.work * (ROOMY_SHARE if roomy else 1.0))
            cycles = len(engines) - 1 + max(1, round(most / each))
            if number >= cycles if end is None else time.monotonic() >= end:
                break
            turn = schedule.turn(number, len(engines), standing, genetic=self._genetic is not None, done=roomy)
            engine = self._genetic if turn.engine is None and self._genetic is not None else engines[turn.engine or 0]
            until = schedule.end_of_run(turn.starting, standing)
            limit = Limit(each, seed + number + standing.paired, until)  # not that beside
            if schedule.stretching(standing):
                self._exchange.hear()
                self._recombine_told()
            gained = self._cycle(limit, engine, fresh=turn.starting > 0 or turn.again)
            idle = 0 if gained else idle + 1
            number += 1

    def rescue(self) -> None:
        """Take over what was found when an interrupt came in the middle of runs, quietly and in little time."""
        self._incumbent.progress = None
        self._exchange.rescue()
        self._incumbent.recombine(RESCUE_SECONDS)

    def combine(self, *, polish: bool = True) -> bool:
        """Recombine the pool and polish the days once more; return whether that found better orders."""
        self.pool.thin(MOST_THINNED)
        left = self._schedule.left_to_recombine()
        if not self._incumbent.recombine(left, whole=left is not None):
            return False
        if polish:
            self._polish.run(self.budget.work, self._schedule)
        return True

    def _cycle(self, limit: Limit, engine: Engine, *, fresh: bool) -> bool:
        gained = self._propose(limit, engine, () if fresh else self.best)
        schedule = self._schedule
        end = schedule.end()
        if self._exchange.beside is not None and end is not None and time.monotonic() >= end:
            return gained  # what is found beside comes next, and all is recombined together
        if self.budget.deadline is None or self._contested or len(self.tasks) <= MANY_TASKS:
            return self._recombine_thinned() or gained
        if schedule.stretching(self._standing):
            return gained  # what was told of beside comes next, and all is recombined together
        return self._recombine_told() or gained

    def _propose(self, limit: Limit, engine: Engine, start: Orders, *, scarce: bool | None = None) -> bool:
        ask = self._selection.ask(limit, start if served(start) else None, self._exchange, scarce=scarce)
        orders = engine(ask)
        gained = self.offer(orders)
        self._selection.learn(ask, orders)
        return gained

    def _recombine_thinned(self) -> bool:
        seconds = None
        if self.budget.deadline is not None:
            seconds = self._schedule.recombining(RECOMBINED_SHARE)
            if seconds is None:
                return False
        return self._incumbent.recombine_thinned(seconds)

    def _recombine_told(self) -> bool:
        """Recombine what all runs by the clock have told of; return whether that found better orders."""
        seconds = self._schedule.recombining(TOLD_SHARE)
        return seconds is not None and self._incumbent.recombine_told(self._exchange.told, seconds)
