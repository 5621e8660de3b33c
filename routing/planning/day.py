"""One date planned from end to end: candidates, orders, what is left out and how good it all is."""

from __future__ import annotations

from collections.abc import Mapping

from routing.farm.models import Rank
from routing.planning.build import Day
from routing.planning.fit import Fitted, fit
from routing.planning.left_out import (
    certain_entry,
    cheapest_squeeze,
    crowded_entry,
    left_out_groups,
    not_due_entries,
)
from routing.planning.problem import Orders, rank_score, served, widest
from routing.planning.reasons import Certain, certain_reasons
from routing.planning.rounds import build_round
from routing.planning.solve import Solution, solve
from routing.round import FitAnswer, LeftOut, Proof, Round
from routing.words import duration

MOST_REMEDIED = 12
"""Remedies are sought by planning again for this many left-out visits, the greatest rank first."""


def plan_day(day: Day, work: float = 60) -> Round:
    """Return the best round found for the date; `work` is the repeatable search budget for a crew-day."""
    certain = certain_reasons(day)
    candidates = frozenset(range(len(day.problem.tasks))) - certain.keys()
    solution = solve(day.problem, candidates, work)
    return build_round(
        day, solution.orders, _left_out(day, solution.orders, certain), _proof(day, candidates, solution)
    )


def fit_day(day: Day) -> FitAnswer:
    """Return whether everything due can be done on the date, with the round where it can."""
    fitted: Fitted = fit(day)
    if not fitted.answer.fits:
        return fitted.answer
    proof = Proof(optimal=False, text="Everything due is done; no shorter way was sought.")
    return fitted.answer.model_copy(
        update={"round": build_round(day, widest(day.problem, fitted.orders), not_due_entries(day), proof)}
    )


def _left_out(day: Day, orders: Orders, certain: Mapping[int, Certain]) -> list[LeftOut]:
    from routing.planning.remedies import certain_remedies, remedies  # noqa: PLC0415

    def importance(entry: tuple[LeftOut, tuple[int, ...]]) -> tuple[int, ...]:
        return tuple(-score for score in rank_score(day.problem, frozenset(entry[1])))

    entries: list[tuple[LeftOut, tuple[int, ...]]] = []
    squeezes = {}
    for tasks, reason in left_out_groups(day, orders, certain):
        if reason is not None:
            entry = certain_entry(day, tasks, reason)
            entries.append((entry.model_copy(update={"remedies": certain_remedies(day, tasks, reason)}), tasks))
        else:
            squeezes[tasks] = cheapest_squeeze(day, orders, tasks)
            entries.append((crowded_entry(day, squeezes[tasks]), tasks))
    entries.sort(key=importance)
    finished = []
    for number, (entry, tasks) in enumerate(entries):
        if tasks in squeezes and number < MOST_REMEDIED:
            finished.append(entry.model_copy(update={"remedies": remedies(day, orders, squeezes[tasks])}))
        else:
            finished.append(entry)
    return [*finished, *not_due_entries(day)]


def _proof(day: Day, candidates: frozenset[int], solution: Solution) -> Proof:
    if served(solution.orders) == candidates and solution.proven:
        return Proof(
            optimal=True, text="Proven: everything that can be done is done, and no order is back at base sooner."
        )
    if solution.proven:
        text = (
            "Proven: no round of this day does more of what matters most, and none that does as much takes less time."
        )
        return Proof(optimal=True, text=text)
    if not day.crews:
        return Proof(optimal=True, text="No crew works on this date, so nothing can be done.")
    if served(solution.orders) == candidates:
        return Proof(optimal=False, text="Everything that can be done is done. A shorter round may exist.")
    if len(day.crews) > 1:
        each = "each crew's own day is proven best" if solution.days_proven else "not every crew's day is proven best"
        return Proof(
            optimal=False,
            text=f"Not proven: another split between the crews might do more; for the split as it is, {each}.",
        )
    return Proof(
        optimal=False, text=f"Not proven: the search ended with its work budget used up. {_bound_words(day, solution)}"
    )


def _bound_words(day: Day, solution: Solution) -> str:
    reached = rank_score(day.problem, served(solution.orders))
    for rank, got, most in zip(Rank, reached, solution.rank_bounds, strict=True):
        if most > got:
            return f"In rank “{rank}” it reaches {got} of at most {most} points (7 a job and 1 a day overdue)."
    return f"Every rank is proven best; the time away cannot be under {duration(solution.away_bound)}."
