"""The linear programme over walks: its rows, the walks that are in it, and what tasks are worth at given prices."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray
from ortools.math_opt.python import mathopt

from routing.planning.bounds.cuts import Cut
from routing.planning.bounds.pricing import COARSE, NEARBY, Pricer
from routing.planning.bounds.rows import Goal, Held, row_bounds, stock_held
from routing.planning.bounds.walks import Walk
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, Order, Orders, Problem, served
from routing.planning.model.route_pool import RoutePool

LEAST_WALKS = 20

FEW = 200
"""Nodes up to which exact pricing among the nearest is not much quicker than among all."""


def _in_turn(order: Order) -> tuple[int, ...]:
    """Return the tasks of an order, stop by stop."""
    return tuple(task for planned in order for task in planned.tasks)


class Programme:
    """The linear programme over walks; it minimises minus the weight, or what the walks cost where there is no goal."""

    def __init__(
        self,
        problem: Problem,
        tasks: frozenset[int],
        priced: list[Pricer],
        orders: Orders,
        goal: Goal | None,
        pool: RoutePool | None,
        held: Sequence[Held] | None = None,
        walks: Iterable[tuple[int, Walk]] = (),
    ) -> None:
        """`pool` holds known routes of the problem, `held` what is limited: the stock where nothing is said.

        `walks` are those of another goal, each of a group.
        """
        self.problem, self.priced, self.goal, self.pool = problem, priced, goal, pool
        self.tasks = sorted(tasks)
        self.weight = 0.0 if goal and (goal.rank < RANKS or goal.crew_days) else 1.0
        self.each = 1.0 if goal and goal.crew_days else 0.0
        """What a walk costs besides."""
        self.model = mathopt.Model()
        self.held = stock_held(problem) if held is None else held
        self.floors = list(range(goal.rank)) if goal else []
        self.bounds = row_bounds(self.tasks, priced, self.held, goal)
        self.rows = [self.model.add_linear_constraint(lb=low, ub=high) for low, high in self.bounds.each()]
        self.solver = mathopt.IncrementalSolver(self.model, mathopt.SolverType.GLOP)
        self.row_of = {task: row for row, task in enumerate(self.tasks)}
        self.most_walks = max(LEAST_WALKS, len(tasks))
        """Told of at once for one group of crew-days."""
        self.known: set[tuple[int, tuple[int, ...], int, tuple[int, ...]]] = set()
        self.prices: NDArray[np.float64] | None = None
        """Those of the best bound so far, by row: tasks, groups, what is held, ranks before the goal, cuts."""
        self.spent = 0
        """Rounds of pricing so far."""
        self.cuts: list[Cut] = []
        self.variables: list[mathopt.Variable] = []
        """Of the walks."""
        self.coarse = COARSE
        self.finest = NEARBY if any(pricer.nodes > FEW for pricer in priced) else 1
        self.tops: tuple[float, ...] = ()
        """By group what no walk is worth more than at those prices, nor a crew-day at home."""
        self.walks: list[tuple[int, Walk]] = []
        """All in the programme, each of a group."""
        self.done = served(orders)
        self._add_orders(orders)
        if self.each:
            self._add_dear()
        for group, walk in walks:
            self.add(group, walk)

    def _add_orders(self, orders: Orders) -> None:
        """Start from these orders, and from what is known of others: prices are near their best much sooner."""
        order_costs = OrderCosts(self.problem)
        group = {route: number for number, pricer in enumerate(self.priced) for route in pricer.day.routes}
        for column in self.pool or ():
            if column.tasks <= self.row_of.keys():
                self.add(group[column.route], Walk(_in_turn(column.order), column.cost.main, 0.0))
        for route, order in enumerate(orders):
            cost = order_costs.cost(route, order)
            if order and cost is not None:
                self.add(group[route], Walk(_in_turn(order), cost.main, 0.0))

    def _add_dear(self) -> None:
        """Add what does one task each, dearer than all crew-days: so the programme always has an answer."""
        row = len(self.tasks) + len(self.priced) + len(self.held)
        for task in self.tasks:
            facts = self.problem.tasks[task]
            variable = self.model.add_variable(lb=0)
            self.model.objective.set_linear_coefficient(variable, 1.0 + len(self.problem.routes))
            self.rows[self.row_of[task]].set_coefficient(variable, 1.0)
            if facts.rank in self.floors:
                self.rows[row + self.floors.index(facts.rank)].set_coefficient(variable, float(facts.weight))

    def _key(self, group: int, walk: Walk) -> tuple[int, tuple[int, ...], int, tuple[int, ...]]:
        """Return what tells walks apart: what they do, cost, and count in each cut."""
        counts = tuple(cut.counts(walk.tasks) for cut in self.cuts)
        return group, tuple(sorted(walk.tasks)), walk.cost if self.weight else 0, counts

    def add(self, group: int, walk: Walk) -> bool:
        """Put a walk of a group into the programme; return whether it is new."""
        key = self._key(group, walk)
        if key in self.known:
            return False
        self.known.add(key)
        self.walks.append((group, walk))
        entries: dict[int, float] = {}
        for task in walk.tasks:
            row = self.row_of[task]
            entries[row] = entries.get(row, 0.0) + 1.0
        row = len(self.tasks)
        entries[row + group] = 1.0
        row += len(self.priced)
        for index, held in enumerate(self.held):
            if used := sum(held.amounts.get(task, 0.0) for task in walk.tasks):
                entries[row + index] = used
        row += len(self.held)
        weights = [0] * RANKS
        for task in walk.tasks:
            weights[self.problem.tasks[task].rank] += self.problem.tasks[task].weight
        for index, rank in enumerate(self.floors):
            if weights[rank]:
                entries[row + index] = float(weights[rank])
        row += len(self.floors)
        entries.update({row + index: float(count) for index, count in enumerate(key[-1]) if count})
        cost = self.each or float(walk.cost)
        if self.goal is not None and self.whole:
            cost = -float(weights[self.goal.rank])
        variable = self.model.add_variable(lb=0)
        self.variables.append(variable)
        self.model.objective.set_linear_coefficient(variable, cost)
        for index, value in entries.items():
            self.rows[index].set_coefficient(variable, value)
        return True

    @property
    def whole(self) -> bool:
        """Whether the goal is a rank's weight, which is a whole number."""
        return self.goal is not None and not self.weight and not self.each

    def add_cuts(self, cuts: Sequence[Cut]) -> None:
        """Make the choice keep these cuts too."""
        for cut in cuts:
            row = self.model.add_linear_constraint(ub=1.0)
            self.rows.append(row)
            for (_, walk), variable in zip(self.walks, self.variables, strict=True):
                if count := cut.counts(walk.tasks):
                    row.set_coefficient(variable, float(count))
        self.cuts += cuts
        self.bounds = self.bounds.with_cuts(len(cuts))
        if self.prices is not None:
            self.prices = np.append(self.prices, np.zeros(len(cuts)))
        for pricer in self.priced:
            pricer.cut(self.cuts)

    def drop(self, walks: Iterable[Walk]) -> None:
        """Take walks out of the programme."""
        gone = {id(walk) for walk in walks}
        for at in [at for at, (_, walk) in enumerate(self.walks) if id(walk) in gone][::-1]:
            self.model.delete_variable(self.variables.pop(at))
            group, walk = self.walks.pop(at)
            self.known.discard(self._key(group, walk))

    def constant(self, prices: NDArray[np.float64]) -> float:
        """Return that without the rows of the groups: less a walk of each group, a bound on what these come to."""
        only = prices.copy()
        only[len(self.tasks) : len(self.tasks) + len(self.priced)] = 0.0
        return self.bounds.worth(only)

    def values(self, prices: NDArray[np.float64]) -> Mapping[int, float]:
        """Return what a task adds to a walk's value at these prices: minus its reduced cost."""
        values = {}
        row = len(self.tasks) + len(self.priced)
        for index, task in enumerate(self.tasks):
            facts = self.problem.tasks[task]
            value = prices[index]
            value += sum(prices[row + i] * held.amounts.get(task, 0.0) for i, held in enumerate(self.held))
            value += sum(
                prices[row + len(self.held) + i] * facts.weight for i, r in enumerate(self.floors) if r == facts.rank
            )
            if self.goal and facts.rank == self.goal.rank and not self.each:
                value += facts.weight
            values[task] = float(value)
        return values
