"""Which of all enumerated routes may still be chosen: their linear programme, made tighter by subset-row cuts.

Of any three tasks, routes that do two of them or more can be taken once at the most. What prices show in no choice as
good as is asked for is dropped; where the programme alone is dearer than that, there is no such choice.
Source: M. Jepsen, B. Petersen, S. Spoorendonk, D. Pisinger, "Subset-row inequalities applied to the vehicle-routing
problem with time windows", Operations Research 56 (2008), from memory, not checked.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from ortools.math_opt.python import mathopt

Flags = NDArray[np.bool_]
Reals = NDArray[np.float64]

MOST_STARTED = 300
"""Columns in the first programme, and so many more of those that are worth it at its prices, each time."""

MOST_ADDED = 30
"""Cuts at a time."""

MOST_ROUNDS = 15

VIOLATED = 0.02
"""By so much a cut must be passed to be worth adding."""

SLACK = 1e-6

ENOUGH = 400
"""So few columns need no more cuts."""


@dataclass
class Choice:
    """Columns to choose among, each at a price: rows that hold, and what the choice may cost at the most."""

    costs: Reals
    """Shape (columns,)."""
    does: Flags
    """Shape (columns, tasks): each task is done at most once."""
    rows: Reals
    """Shape (rows, columns), with `low` and `high` of shape (rows,)."""
    low: Reals
    high: Reals
    groups: NDArray[np.int64]
    """Shape (columns,): the crew-days it belongs to, of which there are `many`, shape (groups,)."""
    many: NDArray[np.int64]
    most: float
    """What it may cost."""


@dataclass(frozen=True)
class _Prices:
    bound: float
    """No choice costs less."""
    reduced: Reals
    """Shape (columns,): the reduced cost of each."""
    above: Reals
    """Shape (columns,): by how much a choice that has it costs more than the bound."""


def may_be_chosen(choice: Choice) -> Flags:
    """Return which columns may be part of a choice that costs no more than `most`, shape (columns,)."""
    alive = np.ones(len(choice.costs), dtype=bool)
    programme = _Programme(choice)
    slack = SLACK * max(1.0, abs(choice.most))
    for _ in range(MOST_ROUNDS):
        prices = programme.priced(alive)
        if prices is None:
            break
        if prices.bound > choice.most + slack:
            return np.zeros_like(alive)
        alive &= prices.above <= choice.most - prices.bound + slack
        if alive.sum() <= ENOUGH or not programme.cut():
            break
    return alive


class _Programme:
    """The linear programme over some of the columns, with cuts."""

    def __init__(self, choice: Choice) -> None:
        self.choice = choice
        self.model = mathopt.Model()
        tasks, rows = choice.does.shape[1], len(choice.rows)
        self.tasks = [self.model.add_linear_constraint(ub=1.0) for _ in range(tasks)]
        self.groups = [self.model.add_linear_constraint(ub=float(many)) for many in choice.many]
        self.rows = [self.model.add_linear_constraint(lb=choice.low[row], ub=choice.high[row]) for row in range(rows)]
        self.cuts: list[mathopt.LinearConstraint] = []
        self.taken: dict[int, mathopt.Variable] = {}
        """By column, those that are in the programme."""
        self.values: dict[int, float] = {}
        """How much of each is taken."""
        self.covers = np.zeros((0, len(choice.costs)), dtype=bool)
        """Shape (cuts, columns): whether a column does two or more of a cut's tasks."""
        self.every = np.array(list(combinations(range(tasks), 3)), dtype=np.int64).reshape(-1, 3)
        dear = max(abs(choice.most), float(np.abs(choice.costs).max(initial=1.0))) * (1 + len(choice.many)) + 1
        for row in range(rows):
            if choice.low[row] > -math.inf:
                self.rows[row].set_coefficient(self._variable(dear), choice.low[row])
        self.solver = mathopt.IncrementalSolver(self.model, mathopt.SolverType.GLOP)

    def _variable(self, cost: float) -> mathopt.Variable:
        variable = self.model.add_variable(lb=0.0)
        self.model.objective.set_linear_coefficient(variable, cost)
        return variable

    def _take(self, columns: NDArray[np.int64]) -> None:
        for column in columns.tolist():
            if column in self.taken:
                continue
            variable = self._variable(float(self.choice.costs[column]))
            self.taken[column] = variable
            for task in np.flatnonzero(self.choice.does[column]).tolist():
                self.tasks[task].set_coefficient(variable, 1.0)
            self.groups[self.choice.groups[column]].set_coefficient(variable, 1.0)
            for row in np.flatnonzero(self.choice.rows[:, column]).tolist():
                self.rows[row].set_coefficient(variable, float(self.choice.rows[row, column]))
            for cut in np.flatnonzero(self.covers[:, column]).tolist():
                self.cuts[cut].set_coefficient(variable, 1.0)

    def priced(self, alive: Flags) -> _Prices | None:
        """Return prices that bound every choice of the columns that are alive, None where the numbers failed."""
        for column in [column for column in self.taken if not alive[column]]:
            self.model.delete_variable(self.taken.pop(column))
        if not self.taken:
            some = np.flatnonzero(alive)
            each = self.choice.costs[some] / (1 + self.choice.does[some].sum(axis=1))
            self._take(some[np.argsort(each, kind="stable")][:MOST_STARTED])
        while True:
            answer = self._solved()
            if answer is None or not answer.has_dual_feasible_solution() or not answer.has_primal_feasible_solution():
                return None
            prices = self._prices(answer, alive)
            new = alive & (prices.reduced < -SLACK * max(1.0, abs(self.choice.most)))
            new[list(self.taken)] = False
            worth = np.flatnonzero(new)
            if not len(worth):
                values = answer.variable_values(list(self.taken.values()))
                self.values = dict(zip(self.taken, values, strict=True))
                return prices
            self._take(worth[np.argsort(prices.reduced[worth], kind="stable")][:MOST_STARTED])

    def _solved(self) -> mathopt.SolveResult | None:
        try:
            return self.solver.solve()
        except Exception:  # noqa: BLE001 - the error that it makes of its own failure may fail too
            return None

    def _prices(self, answer: mathopt.SolveResult, alive: Flags) -> _Prices:
        choice = self.choice

        def of(rows: list[mathopt.LinearConstraint]) -> Reals:
            return np.array(answer.dual_values(rows), dtype=np.float64) if rows else np.empty(0)

        tasks, groups, cuts = (np.minimum(of(rows), 0.0) for rows in (self.tasks, self.groups, self.cuts))
        rows = of(self.rows)
        rows = np.where(np.isinf(choice.high), np.maximum(rows, 0.0), np.minimum(rows, 0.0))
        reduced = (
            choice.costs
            - choice.does @ tasks
            - groups[choice.groups]
            - rows @ choice.rows
            - cuts[cuts < 0] @ self.covers[cuts < 0]
        )
        sides = np.where(rows > 0, choice.low, choice.high)
        bound = float(
            tasks.sum() + groups @ choice.many + cuts.sum() + sum(p * s for p, s in zip(rows, sides, strict=True) if p)
        )
        least = np.array(
            [reduced[alive & (choice.groups == group)].min(initial=0.0) for group in range(len(choice.many))]
        )
        return _Prices(bound + float(least @ choice.many), reduced, reduced - least[choice.groups])

    def cut(self) -> bool:
        """Add the cuts that are passed by most; return whether there are any."""
        some = np.array([column for column, value in self.values.items() if value > SLACK], dtype=np.int64)
        if not len(some) or not len(self.every):
            return False
        values = np.array([self.values[column] for column in some.tolist()])
        does = self.choice.does[some].astype(np.int8)
        both = (does[:, self.every[:, 0]] + does[:, self.every[:, 1]] + does[:, self.every[:, 2]]) > 1  # two of three
        over = values @ both - 1.0
        best = np.argsort(-over, kind="stable")[:MOST_ADDED]
        best = best[over[best] > VIOLATED]
        for triple in self.every[best].tolist():
            covers = self.choice.does[:, triple].sum(axis=1) > 1
            cut = self.model.add_linear_constraint(ub=1.0)
            for column, variable in self.taken.items():
                if covers[column]:
                    cut.set_coefficient(variable, 1.0)
            self.cuts.append(cut)
            self.covers = np.vstack([self.covers, covers[None, :]])
        return bool(len(best))
