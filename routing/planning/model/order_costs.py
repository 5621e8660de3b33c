"""What orders cost, remembered: the measure that every search and bound shares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise

from routing.planning.model.load import carries
from routing.planning.model.problem import Order, Problem, Rows
from routing.planning.model.timing import least_away


@dataclass(frozen=True, order=True)
class Cost:
    """What an order costs; smaller is better: seconds away, then metres, or the other way round if the problem says."""

    main: int
    tie: int


NOTHING = Cost(0, 0)

MOST_REMEMBERED = 200_000
"""Orders whose cost is remembered, and as many whose slack is."""


class OrderCosts:
    """Feasibility and cost of single orders of one problem, remembered."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.cost = lru_cache(maxsize=MOST_REMEMBERED)(self._cost)
        self.slack = lru_cache(maxsize=MOST_REMEMBERED)(self._slack)

    @cached_property
    def drives(self) -> tuple[Rows, ...]:
        """Return by route the least seconds from place to place, by way of base where it may load there again."""
        return tuple(seconds for seconds, _ in self.problem.relaxation.legs)

    def visits_with(self, day: int, tasks: Sequence[int]) -> list[int]:
        """Return the visits of a day in which all these tasks may be done."""
        visits = self.problem.visits
        return [number for number in self.problem.visits_for(tasks) if visits[number].day == day]

    def _slack(self, route: int, order: Order) -> tuple[list[int], list[int]]:
        """Return by position the earliest finish of the stop before it and the latest start of the stop at it.

        Shape (stops + 1,) each, the break left out: what does not fit between these two fits in no case.
        """
        problem, rules, drive = self.problem, self.problem.routes[route], self.drives[route]
        ready, due = [rules.earliest_leave], [rules.home_by]
        here = 0
        for planned in order:
            visit = problem.visits[planned.visit]
            start = max(ready[-1] + drive[here][visit.place], visit.opens)
            ready.append(start + problem.on_site_seconds(route, planned))
            here = visit.place
        there = 0
        for planned in reversed(order):
            visit = problem.visits[planned.visit]
            finish = min(due[-1] - drive[visit.place][there], visit.closes)
            due.append(finish - problem.on_site_seconds(route, planned))
            there = visit.place
        return ready, due[::-1]

    def _cost(self, route: int, order: Order) -> Cost | None:
        """Return what one route's order costs, or None where it breaks a rule."""
        if not order:
            return NOTHING
        problem = self.problem
        rules = problem.routes[route]
        lasts = [problem.visits[planned.visit].last_of_day for planned in order]
        if (
            not all(rules.allowed[task] for planned in order for task in planned.tasks)
            or any(problem.visits[planned.visit].day != rules.day for planned in order)
            or any(before and not after for before, after in pairwise(lasts))
        ):
            return None
        least = least_away(problem, route, order)
        if least is None or (
            problem.heavy[route] and not problem.returns[route] and not carries(problem, route, order)
        ):
            return None  # where base may be come back to, the times have seen to the loads
        away, metres = least
        return Cost(metres, away) if problem.distance_first else Cost(away, metres)
