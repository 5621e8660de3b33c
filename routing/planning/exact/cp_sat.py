"""One crew-day solved to proof: which tasks, in which stops, in which order.

Where no visit has hours of its own the day is one linear budget (work and drives between the first start and the last
finish fit into the light): measured with OR-Tools 9.15 on one thread, 20 visits are proven in about 0.5 s and 30 in
1 to 8 s. Otherwise each stop has a start time, with the same budget kept as a cut: 20 visits of which a third have
hours of their own take 0.5 to 4 s, where the model without the cut had not ended after 60 s at 12 visits.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from routing.planning.exact.circuit_loads import BASE_NODE, total
from routing.planning.exact.circuit_model import DayModel, Relax, build_model
from routing.planning.model.order_costs import Rounds
from routing.planning.model.problem import RANKS, Order, Planned, Problem, rank_score, served
from routing.planning.model.timing import timeline
from routing.planning.running.stoppable import stoppable

if TYPE_CHECKING:
    from routing.planning.exact.crew_day import WalkedDay

MOST_GOAL = 10**7
"""Ranks share one goal while its largest value stays under this; solving them one by one takes three times as long."""

MOST_WORK_WITH_RETURNS = 4.0
"""For each goal where base may be come back to: days of 12 to 30 visits are mostly proven in 1 to 2, some not in 20."""

LEAST_WALKED = 15
"""Up to fewer tasks the circuit model is as quick, and needs nothing compiled."""

WALKED_SHARE = 0.1
"""Of the work, what walks may take before the circuit model follows."""

MOST_SHUT = 6
"""Orders that turn out worse than the model took them to be are shut out one after the other, so many times."""

_ALL = range(RANKS)

ANSWERED = frozenset({cp_model.OPTIMAL, cp_model.FEASIBLE})


@dataclass(frozen=True)
class Budget:
    """How much work an exact search may do, in the solver's repeatable units (about a second each here)."""

    work: float = 60
    deadline: float | None = None
    """Of `time.monotonic`: where given, the search ends then instead, and depends on the machine."""


@dataclass(frozen=True)
class DayAnswer:
    """The best order found for one route, and what is proven of it."""

    order: Order
    proven: bool
    """Whether every rank and the time away are proven best."""
    rank_bounds: tuple[int, ...]
    """Shape (RANKS,): no order serves more weight in the first rank whose bound exceeds what was served."""
    away_bound: int
    """No order that serves the same ranks is away for less; 0 where nothing is known."""


class Stopped(KeyboardInterrupt):
    """Ctrl-C came during an exact search; `answer` is what it had until then."""

    def __init__(self, answer: DayAnswer) -> None:
        self.answer = answer
        super().__init__()


def best_day(
    problem: Problem,
    route: int,
    tasks: frozenset[int],
    stock: Sequence[int],
    hint: Order = (),
    budget: Budget | None = None,
    told: Callable[[Order], None] | None = None,
    *,
    walked: WalkedDay | None = None,
) -> DayAnswer:
    """Return the best order of one route for these candidate tasks; every rank strictly before the next.

    `stock` is what may be used, shape (supplies,), NO_LIMIT where there is no limit. `hint` is a good order to start
    from; it is kept where nothing better is found. `told` hears of better orders. `walked` is what walks came to, where
    they were asked before. The same input gives the same answer: the search runs on one thread to a fixed amount of
    work. Raises Stopped on Ctrl-C.
    """
    budget = budget or Budget()
    if walked is None:
        walked = walked_within(problem, route, tasks, stock, hint, budget, told)
        if walked is None:
            return _best_by_circuit(problem, route, tasks, stock, hint, budget, told, ())
        hint = walked.order
    answer = DayAnswer(walked.order, walked.proven, walked.rank_bounds, walked.away_bound)
    if walked.interrupted:
        raise Stopped(answer)
    if walked.proven:
        return answer
    rest = _best_by_circuit(problem, route, tasks, stock, hint, budget, told, walked.rank_bounds)
    reached = rank_score(problem, served((rest.order,)))
    bound = rest.away_bound or (walked.away_bound if reached == rank_score(problem, served((walked.order,))) else 0)
    return replace(rest, away_bound=bound)


def walked_within(
    problem: Problem,
    route: int,
    tasks: frozenset[int],
    stock: Sequence[int],
    hint: Order,
    budget: Budget,
    told: Callable[[Order], None] | None,
    share: float = WALKED_SHARE,
) -> WalkedDay | None:
    """Return what walks come to with a share of the work, or half of the time left.

    None where they are not made for the day, or it is quick without them.
    """
    if len(tasks) < LEAST_WALKED:
        return None
    from routing.planning.bounds.restricted_master import Effort  # noqa: PLC0415
    from routing.planning.exact.crew_day import (  # noqa: PLC0415 - compiled code that few questions need
        get_ready,
        walked_day,
    )

    if budget.deadline is not None:
        get_ready()
    return walked_day(problem, route, tasks, stock, hint, Effort(budget.work * share, budget.deadline).half(), told)


def _best_by_circuit(
    problem: Problem,
    route: int,
    tasks: frozenset[int],
    stock: Sequence[int],
    hint: Order,
    budget: Budget,
    told: Callable[[Order], None] | None,
    known: Sequence[int],
) -> DayAnswer:
    """Return the best order by the circuit model; `known` are rank bounds, of which those met need no search.

    Where an order is not as good as the model takes it to be, once timed and loaded by us, it is shut out and the
    model asked again, a few times.
    """
    shut: list[Order] = []
    while True:
        answer, wrong = _circuit(problem, route, tasks, stock, hint, budget, told, known, shut)
        if answer.proven or wrong is None or len(shut) == MOST_SHUT:
            return answer
        shut.append(wrong)
        hint = answer.order or hint


def _circuit(
    problem: Problem,
    route: int,
    tasks: frozenset[int],
    stock: Sequence[int],
    hint: Order,
    budget: Budget,
    told: Callable[[Order], None] | None,
    known: Sequence[int],
    shut: Sequence[Order],
) -> tuple[DayAnswer, Order | None]:
    """Return the best order that is not shut out, and the one of the model where that is not as good as it seemed."""
    model = build_model(problem, route, tasks, stock, frozenset())
    if not model.nodes:
        return DayAnswer((), proven=True, rank_bounds=(0,) * RANKS, away_bound=0), None
    if model.returns:
        budget = replace(budget, work=min(budget.work, MOST_WORK_WITH_RETURNS))
    for order in shut:
        _shut_out(model, order)
    search = _Search(model, _solver(budget), hint, budget.deadline, told)
    bounds = [sum(problem.tasks[task].weight for task in model.tasks if problem.tasks[task].rank == r) for r in _ALL]
    met = _met(model, rank_score(problem, served((hint,))), known, bounds)
    for ranks in _grouped([0] * met + bounds[met:]):
        _raise_ranks(search, ranks, bounds)
    reached = rank_score(problem, served((search.order,)))
    found = [hint, search.order]
    goals = (model.metres, model.away) if problem.distance_first else (model.away, model.metres)
    least = -search.maximise(-goals[0]) if search.proven else 0
    proven = search.proven
    found.append(search.order)
    if proven:
        model.cp.add(goals[0] <= least)
        search.maximise(-goals[1])
        found.append(search.order)
    order, cost = _best_timed(problem, route, [*found, *shut])
    # What was proved is of orders as the model times them: it is said only of one that we time as it does. Orders that
    # are shut out come to what they are as we time them, and may be more than all that are left.
    ours = rank_score(problem, served((order,)))
    as_proved = ours > reached or (ours == reached and cost <= least)
    if ours > tuple(bounds):
        bounds = list(ours) if proven else list(rank_score(problem, model.tasks))
    least = min(cost, least) if ours == reached else cost if proven and as_proved else 0
    answer = DayAnswer(order, proven and as_proved, tuple(bounds), 0 if problem.distance_first else max(0, least))
    if search.stopped:
        raise Stopped(answer)
    return answer, search.order if proven and not as_proved else None


def _shut_out(model: DayModel, order: Order) -> None:
    """Forbid one order with just its tasks, however it comes back to base."""
    stops = [BASE_NODE, *(planned.visit for planned in order), BASE_NODE]
    done = [model.does[planned.visit, task] for planned in order for task in planned.tasks]
    again = [~goes for node, goes in model.goes.items() if node > BASE_NODE and node not in stops]
    more = [~does for (node, task), does in model.does.items() if node in stops and not _does(order, node, task)]
    follows = []
    for here, there in pairwise(stops):
        ways = [model.arcs[here, there]] if (here, there) in model.arcs else []
        for back in model.returns:
            if here != BASE_NODE != there and {(here, back), (back, there)} <= model.arcs.keys():
                both = model.cp.new_bool_var(f"{here} by base {back} to {there}")
                model.cp.add_bool_or(both, ~model.arcs[here, back], ~model.arcs[back, there])
                ways.append(both)
        either = model.cp.new_bool_var(f"{here} before {there}")
        for way in ways:
            model.cp.add_implication(way, either)
        follows.append(either)
    model.cp.add_bool_or([~literal for literal in (*done, *again, *more, *follows)])


def _does(order: Order, node: int, task: int) -> bool:
    return any(planned.visit == node and task in planned.tasks for planned in order)


def _best_timed(problem: Problem, route: int, orders: Sequence[Order]) -> tuple[Order, int]:
    """Return the best of the orders that are possible as we time and load them, and its cost; none where none is."""
    rounds = Rounds(problem)
    costs = [(order, cost) for order in orders if (cost := rounds.cost(route, order)) is not None]
    if not costs:
        return (), 0
    order, cost = max(costs, key=lambda each: (rank_score(problem, served((each[0],))), -each[1].main, -each[1].tie))
    return order, cost.main


def _met(model: DayModel, reached: Sequence[int], known: Sequence[int], bounds: list[int]) -> int:
    """Keep the first ranks whose known bounds are met, lower `bounds` to what is known, return how many those are."""
    problem = model.problem
    for rank, most in enumerate(known):
        weight = total(
            (problem.tasks[t].weight, does) for (_, t), does in model.does.items() if problem.tasks[t].rank == rank
        )
        bounds[rank] = most
        if most > reached[rank]:
            model.cp.add(weight <= most)
            return rank
        model.cp.add(weight == most)
    return len(known)


def _grouped(most: Sequence[int]) -> list[list[int]]:
    """Return the ranks in the groups that one goal can hold: as many as keep its numbers small for the solver."""
    groups: list[list[int]] = []
    size = MOST_GOAL + 1
    for rank, weight in enumerate(most):
        if weight:
            size *= weight + 1
            if size > MOST_GOAL:
                groups.append([])
                size = weight + 1
            groups[-1].append(rank)
    return groups


def _raise_ranks(search: _Search, ranks: Sequence[int], bounds: list[int]) -> None:
    """Serve the most in these ranks, each before the next, keep it, and lower `bounds` to what is proven."""
    model = search.model
    factors, factor = {}, 1
    for rank in reversed(ranks):
        factors[rank] = factor
        factor *= bounds[rank] + 1
    weigh = {
        t: factors[facts.rank] * facts.weight for t in model.tasks if (facts := model.problem.tasks[t]).rank in ranks
    }
    score = total((weigh[task], does) for (_, task), does in model.does.items() if task in weigh)
    left = search.maximise(score)
    reached = rank_score(model.problem, served((search.order,)))
    model.cp.add(score >= sum(reached[rank] * factors[rank] for rank in ranks))
    for rank in ranks:
        bounds[rank] = min(bounds[rank], left // factors[rank])
        if bounds[rank] > reached[rank]:
            break
        left -= reached[rank] * factors[rank]


@dataclass(frozen=True)
class Stretch:
    """By how much a day must be stretched for an order that does everything."""

    seconds: int | None
    """None where no order was found, however long the day."""
    least: bool
    """Whether it is proved that no fewer seconds are enough, or that a whole day more is not."""
    order: Order = ()


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
    """
    model = build_model(problem, route, must, stock, relax)
    for task in must:
        ways = [does for (_, done), does in model.does.items() if done == task]
        if not ways:
            return Stretch(None, least=True)
        model.cp.add_exactly_one(ways)
    if model.extension is not None:
        model.cp.minimize(model.extension)
    solver = _solver(budget or Budget())
    status, stopped = stoppable(lambda: solver.solve(model.cp), solver.stop_search)
    if stopped:
        raise KeyboardInterrupt
    if status not in ANSWERED:
        return Stretch(None, least=status == cp_model.INFEASIBLE)
    seconds = solver.value(model.extension) if model.extension is not None else 0
    return Stretch(seconds, status == cp_model.OPTIMAL, _read(model, solver))


class _Search:
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
        self.order = _read(self.model, self.solver)
        if (
            self.told is not None
            and not self.stopped
            and _best_timed(self.model.problem, self.model.route, [self.order])[0]
        ):
            self.told(self.order)
        self.model.cp.clear_hints()  # type: ignore[no-untyped-call]
        for index in range(len(self.model.cp.proto.variables)):
            variable = self.model.cp.get_int_var_from_proto_index(index)
            self.model.cp.add_hint(variable, self.solver.value(variable))
        return round(self.solver.best_objective_bound)


def _solver(budget: Budget) -> cp_model.CpSolver:
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


def _read(model: DayModel, solver: cp_model.CpSolver) -> Order:
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
