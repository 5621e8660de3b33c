"""By how much a day must be stretched for an order that does everything."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from routing.planning.exact.circuit_model import Relax, build_model
from routing.planning.exact.circuit_search import ANSWERED, order_found, solver_for
from routing.planning.model.problem import Order, Problem
from routing.planning.running.budget import Budget
from routing.planning.running.stoppable import stoppable


@dataclass(frozen=True)
class Stretch:
    """By how much a day must be stretched for an order that does everything."""

    seconds: int | None
    """None where no order was found, however long the day."""
    least: bool
    """Whether it is proved that no fewer seconds are enough, or that a whole day more is not."""
    order: Order = ()
    work: float = 0.0
    """What the search took, in the units of a budget."""


def least_extension(
    problem: Problem,
    route: int,
    must: frozenset[int],
    stock: Sequence[int],
    relax: frozenset[Relax],
    budget: Budget | None = None,
) -> Stretch:
    """Return the fewest seconds by which stretching all of `relax` lets one route do every task of `must`.

    Neither a hint nor an upper bound is given to the search: with them it took up to twenty times as long.

    Raises KeyboardInterrupt on Ctrl-C.
    """
    model = build_model(problem, route, must, stock, relax)
    for task in must:
        ways = [does for (_, done), does in model.does.items() if done == task]
        if not ways:
            return Stretch(None, least=True)
        model.cp.add_exactly_one(ways)
    if model.extension is not None:
        model.cp.minimize(model.extension)
    solver = solver_for(budget or Budget())
    status, stopped = stoppable(lambda: solver.solve(model.cp), solver.stop_search)
    if stopped:
        raise KeyboardInterrupt
    work = float(solver.response_proto.deterministic_time)
    if status not in ANSWERED:
        return Stretch(None, least=status == cp_model.INFEASIBLE, work=work)
    seconds = solver.value(model.extension) if model.extension is not None else 0
    return Stretch(seconds, status == cp_model.OPTIMAL, order_found(model, solver), work)
