"""Which jobs are done in which hours when a person gives the order of the sites: the most that it holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from routing.planning.model.load import stock_holds
from routing.planning.model.order_costs import Cost, OrderCosts
from routing.planning.model.problem import Order, Planned, Problem, rank_score, served

MOST_NODES = 20_000
"""So many stops are tried in all before the best until then is taken."""

MOST_SUBSETS = 64
"""Of the sets of jobs that a stop might do, so many are tried, those that do the most first."""


@dataclass(frozen=True)
class Named:
    """A stop as it is named: the tasks that may be done there; a site that is named twice shares them."""

    tasks: frozenset[int]


def best_choice(order_costs: OrderCosts, route: int, stops: Sequence[Named], *, whole: bool = False) -> Order | None:
    """Return the order of these stops, each with a task or more, that serves most and then costs least.

    None where none keeps every rule. Every span of hours of every site is tried: a depth-first search that goes on only
    where the clock allows it and something better may still come. Where `whole`, each stop does all of its tasks.
    """
    return _Choice(order_costs, route, stops, whole=whole).best


class _Choice:
    def __init__(self, order_costs: OrderCosts, route: int, stops: Sequence[Named], *, whole: bool) -> None:
        self.order_costs, self.problem, self.route, self.stops = order_costs, order_costs.problem, route, stops
        self.best: Order | None = None
        self.score: tuple[int, ...] = ()
        self.cost: Cost | None = None
        self.nodes, self.whole = MOST_NODES, whole
        self._go_on((), self.problem.routes[route].earliest_leave, 0)

    def _go_on(self, order: Order, clock: int, here: int) -> None:
        done = served((order,))
        if len(order) == len(self.stops):
            self._weigh(order)
            return
        if self.best is not None and self._possible(order, done) < self.score:
            return
        drives = self.order_costs.drives[self.route]
        for planned in options(self.problem, self.route, self.stops[len(order)].tasks - done, whole=self.whole):
            if self.nodes <= 0:
                return
            self.nodes -= 1
            visit = self.problem.visits[planned.visit]
            drive = drives[here][visit.place]
            finish = max(clock + drive, visit.opens) + self.problem.on_site_seconds(self.route, planned)
            if drive >= 0 and finish <= visit.closes:
                self._go_on((*order, planned), finish, visit.place)

    def _possible(self, order: Order, done: frozenset[int]) -> tuple[int, ...]:
        """Return what the stops so far serve with all that those to come might."""
        rest = frozenset(task for stop in self.stops[len(order) :] for task in stop.tasks)
        return rank_score(self.problem, done | rest)

    def _weigh(self, order: Order) -> None:
        cost, score = self.order_costs.cost(self.route, order), rank_score(self.problem, served((order,)))
        if cost is None or not stock_holds(self.problem, served((order,))):
            return
        if self.cost is None or score > self.score or (score == self.score and cost < self.cost):
            self.best, self.score, self.cost = order, score, cost


def options(problem: Problem, route: int, tasks: frozenset[int], *, whole: bool = False) -> Iterator[Planned]:
    """Yield what a stop may do of these tasks and in which hours, the most first; where `whole`, all of them only."""
    day = problem.routes[route].day
    if whole:
        every = tuple(sorted(tasks))
        visits = [number for number in problem.visits_for(every) if problem.visits[number].day == day]
        yield from (Planned(n, every) for n in visits if not _covered(problem, n, every, visits))
        return
    visits = [number for number, visit in enumerate(problem.visits) if visit.day == day and tasks & set(visit.tasks)]
    sets = {frozenset(tasks & set(problem.visits[number].tasks)) for number in visits}
    subsets: dict[tuple[int, ...], None] = {}
    for size in range(max(map(len, sets), default=0), 0, -1):
        for some in sorted(sets, key=sorted):
            subsets |= dict.fromkeys(combinations(sorted(some), size))
        if len(subsets) > MOST_SUBSETS:
            break
    by_worth = sorted(subsets, key=lambda some: rank_score(problem, frozenset(some)), reverse=True)
    for chosen in by_worth[:MOST_SUBSETS]:
        for number in visits:
            if set(chosen) <= set(problem.visits[number].tasks) and not _covered(problem, number, chosen, visits):
                yield Planned(number, chosen)


def _covered(problem: Problem, number: int, tasks: tuple[int, ...], visits: Sequence[int]) -> bool:
    """Return whether another visit has all the hours of this one for these tasks."""
    own = problem.visits[number]
    for other in visits:
        wide = problem.visits[other]
        same = (wide.opens, wide.closes) == (own.opens, own.closes)
        if (
            other != number
            and wide.place == own.place
            and set(tasks) <= set(wide.tasks)
            and wide.opens <= own.opens
            and wide.closes >= own.closes
            and (not same or other < number)
        ):
            return True
    return False
