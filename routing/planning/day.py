"""One date or several planned from end to end: candidates, orders, what is left out and how good it all is."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from routing.farm.models import Rank
from routing.planning.build import Days, on_time
from routing.planning.clash import clash_words
from routing.planning.engines.insertion import Rounds, fill
from routing.planning.fit import Fitted, fit
from routing.planning.left_out import not_due_entries
from routing.planning.outcome import left_out_entries
from routing.planning.problem import Orders, Problem, rank_score, served, widest
from routing.planning.reasons import Certain, certain_reasons
from routing.planning.rounds import build_round
from routing.planning.solve import Solution, solve
from routing.planning.timing import timeline
from routing.round import FitAnswer, LeftOut, Proof, Round
from routing.words import duration

REMEDY_SHARE = 0.1
"""Of a given time, what is kept for reasons and remedies."""


@dataclass(frozen=True)
class SoFar:
    """The best orders until now, for whoever waits for them."""

    jobs: int
    of: int
    """All jobs that are due."""
    away_seconds: int
    """Over all crews and days."""


@dataclass(frozen=True)
class Wish:
    """How long the search may take by the clock, and who hears of every better set of orders."""

    seconds: float | None = None
    """Where given, the search ends then, earlier only where the best is proven, and depends on the machine."""
    progress: Callable[[SoFar], None] | None = None


@dataclass(frozen=True)
class _Watch:
    """A wish under way."""

    problem: Problem
    wish: Wish
    begun: float

    def end(self, share: float) -> float | None:
        """Return the instant at which that share of the time is over, None where there is no end."""
        return None if self.wish.seconds is None else self.begun + share * self.wish.seconds

    def left(self, share: float) -> float | None:
        """Return the seconds until then, never quite none."""
        end = self.end(share)
        return None if end is None else max(LEAST_SECONDS, end - time.monotonic())

    def hear(self, orders: Orders) -> None:
        """Tell of better orders."""
        if self.wish.progress is not None:
            self.wish.progress(SoFar(len(served(orders)), len(self.problem.tasks), _away(self.problem, orders)))


LEAST_SECONDS = 0.5
"""A search gets at least this, however late it is."""


def plan_days(days: Days, work: float = 60, wish: Wish | None = None) -> Round:
    """Return the best round found for the dates; `work` is the repeatable search budget for a crew's day.

    Ctrl-C keeps the best until then, and raises KeyboardInterrupt where there is none.
    """
    watch = _Watch(days.problem, wish or Wish(), time.monotonic())
    certain = certain_reasons(days)
    candidates = frozenset(range(len(days.problem.tasks))) - certain.keys()
    solution = _solve(days, candidates, work, watch)
    proof = _proof(days, candidates, solution)
    entries, clash, stopped = _told(days, candidates, solution, certain, watch)
    if stopped and not proof.stopped:
        text = f"{proof.text} The search for what would save left-out visits was stopped."
        proof = proof.model_copy(update={"stopped": True, "text": text})
    return build_round(days, solution.orders, entries, proof).model_copy(update={"clash": clash})


def _told(
    days: Days, candidates: frozenset[int], solution: Solution, certain: dict[int, Certain], watch: _Watch
) -> tuple[list[LeftOut], str, bool]:
    """Return what is left out, a clash of musts in words, and whether Ctrl-C cut the search for remedies short."""
    musts = frozenset(task for task in candidates if days.problem.tasks[task].rank == 0)
    if not solution.interrupted:
        try:
            entries = left_out_entries(days, solution.orders, certain, deadline=watch.end(1))
            return entries, "" if musts <= served(solution.orders) else clash_words(days, musts), False
        except KeyboardInterrupt:
            pass  # the round stands; only what would help is not known
    return left_out_entries(days, solution.orders, certain, remedied=0), "", True


def _solve(days: Days, candidates: frozenset[int], work: float, watch: _Watch) -> Solution:
    """Return the best orders in which nothing is late, or, only where that serves more, the best of all.

    Of what is left out when nothing may be late, all that still fits on a later day is done late.
    """
    punctual = on_time(days)
    alike = punctual.visits == days.problem.visits
    whole, half = 1 - REMEDY_SHARE, (1 - REMEDY_SHARE) / 2
    first, rest = watch.left(whole if alike else half), None if alike else watch.left(whole)
    solution = solve(punctual, candidates, work, seconds=first, longer=rest, progress=watch.hear)
    if served(solution.orders) == candidates or alike:
        return solution
    filled = fill(Rounds(days.problem), solution.orders, candidates)
    unbounded = Solution(
        widest(days.problem, filled),
        proven=False,
        days_proven=False,
        rank_bounds=rank_score(days.problem, candidates),
        away_bound=0,
        interrupted=True,
    )
    if solution.interrupted:
        return unbounded
    try:
        late = solve(days.problem, candidates, work, seconds=watch.left(whole), progress=watch.hear)
    except KeyboardInterrupt:
        return unbounded
    if rank_score(days.problem, served(late.orders)) > rank_score(days.problem, served(filled)):
        return late
    return replace(
        solution,
        orders=widest(days.problem, filled),
        proven=False,
        rank_bounds=late.rank_bounds,
        away_bound=solution.away_bound if served(filled) == served(solution.orders) else 0,
        interrupted=late.interrupted,
    )


def fit_day(days: Days) -> FitAnswer:
    """Return whether everything due can be done on the date, with the round where it can."""
    fitted: Fitted = fit(days)
    if not fitted.answer.fits:
        return fitted.answer
    proof = Proof(optimal=False, text="Everything due is done; no shorter way was sought.")
    return fitted.answer.model_copy(
        update={"round": build_round(days, widest(days.problem, fitted.orders), not_due_entries(days), proof)}
    )


def _away(problem: Problem, orders: Orders) -> int:
    """Return the seconds away of all crew-days together."""
    timelines = [timeline(problem, route, order) for route, order in enumerate(orders) if order]
    return sum(times.away for times in timelines if times is not None)


def _proof(days: Days, candidates: frozenset[int], solution: Solution) -> Proof:
    done = served(solution.orders)
    if solution.interrupted:
        words = f"{_served_words(days, done, candidates, solution)} {_time_words(days, solution)}"
        text = f"The search was stopped before its end: this is the best round found until then. {words}"
        return Proof(optimal=False, text=text, stopped=True)
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
    away = _away(days.problem, solution.orders)
    if solution.away_bound <= 0 or away <= 0:
        return "A shorter round of the same jobs may exist."
    share = math.ceil(1000 * max(0, away - solution.away_bound) / away) / 10
    least = duration(solution.away_bound)
    return f"No round of the same jobs is away for less than {least}: this one is within {share:g} %."
