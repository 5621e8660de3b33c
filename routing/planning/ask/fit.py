"""Will it all be done before dark? A yes with an order, or a no with a proof that a person can follow."""

from __future__ import annotations

from dataclasses import dataclass, replace

from routing.planning.ask.day_bound import bound_without_driving, day_bound
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
from routing.planning.explain.gates import not_for_light
from routing.planning.explain.reasons import Certain, certain_reasons
from routing.planning.model.days import Days
from routing.planning.model.load import stock_left
from routing.planning.model.narrow import is_packed, narrow
from routing.planning.model.order_costs import Rounds
from routing.planning.model.problem import Orders, rank_score, served
from routing.planning.search.insertion import construct
from routing.planning.search.solve import solve
from routing.round import FitAnswer, FitProof
from routing.words import count, duration

LOOKS = (Limits(sets_a_size=300), Limits(sets_a_size=3000), Limits())
"""How widely every order is looked at, one after the other until there is an answer."""

MOST_SEARCHED = 400
"""Of more tasks than these sums are asked first, and by how much a longer day would hold them is not."""


@dataclass(frozen=True)
class Fitted:
    """The answer, and the orders where everything fits."""

    answer: FitAnswer
    orders: Orders = ()


def fit(days: Days) -> Fitted:
    """Return whether every due job can be done on the days.

    Visits that are impossible alone make it a no; the answer then also tells how the rest of the day stands.
    """
    everything = frozenset(range(len(days.problem.tasks)))
    if not everything:
        return Fitted(
            fit_answer(days, FitProof.ORDER, ["Nothing is due on this date."], fits=True), ((),) * len(days.crews)
        )
    certain = certain_reasons(days)
    tasks = everything - certain.keys()
    rest = _fit_possible(days, tasks) if tasks else None
    if not certain and rest is not None:
        return rest
    return _no_for_certain(days, certain, rest)


def too_full(days: Days) -> FitAnswer | None:
    """Return the answer of `fit` where sums alone prove that very many jobs are too much, None elsewhere."""
    certain = certain_reasons(days)
    tasks = frozenset(range(len(days.problem.tasks))) - certain.keys()
    rest = _by_sums(days, tasks) if len(tasks) > MOST_SEARCHED else None
    if rest is None:
        return None
    return _no_for_certain(days, certain, rest).answer if certain else rest.answer


def _no_for_certain(days: Days, certain: dict[int, Certain], rest: Fitted | None) -> Fitted:
    lines = [no_line(days), *certain_lines(days, certain)]
    if rest is not None:
        parts = any(job.of_hives for task, job in enumerate(days.jobs) if task not in certain)
        shared = ", large jobs shared out" if parts else ""
        fits = f"All the rest would fit{shared}."
        lines += [fits] if rest.answer.fits else ["Nor does the rest fit:", *rest.answer.lines[1:]]
    return Fitted(fit_answer(days, FitProof.CERTAIN, lines, rest.answer.missing_seconds if rest else 0))


def _fit_possible(days: Days, tasks: frozenset[int]) -> Fitted:
    """Answer for tasks each of which can be done alone."""
    if len(tasks) > MOST_SEARCHED:
        return _fit_many(days, tasks)
    if not is_packed(days.problem):
        return _fit_few(days, tasks)
    small = narrow(days.problem, tasks)
    found = _fit_few(replace(days, problem=small.problem), tasks)
    return replace(found, orders=small.widened(found.orders))


def _fit_many(days: Days, tasks: frozenset[int]) -> Fitted:
    """Answer for very many tasks: by sums of stock, loads and hours, and only where these hold by a search."""
    return _by_sums(days, tasks) or _several_crews(days, tasks)


def _by_sums(days: Days, tasks: frozenset[int]) -> Fitted | None:
    """Return a no that stock, loads or the work alone prove, drives between sites not looked at; None elsewhere."""
    over = [*stock_lines(days, tasks), *load_lines(days, tasks)]
    if over:
        return Fitted(fit_answer(days, FitProof.BOUND, [no_line(days), *over]))
    bound = bound_without_driving(days, tasks)
    if bound.missing <= 0:
        return None
    lines = [no_line(days), *bound_lines(days, tasks, bound)]
    return Fitted(fit_answer(days, FitProof.BOUND, lines, bound.missing))


def _fit_few(days: Days, tasks: frozenset[int]) -> Fitted:
    orders = construct(Rounds(days.problem), tasks)
    if served(orders) == tasks:
        return Fitted(fitting_answer(days), orders)
    over = [*stock_lines(days, tasks), *load_lines(days, tasks)]
    if over:
        return Fitted(fit_answer(days, FitProof.BOUND, [no_line(days), *over]))
    if len(days.problem.routes) > 1:
        return _several_crews(days, tasks)
    return _search(days, tasks)


def _several_crews(days: Days, tasks: frozenset[int]) -> Fitted:
    bound = day_bound(days, tasks)
    if bound.missing > 0:
        lines = [no_line(days), *bound_lines(days, tasks, bound)]
        return Fitted(fit_answer(days, FitProof.BOUND, lines, bound.missing))
    solution = solve(days.problem, tasks, FIT_WORK)
    if solution.interrupted:
        raise KeyboardInterrupt
    if served(solution.orders) == tasks:
        return Fitted(fitting_answer(days), solution.orders)
    missing = len(tasks - served(solution.orders))
    # Each bound holds for all orders that do as much of the ranks before: so for those that would do everything.
    whole = rank_score(days.problem, tasks)
    if any(most < all_of_it for most, all_of_it in zip(solution.rank_bounds, whole, strict=True)):
        lines = [
            no_line(days),
            "Proved for several crews: no way to share the work out, in whatever order, does it all."
            if len(days.problem.routes) > 1
            else "Proved: no order does it all.",
            f"The best one found leaves out {count(missing, 'job')}.",
        ]
        return Fitted(fit_answer(days, FitProof.SHARED, lines))
    many = "several crews" if len(days.problem.routes) > 1 else "so many jobs"
    lines = [
        f"Not found: no order was found that does everything due on {days.date.isoformat()}.",
        f"The best one leaves out {count(missing, 'job')}; with {many} that is not proved least.",
    ]
    return Fitted(fit_answer(days, FitProof.NOT_PROVED, lines))


def _search(days: Days, tasks: frozenset[int]) -> Fitted:
    """Answer for one crew: by arithmetic, by every order at once, or by the exact search for the least stretch."""
    bound = day_bound(days, tasks)
    if bound.missing > 0:
        lines = [no_line(days), *bound_lines(days, tasks, bound)]
        missing = missing_time(days, tasks, bound)
        # Two figures of what is missing would confuse: the arithmetic's gives way to one that is found and higher.
        told = lines[:-1] if missing.exact and missing.at_least > bound.missing else lines
        more = [] if missing.exact and told is lines else missing.lines
        return Fitted(fit_answer(days, FitProof.BOUND, [*told, *more], missing.at_least))
    for limits in LOOKS:
        verdict = day_for_all(days.problem, tasks, bound, limits)
        if verdict.order:
            return Fitted(fitting_answer(days), (verdict.order,))
        if verdict.proven:
            missing = missing_time(days, tasks, bound)
            return Fitted(fit_answer(days, FitProof.SEARCH, [no_line(days), *missing.lines], missing.at_least))
    return _exact(days, tasks)


def _exact(days: Days, tasks: frozenset[int]) -> Fitted:
    """Answer by CP-SAT, which sees loads too: the least stretch of the day that lets everything be done."""
    from routing.planning.exact.circuit_model import Relax  # noqa: PLC0415
    from routing.planning.exact.day_answer import Budget  # noqa: PLC0415
    from routing.planning.exact.stretch import least_extension  # noqa: PLC0415

    stretch = least_extension(
        days.problem,
        0,
        tasks,
        stock_left(days.problem, ()),
        frozenset({Relax.LIGHT, Relax.HOME}),
        Budget(FIT_WORK),
    )
    if stretch.seconds == 0 and Rounds(days.problem).cost(0, stretch.order) is not None:
        return Fitted(fitting_answer(days), (stretch.order,))
    lines = [no_line(days)]
    if stretch.seconds is None:
        ended = "The search ended before it was proved."
        lines.append(not_for_light(days, tasks, FIT_WORK) if stretch.least else ended)
    elif stretch.least:
        lines.append(too_short_line(stretch.seconds))
    else:
        lines.append(f"The search ended before it was proved; {duration(stretch.seconds)} more would be enough.")
    proof = FitProof.SEARCH if stretch.least else FitProof.NOT_PROVED
    return Fitted(fit_answer(days, proof, lines, stretch.seconds or 0 if stretch.least else 0))
