"""Searches of the circuit model of one crew-day, goal after goal."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from itertools import pairwise

from ortools.sat.python import cp_model

from routing.planning.exact.circuit_loads import BASE_NODE
from routing.planning.exact.circuit_model import DayModel
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, Planned, Problem, rank_score, served
from routing.planning.model.timing import timeline
from routing.planning.running.budget import Budget
from routing.planning.running.stoppable import stoppable

ANSWERED = frozenset({cp_model.OPTIMAL, cp_model.FEASIBLE})


def best_timed(problem: Problem, route: int, orders: Sequence[Order]) -> tuple[Order, int]:
    """Return the best of the orders that are possible as we time and load them, and its cost; none where none is."""
    order_costs = OrderCosts(problem)
    costs = [(order, cost) for order in orders if (cost := order_costs.cost(route, order)) is not None]
    if not costs:
        return (), 0
    order, cost = max(costs, key=lambda each: (rank_score(problem, served((each[0],))), -each[1].main, -each[1].tie))
    return order, cost.main


class CircuitSearch:
    """One goal after another on the same model, each starting from the order that the last one found."""

    def __init__(
        self,
        model: DayModel,
        solver: cp_model.CpSolver,
        hint: Order,
        deadline: float | None = None,
        told: Callable[[Order], None] | None = None,
    ) -> None:
        self.model, self.solver, self.order, self.proven = model, solver, hint, True
        self.deadline, self.told, self.stopped = deadline, told, False
        times = timeline(model.problem, model.route, hint) if hint else None
        if times is not None:
            _hint(model, hint, [one.before for one in times.returns])

    def maximise(self, goal: cp_model.LinearExpr) -> int:
        """Take the order that is best for the goal, and return what no order can pass.

        After a goal that was not proven the search rests, and the bound is the largest number there is.
        """
        if not self.proven:
            return cp_model.INT32_MAX
        self.model.cp.maximize(goal)
        if self.deadline is not None:
            self.solver.parameters.max_time_in_seconds = max(0.05, self.deadline - time.monotonic())
        status, self.stopped = stoppable(lambda: self.solver.solve(self.model.cp), self.solver.stop_search)
        self.proven = status == cp_model.OPTIMAL and not self.stopped
        if status not in ANSWERED:
            return cp_model.INT32_MAX
        self.order = order_found(self.model, self.solver)
        if (
            self.told is not None
            and not self.stopped
            and best_timed(self.model.problem, self.model.route, [self.order])[0]
        ):
            self.told(self.order)
        self.model.cp.clear_hints()  # type: ignore[no-untyped-call]
        for index in range(len(self.model.cp.proto.variables)):
            variable = self.model.cp.get_int_var_from_proto_index(index)
            self.model.cp.add_hint(variable, self.solver.value(variable))
        return round(self.solver.best_objective_bound)


def solver_for(budget: Budget) -> cp_model.CpSolver:
    """Return a solver on one thread that ends after this much work, or when it is told to."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.linearization_level = 2
    # Looking for symmetry and probing every literal cost more than the search itself on days of 30 visits.
    solver.parameters.symmetry_level = 0
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.max_presolve_iterations = 1
    solver.parameters.catch_sigint_signal = False  # it would pass off Ctrl-C as the end of its time
    if budget.deadline is None:
        solver.parameters.max_deterministic_time = budget.work
    return solver


def order_found(model: DayModel, solver: cp_model.CpSolver) -> Order:
    """Return the order that a solver has found."""
    follows = {here: there for (here, there), arc in model.arcs.items() if solver.boolean_value(arc)}
    order: list[Planned] = []
    node = follows.get(BASE_NODE, BASE_NODE)
    while node != BASE_NODE:
        if node > BASE_NODE:
            done = sorted(task for task, does in model.tasks_at(node).items() if solver.boolean_value(does))
            order.append(Planned(node, tuple(done)))
        node = follows[node]
    return tuple(order)


def _hint(model: DayModel, order: Order, returns: Sequence[int]) -> None:
    stops = [planned.visit for planned in order]
    for number, node in reversed(list(zip(returns, model.returns, strict=False))):
        stops.insert(number, node)
    stops = [BASE_NODE, *stops, BASE_NODE]
    taken = set(pairwise(stops))
    done = {(planned.visit, task) for planned in order for task in planned.tasks}
    hints = {arc.index: (arc, key in taken) for key, arc in model.arcs.items()}
    hints |= {does.index: (does, key in done) for key, does in model.does.items()}
    hints |= {goes.index: (goes, node in stops) for node, goes in model.goes.items()}
    for variable, value in hints.values():
        model.cp.add_hint(variable, value)
