"""Each crew-day of the best orders solved exactly, with what the others leave out."""

from __future__ import annotations

from itertools import pairwise

from routing.planning import exact
from routing.planning.exact.day_answer import Stopped
from routing.planning.model.load import stock_left
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, served
from routing.planning.running.budget import Budget
from routing.planning.search.incumbent import Incumbent
from routing.planning.search.schedule import Schedule

MOST_DAY_TASKS = 26
"""A crew-day is polished with at most this many candidates: its own tasks and those left out that cost it least."""

WORK_A_DAY = 1 / 20
"""Share of the work that polishing one crew-day may take."""

MOST_PASSES = 4


class Polish:
    """The crew-days that were solved, and whether those of the best are proven."""

    def __init__(self, incumbent: Incumbent) -> None:
        self._incumbent = incumbent
        self.days_proven = False
        self._polished: dict[tuple[int, frozenset[int], Order], bool] = {}

    def run(self, work: float, schedule: Schedule) -> None:
        """Solve each crew-day exactly with what the others leave out, until none changes."""
        for _ in range(MOST_PASSES):
            before, proven = self._incumbent.orders, True
            for route in range(len(self._incumbent.orders)):
                if schedule.late():
                    self.days_proven = False
                    return
                proven = self._polish_day(route, work, schedule.deadline) and proven
            self.days_proven = proven
            if self._incumbent.orders == before:
                return
        self.days_proven = False

    def _polish_day(self, route: int, work: float, deadline: float | None) -> bool:
        problem, orders = self._incumbent.order_costs.problem, self._incumbent.orders
        others = served(tuple(order for number, order in enumerate(orders) if number != route))
        own = served((orders[route],))
        left = [task for task in sorted(self._incumbent.tasks - others - own) if problem.routes[route].allowed[task]]
        room = max(0, MOST_DAY_TASKS - len(own))
        near = sorted(left, key=lambda task: (_detour(self._incumbent.order_costs, route, orders[route], task), task))[
            :room
        ]
        candidates = frozenset(own | set(near))
        key = (route, candidates, orders[route])
        if key in self._polished:
            return self._polished[key]
        budget = Budget(work * WORK_A_DAY, deadline)
        try:
            stock = stock_left(problem, others)
            answer = exact.cp_sat.best_day(problem, route, candidates, stock, orders[route], budget)
        except Stopped as stopped:
            self._incumbent.take_day(route, stopped.answer.order)
            raise
        proven = answer.proven and len(near) == len(left)
        self._polished[key] = proven
        self._polished[route, candidates, answer.order] = proven
        self._incumbent.take_day(route, answer.order)
        return proven


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
