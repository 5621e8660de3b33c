"""The best choice of one remembered order a route: an exact set-covering model with the stock over all routes.

A task covered twice is then dropped where that saves most, so columns that overlap can still be combined.
"""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Mapping, Sequence
from dataclasses import replace

from ortools.math_opt.python import mathopt

from routing.planning.exact.choice import best_choice, keep_stock, relaxation
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, Order, Orders, Problem, served
from routing.planning.model.route_pool import Column, RoutePool, without

MOST_NODES = 60
"""Branches of one search: a repeatable limit."""

MOST_TIMED_NODES = 100_000
"""The same at the end of a search by the clock."""

LEAST_SECONDS = 0.1
"""Each goal gets at least so long, so that the solver can still say whether there is an answer."""

MOST_COLUMNS = 8000
"""Of the pool, those that came in last: the model grows with each, and so does the memory it takes."""

COLUMNS_A_SECOND = 4000
LEAST_COLUMNS = 1000
"""By the clock no more columns than the solver can read and look over in that time, but at least so many."""

MOST_GOAL = 10**7

ROUNDING = 1e-3
"""Of a goal, which is whole: less than that is the solver's rounding."""

FIXING_SHARE = 0.3
"""Of the time for a goal, what its relaxation may take. With what that rules out 2,000 columns of 78 tasks take 0.7 s,
and 5 s without."""


def recombine(
    order_costs: OrderCosts,
    pool: RoutePool,
    tasks: frozenset[int],
    seconds: float | None = None,
    nodes: int = MOST_NODES,
    known: Orders = (),
) -> Orders | None:
    """Return the best orders made of the pool's columns, or None where the model finds none.

    The search begins with the `known` orders, shape (routes,), where the pool has them.

    Every rank strictly before the next, then the least time away. `seconds` bounds the whole search where given,
    which makes it depend on the machine; without it the same pool gives the same orders.
    """
    given = pool.columns_of(known)
    most = MOST_COLUMNS if seconds is None else min(MOST_COLUMNS, max(LEAST_COLUMNS, int(seconds * COLUMNS_A_SECOND)))
    columns = list({(column.route, column.tasks): column for column in (*given, *list(pool)[-most:])}.values())
    if not columns:
        return None
    model = _Model(order_costs.problem, columns, sorted(tasks), pool.twins, nodes)
    if given:
        model.begin_with(len(given))
    model.deadline = None if seconds is None else time.monotonic() + seconds
    for goal in _rank_goals(order_costs.problem, model.tasks):
        if not model.raise_goal(goal):
            return None
    chosen = model.least_time()
    if chosen is None:
        return None
    free = {first: list(routes) for first, routes in pool.twins.items() if routes[0] == first}
    taken = [replace(columns[number], route=free[columns[number].route].pop(0)) for number in chosen]
    return _without_doubles(order_costs, taken)


class _Model:
    """One yes-or-no variable a column, one a task; each goal reached is kept while the next is sought."""

    def __init__(
        self,
        problem: Problem,
        columns: Sequence[Column],
        tasks: Sequence[int],
        twins: Mapping[int, list[int]],
        nodes: int,
    ) -> None:
        self.tasks, self.columns, self.nodes = tasks, columns, nodes
        self.deadline: float | None = None
        self.twins = twins
        self.facts = [problem.tasks[task] for task in tasks]
        self.model = mathopt.Model()
        self.takes = [self.model.add_binary_variable() for _ in columns]
        self.does = [self.model.add_variable(lb=0, ub=1) for _ in tasks]
        self.hint: dict[mathopt.Variable, float] = {}
        self._add_rows(problem)

    def begin_with(self, many: int) -> None:
        """Begin with the first so many columns."""
        done = frozenset().union(*(column.tasks for column in self.columns[:many]))
        self.hint = {takes: float(number < many) for number, takes in enumerate(self.takes)}
        self.hint |= {does: float(task in done) for task, does in zip(self.tasks, self.does, strict=True)}

    def _add_rows(self, problem: Problem) -> None:
        by_task: dict[int, list[mathopt.Variable]] = {task: [] for task in self.tasks}
        by_route: dict[int, list[mathopt.Variable]] = {}
        for column, takes in zip(self.columns, self.takes, strict=True):
            by_route.setdefault(column.route, []).append(takes)
            for task in column.tasks & by_task.keys():
                by_task[task].append(takes)
        for route, choices in by_route.items():
            self.model.add_linear_constraint(mathopt.fast_sum(choices) <= len(self.twins[route]))
        for task, does in zip(self.tasks, self.does, strict=True):
            self.model.add_linear_constraint(does <= mathopt.fast_sum(by_task[task]))
        keep_stock(self.model, problem, (column.tasks for column in self.columns), self.takes)

    def _solve(self, *, better: bool = False) -> bool:
        """Seek the best for the goal at hand; return whether there is any, which is then where the next begins.

        Where `better`, only what is better than that is sought: no other goal follows.
        """
        left = None if self.deadline is None else max(LEAST_SECONDS, self.deadline - time.monotonic())
        if not self._fix(left, 1.0 - ROUNDING if better else -ROUNDING):
            return True
        found = best_choice(self.model, self.nodes, left, self.hint)
        if found is None:
            return False
        self.hint = found
        return True

    def _fix(self, left: float | None, gain: float) -> bool:
        """Forbid the columns that are in no choice better than the one at hand by `gain`; return whether one may be.

        What a column's reduced cost takes from the relaxation's best is lost by every choice that it is part of.
        """
        if not self.hint:
            return True
        seconds = None if left is None else dt.timedelta(seconds=left * FIXING_SHARE)
        relaxed = relaxation(self.model, self.takes, seconds)
        if relaxed is None:
            return True
        objective = self.model.objective
        reached = sum(term.coefficient * self.hint[term.variable] for term in objective.linear_terms())
        sign = 1 if objective.is_maximize else -1
        room = sign * (relaxed.best - reached)
        if room < 1.0 - ROUNDING:
            return False  # all that is counted is whole
        for take, cost in zip(self.takes, relaxed.reduced_costs, strict=True):
            if -sign * cost > room - gain and not round(self.hint[take]):
                take.upper_bound = 0
        return True

    def raise_goal(self, goal: Sequence[float]) -> bool:
        """Find the most of a goal over the tasks (shape (tasks,)) and keep it from now on."""
        score = mathopt.fast_sum(value * does for value, does in zip(goal, self.does, strict=True) if value)
        self.model.maximize(score)
        if not self._solve():
            return False
        for rank in sorted({facts.rank for value, facts in zip(goal, self.facts, strict=True) if value}):
            pairs = [(facts.weight, d) for facts, d in zip(self.facts, self.does, strict=True) if facts.rank == rank]
            reached = sum(weight * round(self.hint[does]) for weight, does in pairs)
            kept = mathopt.fast_sum(weight * does for weight, does in pairs)
            self.model.add_linear_constraint(kept >= reached - 0.5)
        return True

    def least_time(self) -> list[int] | None:
        """Return the columns that keep all goals in the least time away."""
        self.model.minimize(
            mathopt.fast_sum(column.cost.main * takes for column, takes in zip(self.columns, self.takes, strict=True))
        )
        if not self._solve(better=True):
            return None
        return [number for number, takes in enumerate(self.takes) if round(self.hint[takes])]


def _rank_goals(problem: Problem, tasks: Sequence[int]) -> list[list[float]]:
    """Return goals to raise one after the other: ranks share one while its numbers stay small."""
    goals: list[list[float]] = []
    factor, goal = 1, [0.0] * len(tasks)
    groups: list[list[int]] = []
    for rank in range(RANKS):
        most = sum(problem.tasks[task].weight for task in tasks if problem.tasks[task].rank == rank)
        if not most:
            continue
        if not groups or factor * (most + 1) > MOST_GOAL:
            groups.append([])
            factor = 1
        factor *= most + 1
        groups[-1].append(rank)
    for group in groups:
        goal, factor = [0.0] * len(tasks), 1
        for rank in reversed(group):
            for index, task in enumerate(tasks):
                if problem.tasks[task].rank == rank:
                    goal[index] = float(factor * problem.tasks[task].weight)
            factor *= 1 + sum(problem.tasks[task].weight for task in tasks if problem.tasks[task].rank == rank)
        goals.append(goal)
    return goals


def _without_doubles(order_costs: OrderCosts, columns: Sequence[Column]) -> Orders:
    orders: list[Order] = [()] * len(order_costs.problem.routes)
    for column in columns:
        orders[column.route] = column.order
    doubles = {t for t in served(orders) if sum(t in served((order,)) for order in orders) > 1}
    for task in sorted(doubles):
        holders = [number for number, order in enumerate(orders) if task in served((order,))]
        lighter = {number: without(orders[number], task) for number in holders}
        savings = {}
        for number in holders:
            before, after = order_costs.cost(number, orders[number]), order_costs.cost(number, lighter[number])
            savings[number] = before.main - after.main if before and after else -1
        keeper = min(holders, key=lambda number: (savings[number], number))
        for number in holders:
            if number != keeper:
                orders[number] = lighter[number]
    return tuple(orders)
