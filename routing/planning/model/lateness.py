"""How late an order is that cannot keep its day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from routing.planning.model.load import overload
from routing.planning.model.problem import Order, Problem, Route
from routing.planning.model.returns import soonest_returns
from routing.planning.model.timing import timeline
from routing.planning.model.tour_days import Tour, day_of, sums_of, tours_of


def _hurried(problem: Problem, route: int, order: Order) -> Tour | None:
    """Return what an order takes with the returns that bring it home soonest whatever is missed.

    Where its load is too much however often base is come back to, as if payload and space were larger by that.
    """
    returns: tuple[int, ...] = ()
    if problem.returns[route]:
        rules = problem.routes[route]
        grams, millilitres = overload(problem, route, order)
        larger = replace(
            rules,
            payload_grams=rules.payload_grams + ceil(grams),
            space_millilitres=rules.space_millilitres + ceil(millilitres),
        )
        returns = soonest_returns(problem, route, larger, order) or ()
    return next(tours_of(problem, route, order, (returns,)), None)


@dataclass(frozen=True)
class Lateness:
    """By how many seconds an order breaks its day when it is driven as early as it can be."""

    light: int
    hours: int
    home: int

    @property
    def total(self) -> int:
        """The sum, for choosing the least."""
        return self.light + self.hours + self.home


def lateness(problem: Problem, route: int, order: Order) -> Lateness | None:
    """Return how late an order would be at its windows and at home, zero where it fits; None where there is no way.

    Where the day, with all that is missed put off until then, is so long that a break is due, the break is in the gap
    that makes it least late.
    """
    if timeline(problem, route, order) is not None:
        return Lateness(0, 0, 0)
    rules = problem.routes[route]
    tour = _hurried(problem, route, order)
    if tour is None:
        return None
    light = [problem.visits[planned.visit].closed_by_light for planned in order]
    sums = sums_of(rules, tour)
    plain = _late(rules, tour, light, sums.finishes)
    closes = [max(close, finish) for close, finish in zip(sums.closes, sums.finishes, strict=True)]
    latest = min(rules.leaves_by, *(close - took for close, took in zip(closes, sums.took, strict=True)))
    away = day_of(None, sums.finishes[-1], sums.took[-1], latest).away
    if rules.break_seconds == 0 or away <= rules.break_after_seconds:
        return plain
    found = []
    for gap in range(len(tour.durations)):
        if gap and sums.took[gap - 1] > rules.break_after_seconds:
            break
        delays = [max(0, rules.break_seconds - waited + sums.waited[gap]) for waited in sums.waited[gap + 1 :]]
        finishes = [*sums.finishes[:gap], *map(sum, zip(sums.finishes[gap:], delays, strict=True))]
        found.append(_late(rules, tour, light, finishes))
    return min(found, key=lambda late: late.total)


def _late(rules: Route, tour: Tour, light: Sequence[bool], finishes: Sequence[int]) -> Lateness:
    """Return by how much these finishes of the stops, and coming home, are late."""
    late = [max(0, finish - close) for finish, close in zip(finishes, tour.closes, strict=False)]
    return Lateness(
        light=max((seconds for seconds, by_light in zip(late, light, strict=True) if by_light), default=0),
        hours=max((seconds for seconds, by_light in zip(late, light, strict=True) if not by_light), default=0),
        home=max(0, finishes[-1] - rules.home_by),
    )
