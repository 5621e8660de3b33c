"""The CP-SAT model of one crew-day: a circuit of chosen stops under a linear budget of time, with loads and stock.

A circuit whose base may stay unvisited admits a closed loop that never sees the base, so every chosen stop implies
that the crew goes out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

import numpy as np
from ortools.sat.python import cp_model

from routing.planning.exact.circuit_loads import BASE_NODE, add_loads, total
from routing.planning.model.problem import NO_LIMIT, Planned, Problem, Visit, measures_over, quickest_ways

MOST_EXTENSION_SECONDS = 24 * 3600


class Relax(StrEnum):
    """What may be stretched when asking how little would be enough."""

    LIGHT = "light"
    START = "start"
    HOME = "home"


@dataclass
class DayModel:
    """The solver's variables of one crew-day. Nodes are visits of the problem; BASE_NODE and all below are the base."""

    problem: Problem
    route: int
    nodes: tuple[int, ...]
    tasks: frozenset[int]
    relax: frozenset[Relax]
    cp: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    arcs: dict[tuple[int, int], cp_model.IntVar] = field(default_factory=dict)
    goes: dict[int, cp_model.IntVar] = field(default_factory=dict)
    does: dict[tuple[int, int], cp_model.IntVar] = field(default_factory=dict)
    away: cp_model.LinearExpr = field(default_factory=lambda: total(()))
    metres: cp_model.LinearExpr = field(default_factory=lambda: total(()))
    extension: cp_model.IntVar | None = None
    returns: tuple[int, ...] = ()
    """The nodes of possible returns to base, in the order of the day."""

    def tasks_at(self, node: int) -> dict[int, cp_model.IntVar]:
        """Return the literal of each task that may be done at a node."""
        return {task: does for (where, task), does in self.does.items() if where == node}

    def drive(self, here: int, there: int) -> int:
        """Return drive seconds between two nodes."""
        return int(self.problem.routes[self.route].drive_seconds[self.place(here), self.place(there)])

    def place(self, node: int) -> int:
        """Return the place of a node."""
        return 0 if node <= BASE_NODE else self.problem.visits[node].place

    def opens(self, node: int) -> int:
        """Return the earliest start of a node other than the base itself."""
        return self.problem.routes[self.route].earliest_leave if node < BASE_NODE else self.problem.visits[node].opens

    def shortest(self, node: int) -> int:
        """Return the fewest on-site seconds of a node: its quickest task alone."""
        tasks = (task for task in self.problem.visits[node].tasks if task in self.tasks)
        return min(self.problem.on_site_seconds(self.route, Planned(node, (task,))) for task in tasks)


def build_model(
    problem: Problem, route: int, tasks: frozenset[int], stock: Sequence[int], relax: frozenset[Relax]
) -> DayModel:
    """Return the model of one route for these candidate tasks; `nodes` is empty where none can be reached.

    `stock` has shape (supplies,), NO_LIMIT where there is no limit. What is in `relax` may be stretched by
    `extension` seconds, one number for all of it.
    """
    rules = problem.routes[route]
    able = frozenset(task for task in tasks if rules.allowed[task])
    nodes = tuple(
        number
        for number, visit in enumerate(problem.visits)
        if visit.day == rules.day and not able.isdisjoint(visit.tasks)
    )
    model = DayModel(problem, route, nodes, able, relax)
    if rules.most_trips > 1 and measures_over(problem, rules, able):
        model.returns = tuple(BASE_NODE - number for number in range(1, min(rules.most_trips, len(able))))
    if nodes:
        _add_choice(model)
        _add_circuit(model)
        _add_clock(model)
        add_loads(model, stock)
    return model


def has_own_hours(model: DayModel) -> bool:
    """Return whether some order could wait for, or be cut by, a window inside the day.

    Where none can, only the first start and the last finish are bound, and the day is a linear budget.
    """
    rules = model.problem.routes[model.route]
    visits = {node: model.problem.visits[node] for node in model.nodes}
    shortest = {node: model.shortest(node) for node in model.nodes}
    soonest = _from_base(model)
    if Relax.LIGHT in model.relax and len({visit.closed_by_light for visit in visits.values()}) > 1:
        return True
    for here, first in visits.items():
        opens = first.opens
        if Relax.START not in model.relax:
            opens = max(opens, rules.earliest_leave + soonest[here])
        for there, then in visits.items():
            drive = _nearest(model, here, there)
            if here == there or drive < 0:
                continue
            waits = then.opens > opens + shortest[here] + drive
            if waits or first.closes < then.closes - shortest[there] - drive:
                return True
    return False


def _from_base(model: DayModel) -> dict[int, int]:
    """Return the least seconds of drives from base to each node, by way of whatever others."""
    places = [0, *sorted({model.place(node) for node in model.nodes})]
    ways = quickest_ways(model.problem.routes[model.route].drive_seconds[np.ix_(places, places)])[0]
    by_place = dict(zip(places, ways.tolist(), strict=True))
    return {node: max(0, by_place[model.place(node)]) for node in model.nodes}


def _nearest(model: DayModel, here: int, there: int) -> int:
    """Return the least seconds between two visits, by way of base where the crew may load there; negative if none."""
    ways = [model.drive(here, there)]
    home, out = model.drive(here, BASE_NODE), model.drive(BASE_NODE, there)
    if model.returns and min(home, out) >= 0:
        ways.append(home + model.problem.routes[model.route].reload_seconds + out)
    return min((way for way in ways if way >= 0), default=-1)


def _add_choice(model: DayModel) -> None:
    cp, problem = model.cp, model.problem
    for node in model.nodes:
        model.goes[node] = cp.new_bool_var(f"goes {node}")
        tasks = [task for task in problem.visits[node].tasks if task in model.tasks]
        for task in tasks:
            model.does[node, task] = model.goes[node] if len(tasks) == 1 else cp.new_bool_var(f"does {node} {task}")
        if len(tasks) > 1:
            cp.add_max_equality(model.goes[node], [model.does[node, task] for task in tasks])
    for task in sorted(model.tasks):
        ways = [does for (_, done), does in model.does.items() if done == task]
        if len(ways) > 1:
            cp.add_at_most_one(ways)
    same: dict[Visit, list[int]] = {}
    for node in model.nodes:
        same.setdefault(problem.visits[node], []).append(node)
    for alike in same.values():
        for first, then in pairwise(alike):
            # Of visits that nothing tells apart, each does a task of lower number than any of the next.
            for task, does in model.tasks_at(then).items():
                lower = [(1, other) for number, other in model.tasks_at(first).items() if number < task]
                cp.add(total(lower) >= does)


def _add_circuit(model: DayModel) -> None:
    cp = model.cp
    idle = cp.new_bool_var("idle")
    loop: list[tuple[int, int, cp_model.LiteralT]] = [(0, 0, idle)]
    for node in model.nodes:
        if model.drive(BASE_NODE, node) >= 0:
            model.arcs[BASE_NODE, node] = cp.new_bool_var(f"first {node}")
        if model.drive(node, BASE_NODE) >= 0:
            model.arcs[node, BASE_NODE] = cp.new_bool_var(f"last {node}")
        loop.append((node + 1, node + 1, ~model.goes[node]))
        cp.add_implication(model.goes[node], ~idle)
    for here in model.nodes:
        for there in model.nodes:
            if here != there and _may_follow(model, here, there):
                model.arcs[here, there] = cp.new_bool_var(f"{here} to {there}")
    _add_returns(model)
    number = {node: node + 1 for node in (BASE_NODE, *model.nodes)}
    number |= {node: len(model.problem.visits) + 1 + index for index, node in enumerate(model.returns)}
    loop += [(number[node], number[node], ~model.goes[node]) for node in model.returns]
    loop += [(number[here], number[there], arc) for (here, there), arc in model.arcs.items()]
    cp.add_circuit(loop)
    metres = model.problem.routes[model.route].drive_metres
    model.metres = total((int(metres[model.place(i), model.place(j)]), arc) for (i, j), arc in model.arcs.items())


def _add_returns(model: DayModel) -> None:
    """Add the ways to and from each possible return to base: the next is made only after the one before."""
    cp, visits = model.cp, model.problem.visits
    for node in model.returns:
        model.goes[node] = cp.new_bool_var(f"returns {node}")
        for other in model.nodes:
            if not visits[other].last_of_day and model.drive(other, node) >= 0:
                model.arcs[other, node] = cp.new_bool_var(f"{other} to base {node}")
            if model.drive(node, other) >= 0:
                model.arcs[node, other] = cp.new_bool_var(f"base {node} to {other}")
    for first, then in pairwise(model.returns):
        cp.add_implication(model.goes[then], model.goes[first])


def _may_follow(model: DayModel, here: int, there: int) -> bool:
    first, then = model.problem.visits[here], model.problem.visits[there]
    drive = model.drive(here, there)
    if drive < 0 or (first.last_of_day and not then.last_of_day):
        return False
    return bool(model.relax) or first.opens + model.shortest(here) + drive + model.shortest(there) <= then.closes


def _durations(model: DayModel) -> dict[int, cp_model.LinearExpr]:
    """Return on-site seconds of each node, zero where it is not visited."""
    problem, durations = model.problem, {}
    work = problem.routes[model.route].work_seconds
    for node in model.nodes:
        done = model.tasks_at(node)
        set_ups = {problem.tasks[task].set_up_seconds for task in done}
        terms: list[tuple[int, cp_model.LinearExprT]] = [(problem.visits[node].walk_seconds, model.goes[node])]
        if len(set_ups) == 1:
            terms.append((max(set_ups), model.goes[node]))
        else:
            longest = model.cp.new_int_var(0, max(set_ups), f"set-up {node}")
            for task, does in done.items():
                model.cp.add(longest >= problem.tasks[task].set_up_seconds * does)
            terms.append((1, longest))
        durations[node] = total(terms + [(work[task], does) for task, does in done.items()])
    reload_seconds = problem.routes[model.route].reload_seconds
    return durations | {node: total([(reload_seconds, model.goes[node])]) for node in model.returns}


def _add_clock(model: DayModel) -> None:
    """Bind the day: the budget between first start and last finish, home-by, the break, and own hours if any."""
    cp, visits, rules = model.cp, model.problem.visits, model.problem.routes[model.route]
    stretch = cp.new_int_var(0, MOST_EXTENSION_SECONDS if model.relax else 0, "extension")
    model.extension = stretch if model.relax else None
    early, light, late = (int(kind in model.relax) * stretch for kind in (Relax.START, Relax.LIGHT, Relax.HOME))
    durations = _durations(model)
    first = {node: model.arcs[BASE_NODE, node] for node in model.nodes if (BASE_NODE, node) in model.arcs}
    last = {node: model.arcs[node, BASE_NODE] for node in model.nodes if (node, BASE_NODE) in model.arcs}
    outward = {node: model.drive(BASE_NODE, node) for node in first}
    homeward = {node: model.drive(node, BASE_NODE) for node in last}
    out_seconds = total((outward[node], first[node]) for node in first)
    home_seconds = total((homeward[node], last[node]) for node in last)

    rest = cp.new_bool_var("break")
    between = [(model.drive(i, j), arc) for (i, j), arc in model.arcs.items() if BASE_NODE not in (i, j)]
    span = total([*between, *((1, duration) for duration in durations.values())])
    model.away = span + out_seconds + home_seconds + rules.break_seconds * rest
    # Where nobody can wait but before the first stop, a break there is as good as any, and takes the least light.
    own_hours = has_own_hours(model)
    rest_first = cp.new_bool_var("break before the first stop") if own_hours else rest
    span += rules.break_seconds * (rest - rest_first)
    rested = rules.break_seconds * rest_first

    horizon = max(rules.home_by, *(visits[node].closes for node in model.nodes)) + MOST_EXTENSION_SECONDS
    begin = cp.new_int_var(-MOST_EXTENSION_SECONDS, horizon, "first start")
    if Relax.START in model.relax:
        cp.add(begin >= total((visits[node].opens, first[node]) for node in first))
        cp.add(begin >= out_seconds - early + rested + rules.earliest_leave)
    else:
        opens = {node: max(visits[node].opens, rules.earliest_leave + outward[node]) for node in first}
        cp.add(begin >= total((opens[node], first[node]) for node in first))
        cp.add(begin >= out_seconds + rested + rules.earliest_leave).only_enforce_if(rest_first)
    if model.relax & {Relax.LIGHT, Relax.HOME}:
        cp.add(begin + span <= total((visits[node].closes, last[node]) for node in last) + light)
        cp.add(begin + span + home_seconds <= late + rules.home_by)
    else:
        closes = {node: min(visits[node].closes, rules.home_by - homeward[node]) for node in last}
        cp.add(begin + span <= total((closes[node], last[node]) for node in last))
    if own_hours:
        _add_own_hours(model, durations, (early, light, late), (rest, rest_first), horizon)
    if rules.break_seconds:
        cp.add(model.away <= rules.break_after_seconds).only_enforce_if(~rest)
    else:
        cp.add(rest == 0)
    if rules.most_away != NO_LIMIT:
        cp.add(model.away <= rules.most_away)


def _add_own_hours(
    model: DayModel,
    durations: Mapping[int, cp_model.LinearExpr],
    stretches: tuple[cp_model.LinearExpr, cp_model.LinearExpr, cp_model.LinearExpr],
    rests: tuple[cp_model.IntVar, cp_model.IntVar],
    horizon: int,
) -> None:
    """Give every stop a start of its own; the time away then counts waits too, and the break may fall into one.

    `rests` say whether there is a break, and whether it is before the first stop.
    """
    cp, visits, rules = model.cp, model.problem.visits, model.problem.routes[model.route]
    early, light, late = stretches
    leave = cp.new_int_var(-MOST_EXTENSION_SECONDS, horizon, "leave")
    home = cp.new_int_var(-MOST_EXTENSION_SECONDS, 2 * horizon, "home")
    cp.add(leave + early >= rules.earliest_leave)
    cp.add(home <= late + rules.home_by)
    hosts = {node: cp.new_bool_var(f"rests after {node}") for node in model.nodes}
    rest, rest_first = rests
    stretched = MOST_EXTENSION_SECONDS if Relax.START in model.relax else 0
    starts = {
        node: cp.new_int_var(model.opens(node) - stretched * (node < BASE_NODE), horizon, f"start {node}")
        for node in (*model.nodes, *model.returns)
    }
    finishes = {node: total([(1, start), (1, durations[node])]) for node, start in starts.items()}
    for node in model.nodes:
        cp.add_implication(hosts[node], model.goes[node])
        cp.add(finishes[node] <= leave + rules.break_after_seconds).only_enforce_if(hosts[node])
        shut = light * int(visits[node].closed_by_light) + visits[node].closes
        cp.add(finishes[node] <= shut).only_enforce_if(model.goes[node])
    for (here, there), arc in model.arcs.items():
        rested = rules.break_seconds * (rest_first if here == BASE_NODE else hosts.get(here, 0))
        drive = model.drive(here, there)
        if there == BASE_NODE:
            cp.add(home >= finishes[here] + drive).only_enforce_if(arc)
            if here in hosts:
                cp.add_implication(arc, ~hosts[here])
        else:
            ready = (leave if here == BASE_NODE else finishes[here]) + drive + rested
            cp.add(starts[there] >= ready).only_enforce_if(arc)
    cp.add(total((1, host) for host in (rest_first, *hosts.values())) == rest)
    cp.add(home - leave >= model.away)
    model.away = home - leave
