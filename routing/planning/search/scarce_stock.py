"""Which tasks the stock holds together, chosen before any route is known: engines know nothing of stock over all crews.

They may be asked for these alone, where the light is not what is short.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from ortools.math_opt.python import mathopt

from routing.planning.exact.choice import best_choice, keep_stock
from routing.planning.model.load import stock_holds
from routing.planning.model.problem import RANKS, Problem

MOST_NODES = 2000
"""Branches for each goal: a repeatable limit."""


def affordable(problem: Problem, tasks: frozenset[int], needs: NDArray[np.float64]) -> frozenset[int]:
    """Return the tasks that the stock holds together with the most weight, rank by rank; all where it holds them.

    Of choices with the same weight it is the one that needs the least in all; `needs` has an entry for every task of
    the problem. Where the solver fails, it is all of them too.
    """
    if stock_holds(problem, tasks):
        return tasks
    numbers = sorted(tasks)
    model = mathopt.Model()
    taken = {task: model.add_binary_variable() for task in numbers}
    keep_stock(model, problem, ([task] for task in numbers), list(taken.values()))
    for rank in range(RANKS):
        weight = mathopt.fast_sum(
            problem.tasks[task].weight * taken[task] for task in numbers if problem.tasks[task].rank == rank
        )
        model.maximize(weight)
        chosen = _solved(model, taken)
        if chosen is None:
            return tasks
        reached = sum(problem.tasks[task].weight for task in chosen if problem.tasks[task].rank == rank)
        model.add_linear_constraint(weight >= reached - 0.5)
    model.minimize(mathopt.fast_sum(float(needs[task]) * taken[task] for task in numbers))
    return _solved(model, taken) or tasks


def _solved(model: mathopt.Model, taken: dict[int, mathopt.Variable]) -> frozenset[int] | None:
    values = best_choice(model, MOST_NODES)
    return None if values is None else frozenset(task for task, variable in taken.items() if round(values[variable]))
