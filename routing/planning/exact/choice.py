"""What exact choices have in common: the stock over all that is chosen, and a repeatable search that Ctrl-C can end."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ortools.math_opt.python import mathopt
from ortools.math_opt.solvers.highs_pb2 import HighsOptionsProto

from routing.planning.model.problem import NO_LIMIT, Problem, used_by
from routing.planning.running.stoppable import stoppable

ONCE = HighsOptionsProto(bool_options={"mip_allow_restart": False})
"""The root is not begun again once columns are ruled out: ours are ruled out before. Nine choices of some 500 of 2,000
columns took 11.8 s for 25.6 so, of 60 tasks by 10 crew-days 2.0 for 5.7, with the same answers."""


def keep_stock(
    model: mathopt.Model, problem: Problem, tasks: Iterable[Iterable[int]], takes: Sequence[mathopt.Variable]
) -> None:
    """Let what is taken use no more than the stock; `tasks` are those of each variable of `takes`."""
    amounts = [used_by(problem, some) for some in tasks]
    for supply, facts in enumerate(problem.supplies):
        if facts.stock != NO_LIMIT:
            unit = math.gcd(*(used[supply] for used in amounts)) or 1
            using = [used[supply] // unit * take for used, take in zip(amounts, takes, strict=True) if used[supply]]
            model.add_linear_constraint(mathopt.fast_sum(using) <= facts.stock // unit)


@dataclass(frozen=True)
class Relaxed:
    """The best of a model whose yes-or-no variables may be taken in part."""

    best: float
    reduced_costs: Sequence[float]
    """Of each of those variables: what the best changes by, at the least, where one more is taken."""


def relaxation(
    model: mathopt.Model, takes: Sequence[mathopt.Variable], seconds: dt.timedelta | None = None
) -> Relaxed | None:
    """Return the relaxation of `takes`, shape (variables,), None where it was not solved; the model is as before."""
    for take in takes:
        take.integer = False
    try:
        answer = mathopt.solve(
            model, mathopt.SolverType.GLOP, params=mathopt.SolveParameters(time_limit=seconds, random_seed=1)
        )
    except Exception:  # noqa: BLE001 - the solver fails on hard numbers, and the error that it makes of it may fail too
        return None
    finally:
        for take in takes:
            take.integer = True
    if answer.termination.reason != mathopt.TerminationReason.OPTIMAL or not answer.has_dual_feasible_solution():
        return None
    return Relaxed(answer.objective_value(), answer.reduced_costs(takes))


def best_choice(
    model: mathopt.Model,
    nodes: int,
    seconds: float | None = None,
    hint: dict[mathopt.Variable, float] | None = None,
) -> dict[mathopt.Variable, float] | None:
    """Return what each variable is in the best choice found within so many branches, None where none was.

    Where `seconds` bound it too, it depends on the machine. It begins with the `hint`.
    """
    parameters = mathopt.SolveParameters(
        random_seed=1,
        highs=ONCE,
        node_limit=nodes,
        absolute_gap_tolerance=0.5,
        time_limit=None if seconds is None else dt.timedelta(seconds=seconds),
    )
    hints = [mathopt.SolutionHint(variable_values=hint)] if hint else []
    answer, _ = stoppable(
        lambda: mathopt.solve(
            model,
            mathopt.SolverType.HIGHS,
            params=parameters,
            model_params=mathopt.ModelSolveParameters(solution_hints=hints),
        )
    )  # this solver cannot be told to stop
    return answer.variable_values() if answer.has_primal_feasible_solution() else None
