"""The best choice among all routes of every crew-day: set packing, each task at most once, the stock kept, to proof."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from ortools.sat.python import cp_model

from routing.planning.exact.circuit_search import ANSWERED, solver_for
from routing.planning.exact.every_route import Column
from routing.planning.exact.subset_rows import Choice, may_be_chosen
from routing.planning.model.problem import NO_LIMIT, RANKS, Problem, used_by
from routing.planning.running.budget import Budget
from routing.planning.running.stoppable import stoppable


@dataclass(frozen=True)
class Packing:
    """The chosen columns, None where there are none; whether it is proved that none are better, or that none are."""

    columns: tuple[Column, ...] | None
    ended: bool


class SetPacking:
    """The columns of every crew-day, and what is asked of a choice of them."""

    def __init__(
        self, problem: Problem, columns: Sequence[Column], many: Mapping[int, int], floors: Sequence[int]
    ) -> None:
        """`many` says how often columns of each route may be taken, `floors` the least weight of the first ranks."""
        self._problem, self._many, self._floors = problem, many, floors
        self.columns = list(columns)
        self.weights = [_weights(problem, column) for column in columns]
        self._used = [used_by(problem, column.tasks) for column in columns]

    def thin(self, costs: Sequence[float], most: float) -> None:
        """Forget the columns that are in no choice that costs no more than `most`; `costs` are those of the columns."""
        columns = self.columns
        if not columns:
            return
        tasks, routes = sorted({task for column in columns for task in column.tasks}), list(self._many)
        index = {task: at for at, task in enumerate(tasks)}
        does = np.zeros((len(columns), len(tasks)), dtype=bool)
        for number, column in enumerate(columns):
            does[number, [index[task] for task in column.tasks]] = True
        rows: list[tuple[list[int], float, float]] = []
        rows += [([weights[rank] for weights in self.weights], floor, math.inf) for rank, floor in self._asked()]
        rows += [(used, -math.inf, stock) for used, stock in self._stock()]
        choice = Choice(
            costs=np.array(costs, dtype=np.float64),
            does=does,
            rows=np.array([row for row, _, _ in rows], dtype=np.float64).reshape(len(rows), len(columns)),
            low=np.array([low for _, low, _ in rows], dtype=np.float64),
            high=np.array([high for _, _, high in rows], dtype=np.float64),
            groups=np.array([routes.index(column.route) for column in columns], dtype=np.int64),
            many=np.array([self._many[route] for route in routes], dtype=np.int64),
            most=most,
        )
        stays = np.flatnonzero(may_be_chosen(choice)).tolist()
        self.columns = [columns[number] for number in stays]
        self.weights = [self.weights[number] for number in stays]
        self._used = [self._used[number] for number in stays]

    def _asked(self) -> list[tuple[int, int]]:
        """Return the ranks of which there is something to be served, each with how much."""
        return [(rank, floor) for rank, floor in enumerate(self._floors) if floor]

    def _stock(self) -> list[tuple[list[int], int]]:
        """Return what the columns use of each supply that is limited, with how much there is."""
        limited = [
            (supply, facts.stock) for supply, facts in enumerate(self._problem.supplies) if facts.stock != NO_LIMIT
        ]
        amounts = [([used[supply] for used in self._used], stock) for supply, stock in limited]
        return [(used, stock) for used, stock in amounts if any(used)]

    def best(self, worth: Sequence[int], budget: Budget) -> Packing:
        """Return the columns that are worth the most together; `worth` is that of each."""
        model = cp_model.CpModel()
        takes = [model.new_bool_var("") for _ in self.columns]
        by_task: dict[int, list[cp_model.IntVar]] = {}
        by_route: dict[int, list[cp_model.IntVar]] = {}
        for column, take in zip(self.columns, takes, strict=True):
            by_route.setdefault(column.route, []).append(take)
            for task in column.tasks:
                by_task.setdefault(task, []).append(take)
        for some in by_task.values():
            model.add_at_most_one(some)
        for route, some in by_route.items():
            model.add(cp_model.LinearExpr.sum(some) <= self._many[route])
        for rank, floor in self._asked():
            model.add(cp_model.LinearExpr.weighted_sum(takes, [each[rank] for each in self.weights]) >= floor)
        for used, stock in self._stock():
            model.add(cp_model.LinearExpr.weighted_sum(takes, used) <= stock)
        model.maximize(cp_model.LinearExpr.weighted_sum(takes, worth))
        solver = solver_for(budget)
        status, stopped = stoppable(lambda: solver.solve(model), solver.stop_search)
        if stopped:
            raise KeyboardInterrupt
        if status not in ANSWERED:
            return Packing(None, ended=status == cp_model.INFEASIBLE)
        chosen = tuple(column for column, take in zip(self.columns, takes, strict=True) if solver.boolean_value(take))
        return Packing(chosen, ended=status == cp_model.OPTIMAL)


def _weights(problem: Problem, column: Column) -> tuple[int, ...]:
    """Return what a column serves of each rank, shape (RANKS,)."""
    weights = [0] * RANKS
    for task in column.tasks:
        weights[problem.tasks[task].rank] += problem.tasks[task].weight
    return tuple(weights)
