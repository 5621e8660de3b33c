"""Which tasks engines are asked for: light and stock may not hold them all, and a contested rank comes first."""

from __future__ import annotations

import threading
from dataclasses import replace
from functools import cached_property, partial

import numpy as np

from routing.planning import search
from routing.planning.model.engine import Ask, Limit
from routing.planning.model.load import stock_holds, unlimited
from routing.planning.model.problem import RANKS, Orders, served
from routing.planning.model.scarce_light import Light, light_of
from routing.planning.search.exchange import Exchange
from routing.planning.search.incumbent import Incumbent
from routing.planning.search.insertion import fitting


class TaskSelection:
    """What is sought, as far as the search has seen."""

    def __init__(self, incumbent: Incumbent) -> None:
        self._incumbent = incumbent
        self.contested: int | None = None
        """The first rank of which the light does not hold every task, as far as the search has seen."""
        self._light: Light | None = None
        """While only promising tasks of the contested rank are asked for."""
        self._affordable = incumbent.tasks
        """What the stock holds of the tasks."""

    def look(self) -> None:
        """See what is short, light or stock."""
        problem, tasks = self._incumbent.order_costs.problem, self._incumbent.tasks
        light = light_of(problem, tasks)
        if len(problem.routes) > 1:
            self._light = light  # one crew-day is asked for every task: its first engine chooses better
        if not stock_holds(problem, tasks):
            needs = np.zeros(len(problem.tasks))
            needs[light.tasks] = light.needs(RANKS - 1)
            self._affordable = search.scarce_stock.affordable(problem, self.possible, needs)
            light = light_of(problem, self._affordable)
        self.contested = light.contested()

    def asked(self, start: Orders | None = None, *, promising: bool = True) -> frozenset[int]:
        """Return the tasks of ranks up to a contested one, of that only the `promising` ones if so; else all.

        Engines know nothing of the stock: where it is short they are asked for what it holds.
        """
        problem, rank = self._incumbent.order_costs.problem, self.contested
        if rank is None:
            return self._affordable if start is None else served(start) | unlimited(problem, self._incumbent.tasks)
        those = self._incumbent.tasks
        if promising and self._light is not None:
            those = self._light.promising(rank)
        return frozenset(
            task
            for task in those
            if problem.tasks[task].rank == rank or (problem.tasks[task].rank < rank and task in self._affordable)
        )

    def ask(self, limit: Limit, start: Orders | None, exchange: Exchange, *, scarce: bool | None) -> Ask:
        """Return what an engine is asked: the ranks after a contested one wait until that is settled.

        Light is to be saved where a rank is contested, or as said; a run by the clock that saves it ends as soon as all
        that it was asked for is served.
        """
        tasks = self.asked(start)
        saving = self.contested is not None if scarce is None else scarce
        better = None
        if limit.deadline is not None:
            halt = threading.Event()
            limit = replace(limit, halt=halt)
            better = partial(exchange.tell, tasks & self.possible if saving else None, halt)
        elsewhere = None if exchange.beside is None else exchange.elsewhere
        return Ask(
            self._incumbent.order_costs.problem,
            tasks,
            limit,
            start,
            self._incumbent.pool.add,
            scarce=saving,
            better=better,
            elsewhere=elsewhere,
        )

    def learn(self, ask: Ask, answer: Orders) -> None:
        """See from an engine's answer, which was offered before, which rank is contested."""
        left = (ask.tasks & self.possible) - served(answer)
        if ask.scarce and not left and ask.tasks != self.asked(promising=False):
            self._light = None  # there was more light than it seemed: the others are asked for too
            return
        if ask.scarce and not left:
            left = (self._affordable & self.possible) - served(
                self._incumbent.orders
            )  # of ranks that were not asked for yet
        self.contested = min((self._incumbent.order_costs.problem.tasks[task].rank for task in left), default=None)

    @cached_property
    def possible(self) -> frozenset[int]:
        """Return the tasks that some crew can do if it does nothing else."""
        order_costs = self._incumbent.order_costs
        firsts = {routes[0] for routes in self._incumbent.pool.twins.values()}
        return frozenset(
            task
            for task in self._incumbent.tasks
            if any(
                order_costs.cost(route, order) is not None
                for route in firsts
                for order in fitting(order_costs, route, (), (task,))
            )
        )
