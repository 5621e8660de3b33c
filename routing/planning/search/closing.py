"""Small rounds closed: all routes that the gap between bound and incumbent leaves, and the best choice among them.

Goal after goal (each rank, then the cost) the prices of column generation leave few routes of each crew-day that may be
part of an answer as good as is asked for; these are enumerated, and no orders pass the best choice among them. Where
the programme serves all in parts of routes, the fewest crew-days that do as much show what cannot be. The choice is
timed and loaded by us, and is proved best only where it comes to what its routes promised.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from routing.planning.bounds.pricing import pricers
from routing.planning.bounds.pricing_work import PricingWork
from routing.planning.bounds.restricted_master import WalkChoice
from routing.planning.bounds.rows import Goal
from routing.planning.bounds.walk_days import days_of
from routing.planning.exact.columns import Columns, together
from routing.planning.exact.every_route import MOST_LABELS, Cut, RouteEnumerator
from routing.planning.exact.set_packing import SetPacking
from routing.planning.labelling.columns import Whole
from routing.planning.labelling.label_room import LabelRoom
from routing.planning.model.problem import LIMITLESS, RANKS, Order, Problem, rank_score, served
from routing.planning.running.budget import Budget
from routing.planning.search.incumbent import Incumbent
from routing.planning.search.settings import MOST_CLOSED

MOST_ROUTES = 6

MOST_NODES = 120
"""Of a crew-day: tasks, and for each the visits in which it may be done."""

MOST_COLUMNS = 200_000
"""Routes of one crew-day."""

MOST_ROUNDS = 300
"""Of pricing, for each programme."""

FEW = 0.5
"""Of crew-days that the programme leaves to spare: where it is more, they show little."""

FEW_SHARE = 0.25
"""Of the pricing that is left, what the fewest crew-days may take: where many jobs lie at one site, and a walk costs
nothing more by a job more, that is slow."""

LISTED_SHARE = 2.0
"""As much of the work again as pricing may do, what enumerating routes may: 36 jobs took 14 s of it in one rank."""

SLACK = 1e-6
"""Share of the largest numbers in play that may be their rounding."""

PACKING_WORK = 10.0


@dataclass(frozen=True)
class Closed:
    """What no orders pass."""

    rank_bounds: tuple[int, ...]
    """Shape (RANKS,): no orders serve more weight in the first rank whose bound exceeds what was served."""
    cost_bound: int
    """No orders that serve as much of every rank cost less; 0 where nothing is known."""
    proven: bool
    """Whether the incumbent is the best by every rank and the cost."""


def of(incumbent: Incumbent, budget: Budget) -> Closing | None:
    """Return a round that may be closed, None where it may not."""
    problem, tasks = incumbent.order_costs.problem, incumbent.tasks
    return Closing(incumbent, budget) if may_be_closed(problem, tasks) else None


def may_be_closed(problem: Problem, tasks: frozenset[int]) -> bool:
    """Return whether a round is small enough, and its routes are modelled as they are timed and loaded."""
    carried = any(problem.tasks[task].carried for task in tasks)
    return (
        1 < len(problem.routes) <= MOST_ROUTES
        and len(tasks) <= MOST_CLOSED
        and not any(problem.returns)
        and not (carried and any(problem.heavy))
        and all(route.leaves_by == LIMITLESS for route in problem.routes)
    )


class Closing:
    """One round, goal after goal."""

    def __init__(self, incumbent: Incumbent, budget: Budget) -> None:
        self._incumbent, self._budget = incumbent, budget
        self._work = self._listing = PricingWork.of(budget)
        """What pricing may do, and what enumeration may."""
        self._problem: Problem = incumbent.order_costs.problem
        self._tasks = incumbent.tasks
        self._days = days_of(self._problem, self._tasks)
        self._totals = rank_score(self._problem, self._tasks)
        self._room = LabelRoom(MOST_LABELS)
        self._bounds: list[int] = []
        """By rank that is met."""
        self._cuts: list[Cut] = []
        """By the goals that are met."""
        self._enumerators = [RouteEnumerator(self._problem, n, self._tasks) for n in range(len(self._problem.routes))]
        self._kinds: dict[int, list[int]] = {}
        """By its first crew-day, those that have the same routes."""
        first: dict[object, int] = {}
        for route, enumerator in enumerate(self._enumerators):
            self._kinds.setdefault(first.setdefault(enumerator.kind, route), []).append(route)

    def run(self, share: float = 1.0) -> Closed:
        """Make the incumbent the best, goal after goal for as long as each is proven.

        Where no clock ends it, a `share` of the work is done. Run again, it goes on behind the ranks that were met.
        """
        self._work = PricingWork.of(self._budget).part(share)
        self._listing = PricingWork.of(self._budget).part(share * LISTED_SHARE)
        if not all(each.able and len(each.day.tasks) <= MOST_NODES for each in self._enumerators):
            return Closed(self._totals, 0, proven=False)
        while (rank := len(self._bounds)) < RANKS:
            most, proven = self._most(rank)
            if not proven:
                return Closed((*self._bounds, most, *self._totals[rank + 1 :]), 0, proven=False)
            self._bounds.append(most)
        cost, proven = (0, False) if self._work.over else self._least()
        return Closed(tuple(self._bounds), cost, proven)

    @property
    def _reached(self) -> tuple[int, ...]:
        return rank_score(self._problem, served(self._incumbent.orders))

    def _cost(self) -> int:
        orders = enumerate(self._incumbent.orders)
        return sum(cost.main for route, order in orders if (cost := self._incumbent.order_costs.cost(route, order)))

    def _priced(self, goal: Goal, *, more: bool, work: PricingWork | None = None) -> tuple[float, WalkChoice]:
        """Return what nothing is better than for a goal, and the programme that says so."""
        priced = pricers(self._days, more=more, work=work or self._work)
        orders, pool = self._incumbent.orders, self._incumbent.pool
        choice = WalkChoice(self._problem, self._tasks, priced, orders, goal, pool)
        return choice.run(MOST_ROUNDS, self._budget.half()), choice

    def _cut(self, choice: WalkChoice, bound: float, target: float) -> Cut:
        """Return what a route must come to that is part of orders whose goal is `target` or less."""
        values = {} if choice.prices is None else dict(choice.values(choice.prices))
        slack = SLACK * max(1.0, abs(bound), *(abs(value) for value in values.values()))
        floors = [-math.inf] * len(self._problem.routes)
        for group, top in zip(choice.priced, choice.tops, strict=False):
            for route in group.day.routes:
                floors[route] = top - (target - bound) - slack
        for first, same in self._kinds.items():
            floors[first] = min(floors[route] for route in same)  # the first stands for all
        return Cut(values, choice.weight, floors)

    def _sums(self, rank: int) -> list[int]:
        """Return what may be served of a rank, rising: it comes in whole tasks."""
        sums = {0}
        for task in self._tasks:
            facts = self._problem.tasks[task]
            if facts.rank == rank:
                sums |= {one + facts.weight for one in sums}
        return sorted(sums)

    def _most(self, rank: int) -> tuple[int, bool]:
        """Serve the most of a rank; return what no orders pass, and whether the incumbent comes to it."""
        reached, sums = self._reached, self._sums(rank)
        goal, most = Goal(rank, reached), self._totals[rank]
        if not most or self._work.over:
            return most, not most
        bound, choice = self._priced(goal, more=False)
        if max(one for one in sums if one <= -bound + SLACK) > reached[rank]:
            nearer, other = self._priced(goal, more=True)
            bound, choice = (nearer, other) if nearer > bound else (bound, choice)
        if choice.prices is None:
            return most, False
        most, step = max(one for one in sums if one <= -bound + SLACK), 1
        while most > self._reached[rank]:
            wanted = [one for one in sums if reached[rank] < one <= most]
            target = wanted[-min(step, len(wanted))]
            found = self._met(rank, (*reached[:rank], target), self._cut(choice, bound, -target))
            if found is None:
                return most, False
            most = self._reached[rank] if found else max([reached[rank], *(one for one in sums if one < target)])
            step *= 2
        self._cuts.append(self._cut(choice, bound, -most))
        return most, True

    def _met(self, rank: int, floors: tuple[int, ...], cut: Cut) -> bool | None:
        """Take the orders that serve most of a rank; return if any serve as much as `floors`, None where not known."""
        few = self._few(floors)
        if few is None:
            return False
        packing = self._packing([*self._cuts, cut, *few], floors, least_cost=False)
        if packing is None:
            return None
        packing.thin(np.ones(len(packing.columns)), len(self._problem.routes))
        found = packing.best(packing.weights(rank), Budget(PACKING_WORK))
        if found.columns is None:
            return False if found.ended else None
        self._take(found.columns)
        promised = sum(
            self._problem.tasks[task].weight
            for task, done in zip(sorted(self._tasks), found.columns.does.any(axis=0).tolist(), strict=True)
            if done and self._problem.tasks[task].rank == rank
        )
        return True if found.ended and self._reached[rank] == promised else None

    def _few(self, floors: tuple[int, ...]) -> list[Cut] | None:
        """Return cuts by the fewest crew-days that serve as much, if they show anything; None where all are too few."""
        crews, cuts, work = len(self._problem.routes), list[Cut](), self._work.part(FEW_SHARE)
        for more in (False, True):
            if work.over:
                break
            bound, choice = self._priced(Goal(len(floors), floors, crew_days=True), more=more, work=work)
            if bound > crews + SLACK:
                return None
            if bound < crews - FEW:
                break
            cuts = [self._cut(choice, bound, crews)]
        return cuts

    def _least(self) -> tuple[int, bool]:
        """Cost the least for what is served; return what no orders of the same ranks go under, and whether met."""
        reached, cost = self._reached, self._cost()
        bound, choice = self._priced(Goal(RANKS, reached), more=True)
        if math.ceil(bound - SLACK) >= cost:
            return cost, True
        if choice.prices is None:
            return 0, False
        least = math.ceil(bound - SLACK)
        few = self._few(reached) or []
        packing = self._packing([*self._cuts, *few, self._cut(choice, bound, cost)], reached, least_cost=True)
        if packing is None:
            return least, False
        if few:
            packing.thin(np.ones(len(packing.columns)), len(self._problem.routes))
        packing.thin(self._main(packing.columns).astype(np.float64), cost)
        chosen = packing.best(-self._main(packing.columns), Budget(PACKING_WORK))
        if chosen.columns is None:
            return least, False  # the incumbent is not among the routes, so that nothing is shown
        promised = int(self._main(chosen.columns).sum())
        self._take(chosen.columns)
        return (promised, promised == self._cost()) if chosen.ended else (least, False)

    def _main(self, columns: Columns) -> Whole:
        return columns.cost(metres_first=self._problem.distance_first)

    def _packing(self, cuts: Sequence[Cut], floors: tuple[int, ...], *, least_cost: bool) -> SetPacking | None:
        """Return all routes that meet the cuts, None where there are too many or the work is done."""
        parts: list[Columns] = []
        for route in self._kinds:
            enumerator, work = self._enumerators[route], self._listing
            some = None if work.over else enumerator.every(cuts, MOST_COLUMNS, self._room, work, least_cost=least_cost)
            if some is None:
                return None
            parts.append(some)
        many = {route: len(same) for route, same in self._kinds.items()}
        return SetPacking(self._problem, sorted(self._tasks), together(parts), many, floors)

    def _take(self, columns: Columns) -> None:
        """Make the chosen routes the incumbent, where they are possible as we time and load them, and better."""
        free = {first: list(routes) for first, routes in self._kinds.items()}
        orders: list[Order] = [()] * len(self._problem.routes)
        for first, nodes in zip(columns.routes.tolist(), columns.nodes.tolist(), strict=True):
            route = free[first].pop(0)
            orders[route] = self._enumerators[route].order(nodes)
        self._incumbent.offer(tuple(orders))
