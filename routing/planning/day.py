"""One date or several planned from end to end: candidates, orders, what is left out and how good it all is."""

from __future__ import annotations

import math
from dataclasses import replace

from routing.farm.models import Rank
from routing.planning.build import Days, on_time
from routing.planning.clash import clash_words
from routing.planning.engines.insertion import Rounds, fill
from routing.planning.fit import Fitted, fit
from routing.planning.left_out import not_due_entries
from routing.planning.outcome import left_out_entries
from routing.planning.problem import rank_score, served, widest
from routing.planning.reasons import certain_reasons
from routing.planning.rounds import build_round
from routing.planning.solve import Solution, solve
from routing.planning.timing import timeline
from routing.round import FitAnswer, Proof, Round
from routing.words import duration


def plan_days(days: Days, work: float = 60) -> Round:
    """Return the best round found for the dates; `work` is the repeatable search budget for a crew's day."""
    certain = certain_reasons(days)
    candidates = frozenset(range(len(days.problem.tasks))) - certain.keys()
    solution = _solve(days, candidates, work)
    entries = left_out_entries(days, solution.orders, certain)
    musts = frozenset(task for task in candidates if days.problem.tasks[task].rank == 0)
    clash = "" if musts <= served(solution.orders) else clash_words(days, musts)
    planned = build_round(days, solution.orders, entries, _proof(days, candidates, solution))
    return planned.model_copy(update={"clash": clash})


def _solve(days: Days, candidates: frozenset[int], work: float) -> Solution:
    """Return the best orders in which nothing is late, or, only where that serves more, the best of all.

    Of what is left out when nothing may be late, all that still fits on a later day is done late.
    """
    punctual = on_time(days)
    solution = solve(punctual, candidates, work)
    if served(solution.orders) == candidates or punctual.visits == days.problem.visits:
        return solution
    late = solve(days.problem, candidates, work)
    filled = fill(Rounds(days.problem), solution.orders, candidates)
    if rank_score(days.problem, served(late.orders)) > rank_score(days.problem, served(filled)):
        return late
    return replace(solution, orders=widest(days.problem, filled), proven=False, rank_bounds=late.rank_bounds)


def fit_day(days: Days) -> FitAnswer:
    """Return whether everything due can be done on the date, with the round where it can."""
    fitted: Fitted = fit(days)
    if not fitted.answer.fits:
        return fitted.answer
    proof = Proof(optimal=False, text="Everything due is done; no shorter way was sought.")
    return fitted.answer.model_copy(
        update={"round": build_round(days, widest(days.problem, fitted.orders), not_due_entries(days), proof)}
    )


def _proof(days: Days, candidates: frozenset[int], solution: Solution) -> Proof:
    done = served(solution.orders)
    if not days.crews:
        return Proof(optimal=True, text="No crew works on this date, so nothing can be done.")
    if solution.proven and done == candidates:
        text = "Proven: everything that can be done is done, and no order is back at base sooner."
        return Proof(optimal=True, text=text)
    if solution.proven:
        text = "Proven: no round does more of what matters most, and none that does as much takes less time."
        return Proof(optimal=True, text=text)
    served_words = _served_words(days, done, candidates, solution)
    each = " Each crew's own day is proven best for its sites." if solution.days_proven and len(days.crews) > 1 else ""
    return Proof(optimal=False, text=f"{served_words} {_time_words(days, solution)}{each}")


def _served_words(days: Days, done: frozenset[int], candidates: frozenset[int], solution: Solution) -> str:
    """Say how much more could be done at the very most: the first rank in which the bound is above what is done."""
    if done == candidates:
        return "Everything that can be done is done."
    reached = rank_score(days.problem, done)
    for rank, got, most in zip(Rank, reached, solution.rank_bounds, strict=True):
        if most > got:
            return (
                f"Not proven: in rank “{rank}” this round reaches {got} points, and none can pass {most} "
                "(7 a job and 1 a day overdue)."
            )
    return "Proven: no round does more of what matters most."


def _time_words(days: Days, solution: Solution) -> str:
    """Say by how much the time away could be shorter at the very most, for the same jobs."""
    timelines = [timeline(days.problem, route, order) for route, order in enumerate(solution.orders) if order]
    away = sum(times.away for times in timelines if times is not None)
    if solution.away_bound <= 0 or away <= 0:
        return "A shorter round of the same jobs may exist."
    share = math.ceil(1000 * max(0, away - solution.away_bound) / away) / 10
    least = duration(solution.away_bound)
    return f"No round of the same jobs is away for less than {least}: this one is within {share:g} %."
