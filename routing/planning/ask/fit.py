"""Will it all be done before dark? A yes with an order, or a no with a proof that a person can follow."""

from __future__ import annotations

from dataclasses import dataclass, replace

from routing.plain_words import count, duration
from routing.planning import exact
from routing.planning.ask.fit_lines import (
    bound_lines,
    certain_lines,
    fit_answer,
    fitting_answer,
    load_lines,
    no_line,
    stock_lines,
    too_short_line,
)
from routing.planning.ask.longer_day import FIT_WORK, day_for_all, missing_time
from routing.planning.exact.visit_options import Limits
from routing.planning.explain.day_bound import bound_without_driving, day_bound
from routing.planning.explain.gates import not_for_light
from routing.planning.explain.reasons import Certain, certain_reasons
from routing.planning.model.instance import Instance
from routing.planning.model.load import stock_left
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Orders, rank_score, served
from routing.planning.model.subproblem import is_packed, subproblem_of
from routing.planning.running.budget import Budget
from routing.planning.search.insertion import construct
from routing.planning.search.solve import solve
from routing.round import FitAnswer, FitProof

LOOKS = (Limits(sets_a_size=300), Limits(sets_a_size=3000), Limits())
"""How widely every order is looked at, one after the other until there is an answer."""

MOST_SEARCHED = 400
"""Of more tasks than these sums are asked first, and by how much a longer day would hold them is not."""


@dataclass(frozen=True)
class Fitted:
    """The answer, and the orders where everything fits."""

    answer: FitAnswer
    orders: Orders = ()


def fit(instance: Instance) -> Fitted:
    """Return whether every due job can be done on the days.

    Visits that are impossible alone make it a no; the answer then also tells how the rest of the day stands.
    """
    everything = frozenset(range(len(instance.problem.tasks)))
    if not everything:
        return Fitted(
            fit_answer(instance, FitProof.ORDER, ["Nothing is due on this date."], fits=True),
            ((),) * len(instance.crews),
        )
    certain = certain_reasons(instance)
    tasks = everything - certain.keys()
    rest = _fit_possible(instance, tasks) if tasks else None
    if not certain and rest is not None:
        return rest
    return _no_for_certain(instance, certain, rest)


def too_full(instance: Instance) -> FitAnswer | None:
    """Return the answer of `fit` where sums alone prove that very many jobs are too much, None elsewhere."""
    certain = certain_reasons(instance)
    tasks = frozenset(range(len(instance.problem.tasks))) - certain.keys()
    rest = _by_sums(instance, tasks) if len(tasks) > MOST_SEARCHED else None
    if rest is None:
        return None
    return _no_for_certain(instance, certain, rest).answer if certain else rest.answer


def _no_for_certain(instance: Instance, certain: dict[int, Certain], rest: Fitted | None) -> Fitted:
    lines = [no_line(instance), *certain_lines(instance, certain)]
    if rest is not None:
        parts = any(job.of_hives for task, job in enumerate(instance.jobs) if task not in certain)
        shared = ", large jobs shared out" if parts else ""
        fits = f"All the rest would fit{shared}."
        lines += [fits] if rest.answer.fits else ["Nor does the rest fit:", *rest.answer.lines[1:]]
    return Fitted(fit_answer(instance, FitProof.CERTAIN, lines, rest.answer.missing_seconds if rest else 0))


def _fit_possible(instance: Instance, tasks: frozenset[int]) -> Fitted:
    """Answer for tasks each of which can be done alone."""
    if len(tasks) > MOST_SEARCHED:
        return _fit_many(instance, tasks)
    if not is_packed(instance.problem):
        return _fit_few(instance, tasks)
    small = subproblem_of(instance.problem, tasks)
    found = _fit_few(replace(instance, problem=small.problem), tasks)
    return replace(found, orders=small.lifted(found.orders))


def _fit_many(instance: Instance, tasks: frozenset[int]) -> Fitted:
    """Answer for very many tasks: by sums of stock, loads and hours, and only where these hold by a search."""
    return _by_sums(instance, tasks) or _several_crews(instance, tasks)


def _by_sums(instance: Instance, tasks: frozenset[int]) -> Fitted | None:
    """Return a no that stock, loads or the work alone prove, drives between sites not looked at; None elsewhere."""
    over = [*stock_lines(instance, tasks), *load_lines(instance, tasks)]
    if over:
        return Fitted(fit_answer(instance, FitProof.BOUND, [no_line(instance), *over]))
    bound = bound_without_driving(instance, tasks)
    if bound.missing <= 0:
        return None
    lines = [no_line(instance), *bound_lines(instance, tasks, bound)]
    return Fitted(fit_answer(instance, FitProof.BOUND, lines, bound.missing))


def _fit_few(instance: Instance, tasks: frozenset[int]) -> Fitted:
    orders = construct(OrderCosts(instance.problem), tasks)
    if served(orders) == tasks:
        return Fitted(fitting_answer(instance), orders)
    over = [*stock_lines(instance, tasks), *load_lines(instance, tasks)]
    if over:
        return Fitted(fit_answer(instance, FitProof.BOUND, [no_line(instance), *over]))
    if len(instance.problem.routes) > 1:
        return _several_crews(instance, tasks)
    return _search(instance, tasks)


def _several_crews(instance: Instance, tasks: frozenset[int]) -> Fitted:
    bound = day_bound(instance, tasks)
    if bound.missing > 0:
        lines = [no_line(instance), *bound_lines(instance, tasks, bound)]
        return Fitted(fit_answer(instance, FitProof.BOUND, lines, bound.missing))
    solution = solve(instance.problem, tasks, FIT_WORK)
    if solution.interrupted:
        raise KeyboardInterrupt
    if served(solution.orders) == tasks:
        return Fitted(fitting_answer(instance), solution.orders)
    missing = len(tasks - served(solution.orders))
    # Each bound holds for all orders that do as much of the ranks before: so for those that would do everything.
    whole = rank_score(instance.problem, tasks)
    if any(most < all_of_it for most, all_of_it in zip(solution.rank_bounds, whole, strict=True)):
        lines = [
            no_line(instance),
            "Proved for several crews: no way to share the work out, in whatever order, does it all."
            if len(instance.problem.routes) > 1
            else "Proved: no order does it all.",
            f"The best one found leaves out {count(missing, 'job')}.",
        ]
        return Fitted(fit_answer(instance, FitProof.SHARED, lines))
    many = "several crews" if len(instance.problem.routes) > 1 else "so many jobs"
    lines = [
        f"Not found: no order was found that does everything due on {instance.date.isoformat()}.",
        f"The best one leaves out {count(missing, 'job')}; with {many} that is not proved least.",
    ]
    return Fitted(fit_answer(instance, FitProof.NOT_PROVED, lines))


def _search(instance: Instance, tasks: frozenset[int]) -> Fitted:
    """Answer for one crew: by arithmetic, by every order at once, or by the exact search for the least stretch."""
    bound = day_bound(instance, tasks)
    if bound.missing > 0:
        lines = [no_line(instance), *bound_lines(instance, tasks, bound)]
        missing = missing_time(instance, tasks, bound)
        # Two figures of what is missing would confuse: the arithmetic's gives way to one that is found and higher.
        told = lines[:-1] if missing.exact and missing.at_least > bound.missing else lines
        more = [] if missing.exact and told is lines else missing.lines
        return Fitted(fit_answer(instance, FitProof.BOUND, [*told, *more], missing.at_least))
    for limits in LOOKS:
        verdict = day_for_all(instance.problem, tasks, bound, limits)
        if verdict.order:
            return Fitted(fitting_answer(instance), (verdict.order,))
        if verdict.proven:
            missing = missing_time(instance, tasks, bound)
            return Fitted(fit_answer(instance, FitProof.SEARCH, [no_line(instance), *missing.lines], missing.at_least))
    return _exact(instance, tasks)


def _exact(instance: Instance, tasks: frozenset[int]) -> Fitted:
    """Answer by CP-SAT, which sees loads too: the least stretch of the day that lets everything be done."""
    stretch = exact.stretch.least_extension(
        instance.problem,
        0,
        tasks,
        stock_left(instance.problem, ()),
        frozenset({exact.circuit_model.Relax.LIGHT, exact.circuit_model.Relax.HOME}),
        Budget(FIT_WORK),
    )
    if stretch.seconds == 0 and OrderCosts(instance.problem).cost(0, stretch.order) is not None:
        return Fitted(fitting_answer(instance), (stretch.order,))
    lines = [no_line(instance)]
    if stretch.seconds is None:
        ended = "The search ended before it was proved."
        lines.append(not_for_light(instance, tasks, FIT_WORK) if stretch.least else ended)
    elif stretch.least:
        lines.append(too_short_line(stretch.seconds))
    else:
        lines.append(f"The search ended before it was proved; {duration(stretch.seconds)} more would be enough.")
    proof = FitProof.SEARCH if stretch.least else FitProof.NOT_PROVED
    return Fitted(fit_answer(instance, proof, lines, stretch.seconds or 0 if stretch.least else 0))
