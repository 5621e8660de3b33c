"""One crew-day solved to proof: which tasks, in which stops, in which order.

Where no visit has hours of its own the day is one linear budget (work and drives between the first start and the last
finish fit into the light): measured with OR-Tools 9.15 on one thread, 20 visits are proven in about 0.5 s and 30 in
1 to 8 s. Otherwise each stop has a start time, with the same budget kept as a cut: 20 visits of which a third have
hours of their own take 0.5 to 4 s, where the model without the cut had not ended after 60 s at 12 visits.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from routing.planning.exact.circuit_loads import BASE_NODE, total
from routing.planning.exact.circuit_model import DayModel, build_model
from routing.planning.exact.circuit_search import CircuitSearch, best_timed, solver_for
from routing.planning.exact.day_answer import DayAnswer, Stopped
from routing.planning.model.problem import RANKS, Order, Problem, rank_score, served
from routing.planning.running.budget import Budget

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
            return _ByCircuit(problem, route, tasks, stock, budget, told).best(hint)
        hint = walked.order
    answer = DayAnswer(walked.order, walked.proven, walked.rank_bounds, walked.away_bound)
    if walked.interrupted:
        raise Stopped(answer)
    if walked.proven:
        return answer
    rest = _ByCircuit(problem, route, tasks, stock, budget, told, walked.rank_bounds).best(hint)
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


@dataclass(frozen=True)
class _ByCircuit:
    """What the circuit model is asked of one route."""

    problem: Problem
    route: int
    tasks: frozenset[int]
    stock: Sequence[int]
    budget: Budget
    told: Callable[[Order], None] | None
    known: Sequence[int] = ()
    """Rank bounds, of which those met need no search."""

    def best(self, hint: Order) -> DayAnswer:
        """Return the best order by the circuit model.

        Where an order is not as good as the model takes it to be, once timed and loaded by us, it is shut out and the
        model asked again, a few times.
        """
        shut: list[Order] = []
        while True:
            answer, wrong = self._once(hint, shut)
            if answer.proven or wrong is None or len(shut) == MOST_SHUT:
                return answer
            shut.append(wrong)
            hint = answer.order or hint

    def _once(self, hint: Order, shut: Sequence[Order]) -> tuple[DayAnswer, Order | None]:
        """Return the best order not shut out, and the one of the model where that is not as good as it seemed."""
        problem, budget = self.problem, self.budget
        model = build_model(problem, self.route, self.tasks, self.stock, frozenset())
        if not model.nodes:
            return DayAnswer((), proven=True, rank_bounds=(0,) * RANKS, away_bound=0), None
        if model.returns:
            budget = replace(budget, work=min(budget.work, MOST_WORK_WITH_RETURNS))
        for order in shut:
            _shut_out(model, order)
        search = CircuitSearch(model, solver_for(budget), hint, budget.deadline, self.told)
        bounds = [
            sum(problem.tasks[task].weight for task in model.tasks if problem.tasks[task].rank == r) for r in _ALL
        ]
        met = _met(model, rank_score(problem, served((hint,))), self.known, bounds)
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
        order, cost = best_timed(problem, self.route, [*found, *shut])
        # What was proved is of orders as the model times them: it is said only of one that we time as it does. Orders
        # that are shut out come to what they are as we time them, and may be more than all that are left.
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


def _raise_ranks(search: CircuitSearch, ranks: Sequence[int], bounds: list[int]) -> None:
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
