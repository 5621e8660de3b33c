"""Stock, payload and space in the CP-SAT model of one crew-day, trip by trip where it may come back to base to load."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from routing.planning.model.problem import NO_LIMIT, measures_over, used_by

if TYPE_CHECKING:
    from routing.planning.exact.circuit_model import DayModel

FINE = 1000
"""Loads are counted in thousandths of a gram or millilitre, so that whole numbers hold them."""

BASE_NODE = -1
"""The node of the base; those below it are returns there to load again: -2 the first of the day, -3 the second."""

Trip = Mapping[tuple[int, int], cp_model.IntVar]
"""By node and task: whether it is done there in this trip."""


def total(terms: Iterable[tuple[int, cp_model.LinearExprT]]) -> cp_model.LinearExpr:
    """Return the sum of coefficient times expression."""
    pairs = list(terms)
    return cp_model.LinearExpr.weighted_sum([expression for _, expression in pairs], [factor for factor, _ in pairs])


def add_loads(model: DayModel, stock: Sequence[int]) -> None:
    """Bind stock, payload and space; only where the candidates together could pass them."""
    most = used_by(model.problem, model.tasks)
    for supply, limit in enumerate(stock):
        if limit != NO_LIMIT and most[supply] > limit:
            model.cp.add(total(_used(model, model.does, supply)) <= limit)
    measures = measures_over(model.problem, model.problem.routes[model.route], model.tasks)
    trips = _trips(model) if model.returns else [model.does]
    for limit, each in measures:
        _add_limit(model, limit, [round(e * FINE) for e in each], trips)


def _used(model: DayModel, done: Trip, supply: int) -> list[tuple[int, cp_model.LinearExprT]]:
    return [
        (amount, does)
        for (_, task), does in done.items()
        for used, amount in model.problem.tasks[task].uses
        if used == supply
    ]


def _trips(model: DayModel) -> list[Trip]:
    """Return what is done in each trip of the day: returns to base part them."""
    cp, within = model.cp, _trip_of_nodes(model)
    every = range(len(model.returns) + 1)
    trips: list[dict[tuple[int, int], cp_model.IntVar]] = [{} for _ in every]
    for (node, task), does in model.does.items():
        if does is model.goes[node]:
            for trip in every:
                trips[trip][node, task] = within[node][trip]
            continue
        for trip in every:
            trips[trip][node, task] = cp.new_bool_var(f"{task} at {node} in {trip}")
            cp.add_implication(trips[trip][node, task], within[node][trip])
        cp.add(total((1, done[node, task]) for done in trips) == does)
    return list(trips)


def _trip_of_nodes(model: DayModel) -> dict[int, list[cp_model.IntVar]]:
    """Return for each node whether it is visited in each trip, all along the ways taken."""
    cp = model.cp
    number = {BASE_NODE: 0} | {node: index + 1 for index, node in enumerate(model.returns)}
    every = range(len(number))
    within = {node: [cp.new_bool_var(f"{node} in trip {trip}") for trip in every] for node in model.nodes}
    for node in model.nodes:
        cp.add(total((1, trip) for trip in within[node]) == model.goes[node])
        for trip, back in enumerate(model.returns, start=1):
            cp.add_implication(within[node][trip], model.goes[back])
    for (here, there), arc in model.arcs.items():
        if here in number:
            cp.add_implication(arc, within[there][number[here]])
        elif there in model.returns:
            cp.add_implication(arc, within[here][number[there] - 1])
        elif there != BASE_NODE:
            for trip in every:
                cp.add(within[here][trip] == within[there][trip]).only_enforce_if(arc)
    return within


def _add_limit(model: DayModel, limit: int, each: Sequence[int], trips: Sequence[Trip]) -> None:
    """Keep one measure of load under its limit on leaving base, within every stop and after it, in every trip."""
    cp, problem = model.cp, model.problem
    at_base = _at_base(model, each, trips)
    for leaving in at_base:
        cp.add(leaving <= limit * FINE)
    if model.returns:
        _add_sums(model, limit, each)
    if not any(problem.tasks[task].back or problem.tasks[task].carried for task in model.tasks):
        return

    def change(task: int) -> int:
        facts = problem.tasks[task]
        return sum(each[s] * amount for s, amount in facts.back) - sum(each[s] * amount for s, amount in facts.uses)

    gains = {node: total((change(task), does) for task, does in model.tasks_at(node).items()) for node in model.nodes}
    after: dict[int, cp_model.LinearExpr] = {
        node: cp.new_int_var(0, limit * FINE, f"load after {node}") for node in model.nodes
    }
    on_board = dict(zip((BASE_NODE, *model.returns), at_base, strict=True)) | after
    for (here, there), arc in model.arcs.items():
        if there in after:
            cp.add(after[there] >= on_board[here] + gains[there]).only_enforce_if(arc)
    for node in model.nodes:
        within = [
            (each[supply] * amount, does)
            for task, does in model.tasks_at(node).items()
            for supply, amount in problem.tasks[task].carried
        ]
        if within:
            cp.add(after[node] + total(within) <= limit * FINE)
    for start, done in zip(at_base, trips, strict=True):
        cp.add(total([(1, start), *((change(task), does) for (_, task), does in done.items())]) <= limit * FINE)


def _add_sums(model: DayModel, limit: int, each: Sequence[int]) -> None:
    """Bind all that is used, and all that is brought back, by the trips that are made: true anyway, but seen sooner."""
    tasks = model.problem.tasks
    room = total([(limit * FINE, model.goes[node]) for node in model.returns]) + limit * FINE
    used = {task: sum(each[supply] * amount for supply, amount in tasks[task].uses) for task in model.tasks}
    brought = {task: sum(each[supply] * amount for supply, amount in tasks[task].back) for task in model.tasks}
    for weights in (used, brought):
        model.cp.add(total((weights[task], does) for (_, task), does in model.does.items()) <= room)


def _at_base(model: DayModel, each: Sequence[int], trips: Sequence[Trip]) -> list[cp_model.LinearExpr]:
    """Return the load on leaving base on each trip: packs for all that is used until its end, less what was used."""
    cp, problem = model.cp, model.problem
    most = used_by(problem, model.tasks)
    found = []
    for trip in range(len(trips)):
        terms: list[tuple[int, cp_model.LinearExprT]] = []
        for supply, facts in enumerate(problem.supplies):
            if not most[supply] or not each[supply]:
                continue
            used = [term for done in trips[: trip + 1] for term in _used(model, done, supply)]
            before = [term for done in trips[:trip] for term in _used(model, done, supply)]
            terms += [(-each[supply] * amount, does) for amount, does in before]
            if facts.pack:
                amounts = {*range(0, facts.loaded(most[supply]), facts.pack), facts.loaded(most[supply])}
                domain = cp_model.Domain.from_values(sorted(amounts))
                loaded = cp.new_int_var_from_domain(domain, f"loaded {supply} by trip {trip}")
                cp.add(loaded >= total(used))
                terms.append((each[supply], loaded))
            else:
                terms += [(each[supply] * amount, does) for amount, does in used]
        found.append(total(terms))
    return found
