"""What concurrent runs exchange: the orders that the run beside, and all runs by the clock, tell of on the way."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterable

from routing.planning.model.engine import Ask, Engine, Limit
from routing.planning.model.problem import Orders, served
from routing.planning.running.child_process import InChildProcess
from routing.planning.running.parts import cores
from routing.planning.search.background_run import BackgroundRun
from routing.planning.search.incumbent import Incumbent
from routing.planning.search.insertion import fill
from routing.planning.search.repair import repaired
from routing.planning.search.schedule import FEW_TASKS, NO_END, Schedule

LEAST_SECONDS_APART = 4.0
"""Time of a search from which on a process for the run beside is worth beginning."""

POOLED_A_SECOND = 1000
"""Of the routes found beside, how many are taken over for each second left: half of what there is time for."""


class Exchange:
    """What was told of here and beside, each set of orders as engines hold it."""

    def __init__(self, incumbent: Incumbent) -> None:
        self._incumbent = incumbent
        self.beside: BackgroundRun | None = None
        """The run beside, while it goes on."""
        self._told: list[tuple[float, Orders]] = []
        """What runs by the clock here have told of, and when; not mended."""
        self._seen = 0
        """How much of what the run beside told of was looked at to be shown."""

    def begin_beside(self, seed: int, engine: Engine, schedule: Schedule) -> None:
        """Start an engine beside the others for all of their time, where there is time and a core for it.

        It is asked for every task and as if light were not scarce, so that the answer is no worse than what it does
        alone: on one tight round of ten that is more than any of our runs that save light find.
        """
        if schedule.deadline is None or schedule.routes == 1 or schedule.tasks <= FEW_TASKS or cores() == 1:
            return
        if schedule.deadline - schedule.begun >= LEAST_SECONDS_APART:
            engine = InChildProcess(
                engine
            )  # in one process two runs wait for each other: a fifth less is done at 400 visits
        limit = Limit(NO_END, seed, schedule.end_beside())
        self.beside = BackgroundRun(
            engine, Ask(self._incumbent.order_costs.problem, self._incumbent.tasks, limit)
        ).start()

    @property
    def _told_beside(self) -> list[tuple[float, Orders]]:
        """What the run beside has told of so far, and when."""
        return [] if self.beside is None else self.beside.told

    @property
    def told(self) -> list[tuple[float, Orders]]:
        """What all runs by the clock have told of, and when."""
        return [*self._told, *self._told_beside]

    def elsewhere(self) -> Orders | None:
        """Return the best that the run beside has told of."""
        told = self._told_beside
        return told[-1][1] if told else None

    def hear(self) -> None:
        """Offer the best that the run beside has told of."""
        told = self.elsewhere()
        if told is not None:
            self._incumbent.offer(told)

    def rescue(self) -> None:
        """Offer the last that was told of here and beside."""
        for told in (self._told, self._told_beside):
            if told:
                self._incumbent.offer(told[-1][1])

    def end_beside(self) -> None:
        """Wait for the end of the run beside, and offer what it came to."""
        orders = None if self.beside is None else self.beside.end()
        if orders is not None:
            self._incumbent.offer(orders)
            self._told.append((time.monotonic(), orders))

    def note(self, told: Iterable[tuple[float, Orders]]) -> None:
        """Note what runs elsewhere have told of, and when."""
        self._told += told

    def pool_beside(self, deadline: float | None) -> None:
        """Pool of the routes that the run beside has found as many as there is time for; the last are worth most."""
        left = max(0.0, (deadline or 0.0) - time.monotonic())
        found = [] if self.beside is None else self.beside.found
        for route, order in found[-1 - int(left * POOLED_A_SECOND) :]:
            self._incumbent.pool.add(route, order)

    def tell(self, enough: frozenset[int] | None, halt: threading.Event, orders: Orders) -> None:
        """Note what a run here tells of; where somebody listens, show it, or what the run beside has if that is more.

        That is only shown here. The run is halted once it serves `enough`.
        """
        self._told.append((time.monotonic(), orders))
        reached = enough is not None and served(orders) >= enough
        if reached or self._incumbent.progress is not None:
            self._incumbent.offer(orders)
        if reached and enough is not None and served(self._incumbent.orders) >= enough:
            halt.set()
        if self._incumbent.progress is None:
            return
        told = self._told_beside
        if len(told) > self._seen:
            self._seen = len(told)
            self._incumbent.show(
                fill(
                    self._incumbent.order_costs,
                    repaired(self._incumbent.order_costs, told[self._seen - 1][1]),
                    self._incumbent.tasks,
                )
            )
