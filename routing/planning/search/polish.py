"""Each crew-day of the best orders solved exactly, with what the others leave out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from routing.planning import exact
from routing.planning.exact.day_answer import DayAnswer, Stopped
from routing.planning.model.load import stock_left
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, Orders, Problem, served
from routing.planning.running.budget import Budget
from routing.planning.running.parts import Later, Parts
from routing.planning.search.incumbent import Incumbent
from routing.planning.search.schedule import Schedule

MOST_DAY_TASKS = 26
"""A crew-day is polished with at most this many candidates: its own tasks and those left out that cost it least."""

WORK_A_DAY = 1 / 20
"""Share of the work that polishing one crew-day may take."""

FAR_SHARE = 0.1
"""Of that, what one has of which not all candidates are looked at, so that nothing is proven whatever it comes to: five
rounds of 50 to 80 tasks come to the same orders with 0.05 as with 1, 78 jobs by two crews in 13 s for 20."""

MOST_PASSES = 4


@dataclass(frozen=True)
class CrewDay:
    """What is asked of one crew-day."""

    route: int
    tasks: frozenset[int]
    """Those that it may do."""
    stock: tuple[int, ...]
    """Shape (supplies,): what others leave."""
    order: Order
    """What it does now."""
    far: bool
    """Whether others leave out more that it may do, so that nothing is proven whatever it comes to."""

    @property
    def key(self) -> tuple[int, frozenset[int], Order]:
        """Return what it is remembered by."""
        return self.route, self.tasks, self.order


class Polish:
    """The crew-days that were solved, and for which orders all of them are proven."""

    def __init__(self, incumbent: Incumbent, parts: Parts | None = None) -> None:
        """Where `parts` are given, days are begun by others beside the one that is looked at, as they then are."""
        self._incumbent, self._parts = incumbent, parts
        self._proven: Orders | None = None
        self._polished: dict[tuple[int, frozenset[int], Order], bool] = {}

    @property
    def days_proven(self) -> bool:
        """Whether each crew-day of the best orders, as they are now, is proven."""
        return self._proven == self._incumbent.orders

    def run(self, work: float, schedule: Schedule) -> None:
        """Solve each crew-day exactly with what the others leave out, until none changes."""
        self._proven = None
        for _ in range(MOST_PASSES):
            before, proven = self._incumbent.orders, True
            begun = self._begun(work) if schedule.deadline is None else {}
            for route in range(len(self._incumbent.orders)):
                if schedule.late():
                    return
                proven = self._polish_day(route, Budget(work * WORK_A_DAY, schedule.deadline), begun) and proven
            if self._incumbent.orders == before:
                self._proven = before if proven else None
                return

    def _asked(self, route: int) -> CrewDay:
        """Return what is asked of a crew-day."""
        order_costs, orders = self._incumbent.order_costs, self._incumbent.orders
        problem = order_costs.problem
        others = served(tuple(order for number, order in enumerate(orders) if number != route))
        own = served((orders[route],))
        left = [task for task in sorted(self._incumbent.tasks - others - own) if problem.routes[route].allowed[task]]
        room = max(0, MOST_DAY_TASKS - len(own))
        near = sorted(left, key=lambda task: (_detour(order_costs, route, orders[route], task), task))[:room]
        stock = tuple(stock_left(problem, others))
        return CrewDay(route, frozenset(own | set(near)), stock, orders[route], len(left) > len(near))

    def _begun(self, work: float) -> dict[CrewDay, Later[DayAnswer]]:
        """Have others begin every crew-day but the first, as the orders are now; what then changes is asked anew."""
        if self._parts is None or not self._parts.beside:
            return {}
        asked = [self._asked(route) for route in range(1, len(self._incumbent.orders))]
        problem = replace(self._incumbent.order_costs.problem)  # without what is remembered of it
        budget = Budget(work * WORK_A_DAY)
        return {
            day: self._parts.begin(_best_day, (problem, day, budget)) for day in asked if day.key not in self._polished
        }

    def _polish_day(self, route: int, budget: Budget, begun: Mapping[CrewDay, Later[DayAnswer]]) -> bool:
        day = self._asked(route)
        if day.key in self._polished:
            return self._polished[day.key]
        answer = begun[day].answer() if day in begun else None
        if answer is None:
            try:
                answer = _best_day((self._incumbent.order_costs.problem, day, budget))
            except Stopped as stopped:
                self._incumbent.take_day(route, stopped.answer.order)
                raise
        proven = answer.proven and not day.far
        self._polished[day.key] = proven
        self._polished[route, day.tasks, answer.order] = proven
        self._incumbent.take_day(route, answer.order)
        return proven


def _best_day(asked: tuple[Problem, CrewDay, Budget]) -> DayAnswer:
    problem, day, budget = asked
    budget = replace(budget, work=budget.work * (FAR_SHARE if day.far else 1.0))
    return exact.cp_sat.best_day(problem, day.route, day.tasks, day.stock, day.order, budget)


def _detour(order_costs: OrderCosts, route: int, order: Order, task: int) -> int:
    """Return the least extra driving seconds of a task in an order, whatever the clock says."""
    problem, drive = order_costs.problem, order_costs.drives[route]
    stops = [0, *(problem.visits[planned.visit].place for planned in order), 0]
    visits = order_costs.visits_with(problem.routes[route].day, (task,))
    ways = [
        drive[here][there] + drive[there][then] - drive[here][then]
        for there in {problem.visits[visit].place for visit in visits}
        for here, then in pairwise(stops)
        if drive[here][there] >= 0 and drive[there][then] >= 0
    ]
    return min(ways, default=10**9)
