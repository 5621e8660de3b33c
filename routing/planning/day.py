"""One date or several planned from end to end: candidates, orders, what is left out and how good it all is."""

from __future__ import annotations

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
    if served(solution.orders) == candidates and solution.proven:
        return Proof(
            optimal=True, text="Proven: everything that can be done is done, and no order is back at base sooner."
        )
    if solution.proven:
        text = (
            "Proven: no round of this day does more of what matters most, and none that does as much takes less time."
        )
        return Proof(optimal=True, text=text)
    if not days.crews:
        return Proof(optimal=True, text="No crew works on this date, so nothing can be done.")
    if served(solution.orders) == candidates:
        return Proof(optimal=False, text="Everything that can be done is done. A shorter round may exist.")
    if len(days.crews) > 1:
        each = "each crew's own day is proven best" if solution.days_proven else "not every crew's day is proven best"
        return Proof(
            optimal=False,
            text=f"Not proven: another split between the crews might do more; for the split as it is, {each}.",
        )
    return Proof(
        optimal=False, text=f"Not proven: the search ended with its work budget used up. {_bound_words(days, solution)}"
    )


def _bound_words(days: Days, solution: Solution) -> str:
    reached = rank_score(days.problem, served(solution.orders))
    for rank, got, most in zip(Rank, reached, solution.rank_bounds, strict=True):
        if most > got:
            return f"In rank “{rank}” it reaches {got} of at most {most} points (7 a job and 1 a day overdue)."
    return f"Every rank is proven best; the time away cannot be under {duration(solution.away_bound)}."
