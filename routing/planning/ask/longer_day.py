"""How much longer a day must be for everything to be done in it."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace

from routing.plain_words import duration
from routing.planning.ask.fit_lines import too_short_line
from routing.planning.exact.subset_dp import Verdict, order_of_all
from routing.planning.exact.visit_options import Limits
from routing.planning.explain.day_bound import DayBound
from routing.planning.explain.gates import not_for_light
from routing.planning.model.instance import Instance
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, Problem

FIT_WORK = 20.0
"""Repeatable work units that the exact search of `fit` may use."""

STRETCH_LOOK = Limits(sets_a_size=30)
"""How widely every order of a longer day is looked at."""

MOST_STRETCHES = 4
"""A longer day is made shorter again so many times."""

MOST_SEARCHED_WHOLE = 14
"""Of so many possible visits, or fewer, every order of the longer day is looked at, however many turns it takes."""

MOST_WHOLE_STRETCHES = 40

LONGEST_STRETCH = 24 * 3600
"""Seconds by which a day may be thought longer."""


def day_for_all(problem: Problem, tasks: frozenset[int], bound: DayBound, limits: Limits, longer: int = 0) -> Verdict:
    """Return an order of the one route that does everything and breaks nothing, or whether there is none.

    Light and home-by end `longer` seconds later.
    """
    later = _stretched(problem, longer)
    rest = later.relaxation.routes[0].break_seconds > 0
    verdict = order_of_all(later.relaxation, 0, tasks, limits, rest=rest)
    if not verdict.order and verdict.proven and rest and not bound.rest:
        verdict = order_of_all(later.relaxation, 0, tasks, limits, rest=False)
    if verdict.order and OrderCosts(later).cost(0, verdict.order) is None:
        return Verdict((), proven=False, ends=verdict.ends)
    return verdict


@dataclass(frozen=True)
class MissingTime:
    """What is known of how much longer the day must be."""

    at_least: int
    """Seconds; proved."""
    lines: list[str]
    exact: bool = False
    """Whether it is no more than that either."""


def missing_time(instance: Instance, tasks: frozenset[int], bound: DayBound) -> MissingTime:
    """Tell how much longer the day must be: by an order for a far longer day, then for less than that one needs."""
    problem, at_least = instance.problem, max(0, bound.missing)
    few = sum(not tasks.isdisjoint(visit.tasks) for visit in problem.visits) <= MOST_SEARCHED_WHOLE
    look, turns = (Limits(), MOST_WHOLE_STRETCHES) if few else (STRETCH_LOOK, MOST_STRETCHES)
    tried = day_for_all(problem, tasks, bound, look, LONGEST_STRETCH)
    if not tried.order:
        return MissingTime(at_least, [not_for_light(instance, tasks, FIT_WORK)] if tried.proven else [])
    enough = LONGEST_STRETCH
    while tried.order and turns:
        enough = _stretch_of(problem, tried.order)
        tried = day_for_all(problem, tasks, bound, look, enough - 1)
        turns -= 1
    if enough <= at_least or (not tried.order and tried.proven):
        return MissingTime(enough, [too_short_line(enough)], exact=True)
    line = f"With {duration(enough)} more light (and later home) an order was found that does everything."
    return MissingTime(at_least, [line])


def _stretch_of(problem: Problem, order: Order) -> int:
    """Return the seconds by which light and home-by must be later for this order."""

    def fits(longer: int) -> bool:
        return OrderCosts(_stretched(problem, longer)).cost(0, order) is not None

    return bisect_left(range(LONGEST_STRETCH), 1, key=fits)


def _stretched(problem: Problem, seconds: int) -> Problem:
    """Return the problem in which light, and the time to be home, end so much later; gates shut as they did."""
    if not seconds:
        return problem  # with all that is remembered of it
    return replace(
        problem,
        visits=tuple(
            replace(visit, closes=visit.closes + seconds) if visit.closed_by_light else visit
            for visit in problem.visits
        ),
        routes=tuple(replace(route, home_by=route.home_by + seconds) for route in problem.routes),
    )
