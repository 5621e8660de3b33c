"""Many crew-days at once: engines propose, everything possible is pooled and recombined, each crew-day is polished."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, partial
from itertools import pairwise

import numpy as np

from routing.planning.exact.cp_sat import Budget, DayAnswer, Stopped, best_day
from routing.planning.model.engine import Ask, Engine, Limit
from routing.planning.model.load import stock_holds, stock_left, unlimited
from routing.planning.model.order_costs import Rounds
from routing.planning.model.problem import RANKS, Order, Orders, Problem, rank_score, served
from routing.planning.model.route_pool import Pool
from routing.planning.model.scarce_light import Light, light_of
from routing.planning.running.child_process import Apart
from routing.planning.search.background import Companion
from routing.planning.search.insertion import construct, fill, fitting
from routing.planning.search.repair import repaired

Progress = Callable[[Orders], None]
"""Told of every better set of orders, each of which keeps every rule."""

FEW_TASKS = 12
"""Up to this many tasks start from our own construction and local search, which then are quick."""

MOST_DAY_TASKS = 26
"""A crew-day is polished with at most this many candidates: its own tasks and those left out that cost it least."""

MOST_THINNED = 2000
"""Columns up to which the pool grows by known orders less one task."""

CYCLES_WITHOUT_GAIN = 3
WORK_A_DAY = 1 / 20
"""Share of the work that polishing one crew-day may take."""


@dataclass(frozen=True)
class Found:
    """The best orders and whether each crew-day is proven best for its tasks and all those left out."""

    orders: Orders
    days_proven: bool


def measure(rounds: Rounds, orders: Orders) -> tuple[int, ...]:
    """Return what is compared, larger is better: weight by rank, then time away, then metres."""
    costs = [rounds.cost(route, order) for route, order in enumerate(orders)]
    return (
        *rank_score(rounds.problem, served(orders)),
        -sum(cost.main for cost in costs if cost),
        -sum(cost.tie for cost in costs if cost),
    )


class Search:
    """The best orders so far, the pool, and how much may still be done."""

    def __init__(
        self,
        problem: Problem,
        tasks: frozenset[int],
        deadline: float | None,
        progress: Progress | None,
        longer: float | None = None,
    ) -> None:
        """`longer` is the deadline as soon as all tasks are served, where it is given."""
        self.rounds, self.tasks, self.deadline, self.progress = Rounds(problem), tasks, deadline, progress
        self.longer = longer
        self.pool = Pool(self.rounds)
        self.best: Orders = tuple(() for _ in problem.routes)
        self.days_proven = False
        self._begun = time.monotonic()
        self._polished: dict[tuple[int, frozenset[int], Order], bool] = {}
        few = len(tasks) <= MANY_TASKS
        self._share = ENGINE_SHARE if few else ENGINE_SHARE_OF_MANY
        self._scarce_share = SCARCE_SHARE if few else SCARCE_SHARE_OF_MANY
        self.contested: int | None = None
        """The first rank of which the light does not hold every task, as far as the search has seen."""
        self._light: Light | None = None
        """While only hopeful tasks of the contested rank are asked for."""
        self._affordable = tasks
        """What the stock holds of the tasks."""
        self._beside: Companion | None = None
        """The run beside, while it goes on."""
        self._breeder: Engine | None = None
        self._told: list[tuple[float, Orders]] = []
        """What runs by the clock here have told of, and when; as engines hold it, not mended."""
        self._shown: tuple[int, ...] | None = None
        """The measure of the best that progress was told of."""
        self._seen = 0
        """How much of what the run beside told of was looked at for that."""

    def offer(self, orders: Orders) -> bool:
        """Mend and fill the orders, pool their routes, keep them if they are the best; return whether they are."""
        orders = fill(self.rounds, repaired(self.rounds, orders), self.tasks)
        self.pool.add_all(orders)
        if measure(self.rounds, orders) <= measure(self.rounds, self.best):
            return False
        self.best = orders
        self._show(orders)
        return True

    def _show(self, orders: Orders) -> None:
        """Tell whoever listens of the orders, if they are better than all that was told of before."""
        if self.progress is None:
            return
        reached = measure(self.rounds, orders)
        if self._shown is None or reached > self._shown:
            self._shown = reached
            self.progress(orders)

    def late(self) -> bool:
        """Return whether the time is over."""
        return self.deadline is not None and time.monotonic() >= self.deadline

    def run(
        self,
        work: float,
        seed: int,
        engines: tuple[Engine, ...],
        *,
        enough: bool = False,
        breeder: Engine | None = None,
    ) -> None:
        """Search until nothing more is gained, the work is done or the deadline has come.

        Where `enough`, the search ends as soon as all tasks are served. The `breeder`, if there is one, takes turns
        with the last of the engines; where that goes on beside, it has the time here after a brief start, and takes in
        what is found there.
        """
        self._begun = time.monotonic()
        if len(self.tasks) <= FEW_TASKS:
            self.offer(construct(self.rounds, self.tasks))
        self._look()
        beside = self._beside = self._begin_beside(seed, engines[-1])
        self._breeder = breeder
        if self.contested is not None or self._breeds:
            engines = engines[-2:]  # the first of three is not made for it, or takes too long for a start
        try:
            self._cycles(work, seed, engines, enough=enough)
            done = enough and served(self.best) == self.tasks
            if self.contested is not None and not done:
                self._refine(work, seed, engines)
        finally:
            if beside is not None:
                beside.halt()
        if beside is not None:
            self._join(beside)
        if not done:
            self.polish(work)

    def _look(self) -> None:
        """See what is short, light or stock."""
        problem = self.rounds.problem
        light = light_of(problem, self.tasks)
        if len(problem.routes) > 1:
            self._light = light  # one crew-day is asked for every task: its first engine chooses better
        if not stock_holds(problem, self.tasks):
            from routing.planning.search.scarce_stock import affordable  # noqa: PLC0415 - a solver few questions need

            needs = np.zeros(len(problem.tasks))
            needs[light.tasks] = light.needs(RANKS - 1)
            self._affordable = affordable(problem, self.possible, needs)
            light = light_of(problem, self._affordable)
        self.contested = light.contested()

    def _refine(self, work: float, seed: int, engines: tuple[Engine, ...]) -> None:
        """Go on from the best with every task, once no more of a contested rank is sought from nothing.

        Where there is a run beside, the better of both saves light once more, now for every task; then time away counts
        alone. Recombination then waits for what is found beside.
        """
        iterations = round(self._iterations(work)[1] * (1 - self._scarce_share))
        stages = [(True, self._scarce_share), (False, 1.0)] if self._beside is not None else [(False, 1.0)]
        for scarce, share in stages:
            self.contested = None
            end = self._end(share)
            if end is not None and time.monotonic() >= end:
                continue
            self._hear()
            limit = Limit(iterations, seed + (MOST_FRESH if scarce else 0), end)
            self._propose(limit, engines[-1], self.best, scarce=scarce)
        if self._beside is None:
            self._recombine_thinned()

    def _begin_beside(self, seed: int, engine: Engine) -> Companion | None:
        """Start an engine beside the others for all of their time, where there is time and a core for it.

        It is asked for every task and as if light were not scarce, so that the answer is no worse than what it does
        alone: on one tight round of ten that is more than any of our runs that save light find.
        """
        if self.deadline is None or len(self.best) == 1 or len(self.tasks) <= FEW_TASKS or cores() == 1:
            return None
        if self.deadline - self._begun >= LEAST_SECONDS_APART:
            engine = Apart(engine)  # in one process two runs wait for each other: a fifth less is done at 400 visits
        limit = Limit(NO_END, seed, self._end_beside())
        return Companion(engine, Ask(self.rounds.problem, self.tasks, limit)).start()

    @property
    def _breeds(self) -> bool:
        """Whether the breeder has the time here, while another goes on beside."""
        return self._breeder is not None and self._beside is not None

    def _hear(self) -> None:
        """Offer the best that the run beside has told of."""
        told = self._elsewhere()
        if told is not None:
            self.offer(told)

    @property
    def _told_beside(self) -> list[tuple[float, Orders]]:
        """What the run beside has told of so far, and when."""
        return [] if self._beside is None else self._beside.told

    def _join(self, beside: Companion) -> None:
        """Take over what was found beside, and recombine it with the rest."""
        orders = beside.end()
        if orders is not None:
            self.offer(orders)
            self._told.append((time.monotonic(), orders))
        self._recombine_told()
        left = max(0.0, (self.deadline or 0.0) - time.monotonic())
        for route, order in beside.found[-1 - int(left * POOLED_A_SECOND) :]:  # those found last are worth most
            self.pool.add(route, order)
        self._recombine_thinned()

    def _cycles(self, work: float, seed: int, engines: tuple[Engine, ...], *, enough: bool) -> None:
        paired = self._beside is not None
        most, each = self._iterations(work)
        cycles = len(engines) - 1 + max(1, round(most / each))
        idle = number = 0
        while idle < CYCLES_WITHOUT_GAIN or self.deadline is not None:
            if enough and served(self.best) == self.tasks:
                return
            if self.longer is not None and served(self.best) == self.tasks:
                self.deadline = self.longer
            engine = engines[min(number, len(engines) - 1)]
            turns = number - len(engines) + 1
            if self._breeder is not None and turns >= 0 and (self._breeds or turns % 2 == 0):
                engine = self._breeder
            end = self._end_of_cycles()
            if number >= cycles if end is None else time.monotonic() >= end:
                break
            starting = max(0, len(engines) - 1 - number)
            limit = Limit(each, seed + number + paired, self._slice(starting))  # not that beside
            fresh = starting > 0 or self._again(number - len(engines))
            if self._stretching():
                self._hear()
                self._recombine_told()
            gained = self._cycle(limit, engine, fresh=fresh)
            idle = 0 if gained else idle + 1
            number += 1

    def _again(self, number: int) -> bool:
        """Return whether the last engine is to start from nothing once more, which finds other choices of tasks.

        `number` counts its runs from -1. Every other run is such a one, the first of them sooner where light is scarce;
        where another goes on beside, only the first few there are.
        """
        if served(self.best) == self.tasks:
            return False
        if self._beside is not None:
            return self.contested is not None and number < self._runs() - 1
        return number % 2 == 1 and number >= (1 if self.contested is None else -1)

    def _iterations(self, work: float) -> tuple[float, int]:
        """Return how many iterations the work is, and how many of them one run does."""
        count = len(self.tasks)
        most = work * ITERATIONS_A_SECOND / max(count, FEW_TASKS)
        each = max(MOST_ITERATIONS_A_TASK, round(min(most * LONG_SLICE, 500 + MOST_ITERATIONS_A_TASK * count)))
        return most, each

    def _engines_seconds(self, share: float) -> float:
        """Return how long engines run that may have a share of a given time; some is kept for what is done after."""
        given = (self.deadline or 0.0) - self._begun
        after = LEAST_AFTER + LEAST_AFTER_THOUSAND * (len(self.tasks) / 1000) ** 3
        return min(share * given, max(ENGINE_SHARE * given, given - after))

    def _end(self, share: float = 1.0) -> float | None:
        """Return until when engines run, or a share of their time."""
        return None if self.deadline is None else self._begun + share * self._engines_seconds(self._share)

    def _end_beside(self) -> float:
        """Return until when the run beside goes on: while the last of the others is taken over too."""
        share = BESIDE_SHARE_OF_MANY if len(self.tasks) > MANY_TASKS else self._share
        return self._begun + self._engines_seconds(share)

    def _end_of_cycles(self) -> float | None:
        """Return until when engines run in turn; where light is scarce, time is kept for what then still counts."""
        if self.contested is None:
            return self._end()
        return self._end(self._scarce_share * (LAST_STRETCH if self._beside is not None else 1.0))

    def _stretching(self) -> bool:
        """Return whether the last stretch is on, in which the better of those that go on side by side is gone on from.

        Until then they keep apart: from the other's best a run finds little else, unless it breeds. Where a rank is
        contested, `_refine` is that stretch.
        """
        begins = self._end(LAST_STRETCH)
        if begins is None or self._beside is None or self._breeds or self.contested is not None:
            return False
        return time.monotonic() >= begins

    def _slice(self, starting: int) -> float | None:
        """Return until when an engine may run so that those after it, several cycles and the polish still follow.

        So many engines, it among them, only start the search: together they get a half of the time where another goes
        on beside, a quarter where none does, and a tenth where light is scarce or the breeder comes next.
        """
        end = self._end_of_cycles()
        if end is None:
            return None
        now, paired = time.monotonic(), self._beside is not None
        if not starting:
            share = LONG_SLICE / (self._runs() if paired and self.contested is not None else 1)
            if paired and not self._breeds and self.contested is None and not self._stretching():
                end = self._end(LAST_STRETCH) or end
            return min(end, now + max(1.0, share * (end - self._begun)))
        brief = (self.contested is not None and len(self.best) > 1) or self._breeds
        share = BRIEF_START if brief else START_PAIRED if paired or len(self.best) == 1 else START
        return min(end, now + max(1.0, (self._begun + share * (end - self._begun) - now) / starting))

    def _runs(self) -> int:
        """Return how many runs that save light, each from nothing, there is time for until they have settled.

        The breeder has one: it settles later, and higher.
        """
        if self._breeds:
            return 1
        settling = SETTLING_SECONDS_OF_100 * (len(self._asked()) / 100) ** 2
        end = self._end_of_cycles()
        return 1 if end is None else min(MOST_FRESH, max(1, int((end - self._begun) / settling)))

    def rescue(self) -> None:
        """Take over what was found when an interrupt came in the middle of runs, quietly and in little time."""
        self.progress = None
        for told in (self._told, self._told_beside):
            if told:
                self.offer(told[-1][1])
        self._recombine(RESCUE_SECONDS)

    def combine(self, work: float, *, polish: bool = True) -> bool:
        """Recombine the pool and polish the days once more; return whether that found better orders."""
        self.pool.thin(MOST_THINNED)
        left = None if self.deadline is None else max(0.5, (self.deadline - time.monotonic()) * COMBINE_SHARE)
        if not self._recombine(left, whole=left is not None):
            return False
        if polish:
            self.polish(work)
        return True

    def _cycle(self, limit: Limit, engine: Engine, *, fresh: bool) -> bool:
        gained = self._propose(limit, engine, () if fresh else self.best)
        end = self._end()
        if self._beside is not None and end is not None and time.monotonic() >= end:
            return gained  # what is found beside comes next, and all is recombined together
        if self.deadline is None or self.contested is not None or len(self.tasks) <= MANY_TASKS:
            return self._recombine_thinned() or gained
        if self._stretching():
            return gained  # what was told of beside comes next, and all is recombined together
        return self._recombine_told() or gained

    def _propose(self, limit: Limit, engine: Engine, start: Orders, *, scarce: bool | None = None) -> bool:
        ask = self._ask(limit, start if served(start) else None, scarce=scarce)
        orders = engine(ask)
        left = (ask.tasks & self.possible) - served(orders)
        gained = self.offer(orders)
        if ask.scarce and not left and ask.tasks != self._asked(hopeful=False):
            self._light = None  # there was more light than it seemed: the others are asked for too
            return gained
        if ask.scarce and not left:
            left = (self._affordable & self.possible) - served(self.best)  # of ranks that were not asked for yet
        self.contested = min((self.rounds.problem.tasks[task].rank for task in left), default=None)
        return gained

    def _ask(self, limit: Limit, start: Orders | None = None, *, scarce: bool | None = None) -> Ask:
        """Return what an engine is asked: the ranks after a contested one wait until that is settled.

        Light is to be saved where a rank is contested, or as said; a run by the clock that saves it ends as soon as all
        that it was asked for is served.
        """
        tasks = self._asked(start)
        saving = self.contested is not None if scarce is None else scarce
        better = None
        if limit.deadline is not None:
            halt = threading.Event()
            limit = replace(limit, halt=halt)
            better = partial(self._tell, tasks & self.possible if saving else None, halt)
        elsewhere = None if self._beside is None else self._elsewhere
        return Ask(
            self.rounds.problem, tasks, limit, start, self.pool.add, scarce=saving, better=better, elsewhere=elsewhere
        )

    def _elsewhere(self) -> Orders | None:
        """Return the best that the run beside has told of."""
        told = self._told_beside
        return told[-1][1] if told else None

    def _tell(self, enough: frozenset[int] | None, halt: threading.Event, orders: Orders) -> None:
        """Note what a run here tells of; where somebody listens, show it, or what the run beside has if that is more.

        That is only shown here. The run is halted once it serves `enough`.
        """
        self._told.append((time.monotonic(), orders))
        reached = enough is not None and served(orders) >= enough
        if reached or self.progress is not None:
            self.offer(orders)
        if reached and enough is not None and served(self.best) >= enough:
            halt.set()
        if self.progress is None:
            return
        told = self._told_beside
        if len(told) > self._seen:
            self._seen = len(told)
            self._show(fill(self.rounds, repaired(self.rounds, told[self._seen - 1][1]), self.tasks))

    def _asked(self, start: Orders | None = None, *, hopeful: bool = True) -> frozenset[int]:
        """Return the tasks of ranks up to a contested one, of that only the `hopeful` ones if so; else all.

        Engines know nothing of the stock: where it is short they are asked for what it holds.
        """
        problem, rank = self.rounds.problem, self.contested
        if rank is None:
            return self._affordable if start is None else served(start) | unlimited(problem, self.tasks)
        those = self.tasks
        if hopeful and self._light is not None:
            those = self._light.hopeful(rank)
        return frozenset(
            task
            for task in those
            if problem.tasks[task].rank == rank or (problem.tasks[task].rank < rank and task in self._affordable)
        )

    @cached_property
    def possible(self) -> frozenset[int]:
        """Return the tasks that some crew can do if it does nothing else."""
        firsts = {routes[0] for routes in self.pool.twins.values()}
        return frozenset(
            task
            for task in self.tasks
            if any(
                self.rounds.cost(route, order) is not None
                for route in firsts
                for order in fitting(self.rounds, route, (), (task,))
            )
        )

    def _recombine_thinned(self) -> bool:
        left = None
        if self.deadline is not None:
            left = self._recombining(RECOMBINED_SHARE)
            if left is None:
                return False
        self.pool.thin(MOST_THINNED)
        return self._recombine(left)

    def _recombine_told(self) -> bool:
        """Recombine what all runs by the clock have told of, the last first: few routes, but of good company.

        Return whether that found better orders.
        """
        seconds = self._recombining(TOLD_SHARE)
        if seconds is None:
            return False
        told = [*self._told, *self._told_beside]
        pool = Pool(self.rounds)
        pool.add_all(self.best)
        for number, (_, orders) in enumerate(sorted(told, key=lambda each: each[0], reverse=True)):
            if number >= LEAST_TOLD and len(pool) >= TOLD_COLUMNS_A_SECOND * seconds:
                break
            pool.add_all(orders)
        return self._recombine(seconds, pool, whole=True)

    def _recombining(self, share: float) -> float | None:
        """Return how long a recombination with a share of the time may take, or None where it is too late for it."""
        left = (self.deadline or 0.0) - time.monotonic() - MENDING_THOUSAND * (len(self.tasks) / 1000) ** 3
        if left < LEAST_RECOMBINED:
            return None
        most = max(LEAST_RECOMBINING, share * ((self.deadline or 0.0) - self._begun))
        return min(left * COMBINE_SHARE, most)

    def _recombine(self, seconds: float | None, pool: Pool | None = None, *, whole: bool = False) -> bool:
        """Offer the best choice of the pool's routes, sought to the end of its time where `whole`; return if better."""
        from routing.planning.search.set_covering import (  # noqa: PLC0415 - a solver few questions need
            MOST_NODES,
            MOST_TIMED_NODES,
            recombine,
        )

        nodes = MOST_TIMED_NODES if whole else MOST_NODES
        together = recombine(self.rounds, self.pool if pool is None else pool, self.tasks, seconds, nodes, self.best)
        return together is not None and self.offer(together)

    def polish(self, work: float) -> None:
        """Solve each crew-day exactly with what the others leave out, until none changes."""
        for _ in range(MOST_PASSES):
            before, proven = self.best, True
            for route in range(len(self.best)):
                if self.late():
                    self.days_proven = False
                    return
                proven = self._polish_day(route, work) and proven
            self.days_proven = proven
            if self.best == before:
                return
        self.days_proven = False

    def _polish_day(self, route: int, work: float) -> bool:
        problem, orders = self.rounds.problem, self.best
        others = served(tuple(order for number, order in enumerate(orders) if number != route))
        own = served((orders[route],))
        left = [task for task in sorted(self.tasks - others - own) if problem.routes[route].allowed[task]]
        room = max(0, MOST_DAY_TASKS - len(own))
        near = sorted(left, key=lambda task: (_detour(self.rounds, route, orders[route], task), task))[:room]
        candidates = frozenset(own | set(near))
        key = (route, candidates, orders[route])
        if key in self._polished:
            return self._polished[key]
        budget = Budget(work * WORK_A_DAY, self.deadline)
        try:
            answer = best_day(problem, route, candidates, stock_left(problem, others), orders[route], budget)
        except Stopped as stopped:
            self._keep_day(route, stopped.answer)
            raise
        proven = answer.proven and len(near) == len(left)
        self._polished[key] = proven
        self._polished[route, candidates, answer.order] = proven
        self._keep_day(route, answer)
        return proven

    def _keep_day(self, route: int, answer: DayAnswer) -> None:
        self.pool.add(route, answer.order)
        if self.rounds.cost(route, answer.order) is None:
            return  # the model may count a break where it costs less time away, though home is later
        changed = (*self.best[:route], answer.order, *self.best[route + 1 :])
        if measure(self.rounds, changed) > measure(self.rounds, self.best):
            self.best = changed
            self._show(changed)


def cores() -> int:
    """Return on how many cores this process may run."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


NO_END = 10**9
"""Iterations of a run that only the clock ends."""

LEAST_SECONDS_APART = 4.0
"""Time of a search from which on a process for the run beside is worth beginning."""

RESCUE_SECONDS = 2.0

COMBINE_SHARE = 0.7
"""Of the time left at the end, what recombination may take; polishing has the rest."""

ENGINE_SHARE = 0.85
"""Of a given time, what the engines get; the rest is for polishing."""

MANY_TASKS = 50
ENGINE_SHARE_OF_MANY = 0.98
"""The same for more tasks than those many: engines gain to the end there, and polishing gains little."""

BESIDE_SHARE_OF_MANY = 0.99
"""The same for the run beside."""

SETTLING_SECONDS_OF_100 = 3.0
"""After so long for 100 tasks, and by the square for others, a run where light is scarce gains little: of 250 by 20
crew-days (12 s by this) it serves 1,188 of `want` on average in 13 s and 1,184 in 24 s, but of 400 by 20 (22 s by this)
1,262 in 17 s and 1,270 in 34 s."""

MOST_FRESH = 3

LEAST_AFTER, LEAST_AFTER_THOUSAND = 0.35, 6.0
"""Seconds that are left after the engines, and so many more for 1,000 tasks: to mend and fill one set of orders takes
1 s there, and a twentieth of it for 400."""

MENDING_THOUSAND = 1.5
"""Seconds that mending and filling 1,000 tasks takes at the most, with building the model before."""

POOLED_A_SECOND = 1000
"""Of the routes found beside, how many are taken over for each second left: half of what there is time for."""

LEAST_RECOMBINED = 0.2
"""With fewer seconds left nothing is recombined."""

TOLD_SHARE = 0.04
LEAST_TOLD = 2
TOLD_COLUMNS_A_SECOND = 600
"""What HiGHS mostly comes to an end with: 300 to 700 routes of 16 crew-days, 700 to 1,000 of 40."""

LEAST_RECOMBINING = 0.5
RECOMBINED_SHARE = 0.025
"""Of a given time, what recombination after one run may take, but at least those seconds: when it had a sixth of what
was left, two of them took 5.5 of 30 s at 250 visits and found nothing."""

SCARCE_SHARE = 0.6
SCARCE_SHARE_OF_MANY = 0.9
"""Of the engines' time where light is scarce, what is spent on the contested rank; the rest is for ranks after it and
for the time away, which settle the quicker, the fewer tasks there are."""

LAST_STRETCH = 0.85
"""Of the engines' time, when the better of the two that go on side by side is gone on from. Saving light for every task
from what PyVRP alone has then adds on eight tight rounds of ten to what that has at the end."""

START, START_PAIRED, BRIEF_START = 0.25, 0.5, 0.1
"""Of the engines' time, what those that only start the search get."""

LONG_SLICE = 0.9
"""Of the engines' time, what one run may take: on tight rounds of 150 a long run beats several short ones."""

ITERATIONS_A_SECOND = 60_000
"""Of the engines, times the tasks; it turns work into a count of iterations, and only roughly into seconds."""

MOST_ITERATIONS_A_TASK = 150

MOST_PASSES = 4


def _detour(rounds: Rounds, route: int, order: Order, task: int) -> int:
    """Return the least extra driving seconds of a task in an order, whatever the clock says."""
    problem, drive = rounds.problem, rounds.drives[route]
    stops = [0, *(problem.visits[planned.visit].place for planned in order), 0]
    visits = rounds.visits_with(problem.routes[route].day, (task,))
    ways = [
        drive[here][there] + drive[there][then] - drive[here][then]
        for there in {problem.visits[visit].place for visit in visits}
        for here, then in pairwise(stops)
        if drive[here][there] >= 0 and drive[there][then] >= 0
    ]
    return min(ways, default=10**9)
