"""One crew-day solved to proof by walks: prices of a linear programme, then every label that they leave.

What is asked for is lowered from the programme's bound step by step until a walk comes to it: that one is the best.
All 27 published instances of 100 stops with one route are proven so in 5 s at the most, most in half a second; the
circuit model had proven five of them in 30 s.
Cannot hold: coming back to base to load, what is on board within a stop only, and that no break is at a suspect site
where another place serves. The answer is timed and loaded by us, and counts only where it comes to what the walk
promised.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from routing.planning.bounds.restricted_master import Effort, WalkChoice
from routing.planning.bounds.rows import Goal
from routing.planning.bounds.walk_days import Day, day_of, step_of
from routing.planning.bounds.walks import Walk
from routing.planning.exact.looking import Looking, PricedGoal
from routing.planning.exact.walk_loads import WalkLoads
from routing.planning.labelling.columns import LONG, Whole
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import (
    LIMITLESS,
    RANKS,
    Order,
    Problem,
    Route,
    Task,
    Visit,
    measures_over,
    rank_score,
    served,
)

MOST_NODES = 200
"""Of a day: tasks, and for each the visits in which it may be done."""

ROUNDS_A_WORK, MOST_ROUNDS, LEAST_ROUNDS = 20_000, 400, 30
"""Rounds of pricing of one node that a unit of work makes, and how many there are."""

NEAR_THE_PROGRAMME = 0.0005
"""Share of the programme's value within which prices need not come nearer: labels do the rest."""

MOST_POINTS = 1 << 60
"""Weights of all ranks as one number."""

STEPS_DOWN = 300
"""The first step down from a bound is such a part of it; the next are longer for as long as that costs little."""

SLACK = 1e-6
"""Share of the largest numbers in play that may be their rounding."""


@dataclass(frozen=True)
class WalkedDay:
    """The best order found, and what no order passes."""

    order: Order
    proven: bool
    rank_bounds: tuple[int, ...]
    """Shape (RANKS,)."""
    away_bound: int
    """No order that serves the same ranks is away for less; 0 where nothing is known, or distance comes first."""
    interrupted: bool = False
    """Whether Ctrl-C ended it."""


def walked_day(
    problem: Problem,
    route: int,
    tasks: frozenset[int],
    stock: Sequence[int],
    hint: Order,
    effort: Effort,
    told: Callable[[Order], None] | None = None,
) -> WalkedDay | None:
    """Return the best order of one route for these candidate tasks, None where walks are not made for the day.

    That is where base may be come back to, where a drive and a stop take hardly any time, or where there are too many
    nodes or too large weights. `stock` and `hint` are those of `best_day`; `told` hears of every better order. The same
    input and effort give the same answer, unless that has a deadline.
    """
    rules = problem.routes[route]
    day = day_of(problem, route, tasks)
    able = day.able
    weights = rank_score(problem, able)
    if not 0 < len(day.tasks) <= MOST_NODES or math.prod(weight + 1 for weight in weights) > MOST_POINTS:
        return None
    if not step_of(day) or (rules.most_trips > 1 and measures_over(problem, rules, able)):
        return None
    return _WalkSearch(problem, route, day, stock, hint, effort, told).run()


@cache
def get_ready() -> None:
    """Solve a day of one stop, so that what is compiled at its first call is compiled before a clock is started.

    That may take a quarter of a minute.
    """
    way = np.array([[0, 60], [60, 0]])
    route = Route(0, 3600, LIMITLESS, LIMITLESS, 0, 0, (60,), (True,), way, way)
    problem = Problem((), (Task(0, 0, 1),), (Visit(1, 0, 3600, (0,)),), (route,))
    walked_day(problem, 0, frozenset({0}), (), (), Effort(1))


class _WalkSearch:
    """One crew-day, goal after goal."""

    def __init__(
        self,
        problem: Problem,
        route: int,
        day: Day,
        stock: Sequence[int],
        hint: Order,
        effort: Effort,
        told: Callable[[Order], None] | None,
    ) -> None:
        self.problem, self.route, self.effort, self.told = problem, route, effort, told
        self.order_costs = OrderCosts(problem)
        self.day = day
        self.tasks = day.able
        self._loads = WalkLoads(problem, route, day, stock)
        self.order: Order = hint if self._costs(hint) is not None else ()
        self._rounds = MOST_ROUNDS
        if effort.deadline is None:
            self._rounds = min(MOST_ROUNDS, max(LEAST_ROUNDS, round(effort.work * ROUNDS_A_WORK / len(day.tasks))))
        self._looking = Looking(problem, route, day, effort, self._loads)
        self._walks: list[tuple[int, Walk]] = []
        scores = [problem.tasks[int(task)] for task in self.day.tasks]
        self.weights = np.zeros((RANKS, len(scores)), dtype=np.int64)
        for node, facts in enumerate(scores):
            self.weights[facts.rank, node] = facts.weight
        self.totals = rank_score(problem, self.tasks)

    def _costs(self, order: Order) -> tuple[int, int] | None:
        cost = self.order_costs.cost(self.route, order)
        return None if cost is None else (cost.main, cost.tie)

    def run(self) -> WalkedDay:
        """Return the best order, goal after goal for as long as each is proven."""
        bounds = list(self.totals)
        least, proven, interrupted = 0, True, False
        try:
            for rank in range(RANKS):
                if proven and self.totals[rank]:
                    bounds[rank], proven = self._most(rank)
            if proven:
                least, proven = self._least()
        except KeyboardInterrupt:
            proven, interrupted = False, True
        if self.problem.distance_first:
            least = 0
        return WalkedDay(self.order, proven, tuple(bounds), least, interrupted or self._looking.interrupted)

    def _priced(self, goal: Goal) -> tuple[float, PricedGoal | None]:
        """Return what no order can be better than for a goal, and the prices that say so, if there are any."""
        self._looking.forget()
        orders = tuple(self.order if number == self.route else () for number in range(len(self.problem.routes)))
        choice = WalkChoice(
            self.problem, self.tasks, [self._looking.pricer], orders, goal, None, self._loads.held, self._walks
        )
        bound = choice.run(self._rounds, self.effort, NEAR_THE_PROGRAMME, once=True)
        self._walks = choice.walks
        if choice.prices is None:
            return bound, None
        values = choice.values(choice.prices)
        gains = np.array([values[int(task)] for task in self.day.tasks])
        constant = choice.constant(choice.prices)
        slack = SLACK * max(1.0, abs(constant), float(np.abs(gains).max()))
        return bound, PricedGoal(gains, choice.weight, constant - slack)

    def _points(self, last: int, reached: tuple[int, ...]) -> tuple[Whole, int]:
        """Return the weights up to a rank as one number a node, and what those reached come to."""
        factors = [math.prod(self.totals[r] + 1 for r in range(rank + 1, last + 1)) for rank in range(last + 1)]
        points: Whole = np.array(factors, dtype=np.int64) @ self.weights[: last + 1]
        return points, sum(f * w for f, w in zip(factors, reached, strict=False))

    def _most(self, rank: int) -> tuple[int, bool]:
        """Serve the most of a rank; return what no order passes, and whether the order comes to it."""
        reached = self._reached()
        bound, goal = self._priced(Goal(rank, reached))
        if goal is None:
            return self.totals[rank], False
        most = min(self.totals[rank], math.floor(-bound + 1e-6))
        points, base = self._points(rank, reached)
        base -= reached[rank]
        step = max(1, most // STEPS_DOWN)
        while most > (have := self._reached()[rank]):
            low = max(have + 1, most - max(1, step) + 1)
            best = np.array([base + low - 1, 0, 0], dtype=np.int64)
            sought = self._looking.sought(goal, goal.constant - base, points, best, step)
            if sought.order is not None:
                if self._costs(sought.order) is None:
                    return most, False
                self._take(sought.order)
            if sought.ended:
                most = low - 1 if sought.order is None else int(best[0]) - base
            elif step == 0:
                return most, False
            step = sought.step
        self._looking.settled.append(replace(goal, constant=goal.constant + most))
        return most, most == self._reached()[rank]

    def _least(self) -> tuple[int, bool]:
        """Cost the least for what is served; return what no order of the same ranks goes under, and whether met."""
        have = self._costs(self.order)
        if not self.order or have is None:
            return 0, have is not None
        reached = self._reached()
        bound, goal = self._priced(Goal(RANKS, reached))
        if goal is None:
            return 0, False
        points, need = self._points(RANKS - 1, reached)
        least = max(0, math.ceil(bound - 1e-6))
        step = max(1, least // STEPS_DOWN)
        while True:
            high = min(have[0], least + max(0, step - 1))
            best = np.array([need, high, have[1] if high == have[0] else LONG], dtype=np.int64)
            sought = self._looking.sought(goal, goal.constant, points, best, step, best_cost=True)
            if sought.order is not None:
                if self._costs(sought.order) != (int(best[1]), int(best[2])):
                    return least, False
                self._take(sought.order)
                have = (int(best[1]), int(best[2]))
            if sought.ended:
                if sought.order is not None or high == have[0]:
                    return have[0], True
                least = high + 1
            elif step == 0:
                return least, False
            step = sought.step

    def _reached(self) -> tuple[int, ...]:
        return rank_score(self.problem, served((self.order,)))

    def _take(self, order: Order) -> None:
        self.order = order
        if self.told is not None:
            self.told(order)
