"""The fewest minutes by which a day must begin sooner, end later, or have light for longer."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import ceil

from routing.plain_words import duration
from routing.planning import exact
from routing.planning.explain.case import Case
from routing.planning.explain.trial import Answer, tried
from routing.planning.explain.violation import Give, given
from routing.planning.model.build_instance import build_instance
from routing.planning.model.load import stock_left
from routing.planning.model.problem import Order, Problem
from routing.planning.running.budget import Budget
from routing.round import Remedy, RemedyKind

LONGEST_STRETCH_MINUTES = 240
"""A remedy that stretches the day by more is no remedy."""

SMALL_STRETCH_MINUTES = 60
"""A day may be stretched by so much before anything else is thought of; by more only where little else would do."""

STRETCH, STRETCH_WITH_RETURNS = Budget(work=2), Budget(work=0.5)
"""Where a day may come back to base each question takes longer, and there are many."""


STRETCHES = {
    "start": (RemedyKind.EARLIER_START, "earlier start", "earlier"),
    "home": (RemedyKind.LATER_HOME, "later home", "home"),
    "light": (RemedyKind.MORE_LIGHT, "more light", "light"),
}
"""How a day may be stretched, by the values of `Relax`: by beginning sooner, by ending later, by light for longer."""


@dataclass(frozen=True)
class Stretch:
    """The fewest minutes by which a day must be stretched in one way, sought when they are asked for."""

    case: Case
    relax: str
    """One of `STRETCHES`."""

    @property
    def is_small(self) -> bool:
        """Whether there is such a remedy, of up to an hour; sums may say no without a search."""
        most = SMALL_STRETCH_MINUTES * 60
        return self.case.seconds_missing <= most and any(remedy.amount <= most for remedy in self.remedies)

    @cached_property
    def remedies(self) -> tuple[Remedy, ...]:
        """The remedy, if there is one."""
        case, (kind, text, what) = self.case, STRETCHES[self.relax]
        if self.relax == "start" and case.instance.farm.underway:
            return ()
        if self.relax == "home" and _home_by_dusk(case):
            return ()
        if case.seconds_missing > LONGEST_STRETCH_MINUTES * 60:
            return ()
        found = _fewest_minutes(case, self.relax, what)
        if found is None:
            return ()
        minutes, least, answer = found
        hedge = "" if least and case.alone else "at most "
        told = case.with_loss(f"{hedge}{duration(60 * minutes)} {text}", answer)
        return (Remedy(kind=kind, amount=60 * minutes, text=told),)


def _fewest_minutes(case: Case, relax: str, what: str) -> tuple[int, bool, Answer] | None:
    """Return the fewest minutes found, whether fewer are proved too few, and an order; None where none are enough.

    The exact search says how few could do; whatever is told is timed and loaded like any plan.
    """
    problem, trial = case.problem, case.trial

    def at(minutes: int, start: Order, *, exact: bool = False) -> Answer:
        return tried(given(problem, Give(**{what: 60 * minutes})), trial, start, case.order, exact=exact, prove=exact)

    budget = STRETCH_WITH_RETURNS if problem.returns[0] else STRETCH
    relaxed = frozenset({exact.circuit_model.Relax(relax)})
    stretch = exact.stretch.least_extension(problem, 0, trial.needed, stock_left(problem, ()), relaxed, budget)
    if stretch.seconds is None and stretch.least and not trial.others:
        return None
    first = LONGEST_STRETCH_MINUTES if stretch.seconds is None else max(1, ceil(stretch.seconds / 60))
    if first > LONGEST_STRETCH_MINUTES:
        return None
    answer = at(first, stretch.order)
    if answer.order and stretch.seconds is not None and stretch.least:
        if not trial.others or first == 1:
            return first, True, answer
        less = at(first - 1, answer.order, exact=case.alone)  # others may lie on a way that is quicker
        if less.refused or not (case.alone or less.order):
            return first, case.alone, answer
        first, answer = (first - 1, less) if less.order else (first, answer)
    low, high = (0, first) if answer.order else (first, LONGEST_STRETCH_MINUTES)
    found = answer if answer.order else at(high, stretch.order)
    if not found.order:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        answer = at(middle, found.order)
        low, high, found = (low, middle, answer) if answer.order else (middle, high, found)
    return high, case.alone and high > 1 and at(high - 1, found.order, exact=True).refused, found


def _home_by_dusk(case: Case) -> bool:
    """Return whether it is dusk and not a clock that says when the crew must be home: then no later hour helps."""
    crew, date = case.instance.crews[case.route], case.instance.route_dates[case.route]
    if not crew.home_before_dark:
        return False
    free = crew.model_copy(update={"home_before_dark": False})
    farm = case.instance.farm.model_copy(update={"crews": (free,), "jobs": ()})
    there = build_instance(farm, case.instance.legs, (date,))
    return bool(there.crews) and _length(there.problem) > _length(case.problem)


def _length(problem: Problem) -> int:
    return problem.routes[0].home_by - problem.routes[0].earliest_leave
