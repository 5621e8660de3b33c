"""The best choice among all routes of every crew-day: set packing, each task at most once, the stock kept, to proof."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ortools.sat.python import cp_model

from routing.planning.exact.circuit_search import ANSWERED, solver_for
from routing.planning.exact.columns import Columns
from routing.planning.exact.subset_rows import Choice, may_be_chosen
from routing.planning.labelling.columns import Whole
from routing.planning.model.problem import NO_LIMIT, RANKS, Problem, used_by
from routing.planning.running.budget import Budget
from routing.planning.running.stoppable import stoppable


@dataclass(frozen=True)
class Packing:
    """The chosen columns, None where there are none; whether it is proved that none are better, or that none are."""

    columns: Columns | None
    ended: bool


class SetPacking:
    """The columns of every crew-day, and what is asked of a choice of them."""

    def __init__(
        self,
        problem: Problem,
        tasks: Sequence[int],
        columns: Columns,
        many: Mapping[int, int],
        floors: Sequence[int],
    ) -> None:
        """`many` says how often columns of each route may be taken, `floors` the least weight of the first ranks."""
        self.columns = columns
        self._many, self._floors = many, floors
        self._weights = np.zeros((len(tasks), RANKS), dtype=np.int64)
        for row, task in enumerate(tasks):
            self._weights[row, problem.tasks[task].rank] = problem.tasks[task].weight
        uses = np.array([used_by(problem, (task,)) for task in tasks], dtype=np.int64)
        self._stock = [
            (uses[:, supply], facts.stock)
            for supply, facts in enumerate(problem.supplies)
            if facts.stock != NO_LIMIT and uses[:, supply].sum() > facts.stock
        ]

    def weights(self, rank: int) -> Whole:
        """Return what each column serves of a rank, shape (columns,)."""
        served: Whole = self.columns.does @ self._weights[:, rank]
        return served

    def _rows(self) -> list[tuple[Whole, float, float]]:
        """Return the rows that must hold: what each column adds, and between which sums."""
        asked = [(self.weights(rank), float(floor), math.inf) for rank, floor in enumerate(self._floors) if floor]
        return asked + [(self.columns.does @ uses, -math.inf, float(stock)) for uses, stock in self._stock]

    def thin(self, costs: NDArray[np.float64], most: float) -> None:
        """Forget the columns that are in no choice that costs no more than `most`; `costs` are those of the columns."""
        if not len(self.columns):
            return
        rows, routes = self._rows(), np.array(list(self._many), dtype=np.int64)
        choice = Choice(
            costs=costs,
            does=self.columns.does,
            rows=np.array([row for row, _, _ in rows], dtype=np.float64).reshape(len(rows), len(costs)),
            low=np.array([low for _, low, _ in rows], dtype=np.float64),
            high=np.array([high for _, _, high in rows], dtype=np.float64),
            groups=np.searchsorted(routes, self.columns.routes),
            many=np.array([self._many[route] for route in routes.tolist()], dtype=np.int64),
            most=most,
        )
        self.columns = self.columns.only(may_be_chosen(choice))

    def best(self, worth: Whole, budget: Budget) -> Packing:
        """Return the columns that are worth the most together; `worth` is that of each.

        Raises KeyboardInterrupt on Ctrl-C.
        """
        model = cp_model.CpModel()
        takes = [model.new_bool_var("") for _ in range(len(self.columns))]
        for does in self.columns.does.T:
            model.add_at_most_one(takes[number] for number in np.flatnonzero(does).tolist())
        for route, many in self._many.items():
            some = [takes[number] for number in np.flatnonzero(self.columns.routes == route).tolist()]
            model.add(cp_model.LinearExpr.sum(some) <= many)
        for row, low, high in self._rows():
            added = cp_model.LinearExpr.weighted_sum(takes, row.tolist())
            if low > -math.inf:
                model.add(added >= int(low))
            else:
                model.add(added <= int(high))
        model.maximize(cp_model.LinearExpr.weighted_sum(takes, worth.tolist()))
        solver = solver_for(budget)
        status, stopped = stoppable(lambda: solver.solve(model), solver.stop_search)
        if stopped:
            raise KeyboardInterrupt
        if status not in ANSWERED:
            return Packing(None, ended=status == cp_model.INFEASIBLE)
        chosen = np.array([solver.boolean_value(take) for take in takes], dtype=bool)
        return Packing(self.columns.only(chosen), ended=status == cp_model.OPTIMAL)
