"""The incumbent, which is the best orders so far of several crew-days, and the pool of all routes found for them."""

from __future__ import annotations

from collections.abc import Iterable

from routing.planning import search
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, Orders, Problem, rank_score, served
from routing.planning.model.route_pool import RoutePool
from routing.planning.search.insertion import fill
from routing.planning.search.repair import repaired
from routing.planning.search.settings import Progress

MOST_THINNED = 2000
"""Columns up to which the pool grows by known orders less one task."""

LEAST_TOLD = 2
TOLD_COLUMNS_A_SECOND = 600
"""What HiGHS mostly comes to an end with: 300 to 700 routes of 16 crew-days, 700 to 1,000 of 40."""


def measure(order_costs: OrderCosts, orders: Orders) -> tuple[int, ...]:
    """Return what is compared, larger is better: weight by rank, then time away, then metres."""
    costs = [order_costs.cost(route, order) for route, order in enumerate(orders)]
    return (
        *rank_score(order_costs.problem, served(orders)),
        -sum(cost.main for cost in costs if cost),
        -sum(cost.tie for cost in costs if cost),
    )


class Incumbent:
    """The best orders so far, and what is made of all that was found."""

    def __init__(self, problem: Problem, tasks: frozenset[int], progress: Progress | None) -> None:
        self.order_costs, self.tasks, self.progress = OrderCosts(problem), tasks, progress
        self.pool = RoutePool(self.order_costs)
        self.orders: Orders = tuple(() for _ in problem.routes)
        self._shown: tuple[int, ...] | None = None
        """The measure of the best that progress was told of."""
        self._recombined: tuple[int, Orders] | None = None
        """How the pool and the orders stood when it was last recombined without a clock."""

    @property
    def serves_all(self) -> bool:
        """Whether no task is left out."""
        return served(self.orders) == self.tasks

    def offer(self, orders: Orders) -> bool:
        """Mend and fill the orders, pool their routes, keep them if they are the best; return whether they are."""
        orders = fill(self.order_costs, repaired(self.order_costs, orders), self.tasks)
        self.pool.add_all(orders)
        if measure(self.order_costs, orders) <= measure(self.order_costs, self.orders):
            return False
        self.orders = orders
        self.show(orders)
        return True

    def show(self, orders: Orders) -> None:
        """Tell whoever listens of the orders, if they are better than all that was told of before."""
        if self.progress is None:
            return
        reached = measure(self.order_costs, orders)
        if self._shown is None or reached > self._shown:
            self._shown = reached
            self.progress(orders)

    def take_day(self, route: int, order: Order) -> None:
        """Pool the order of one crew-day, and keep it if the orders are better with it in their place."""
        self.pool.add(route, order)
        if self.order_costs.cost(route, order) is None:
            return  # the model may count a break where it costs less time away, though home is later
        changed = (*self.orders[:route], order, *self.orders[route + 1 :])
        if measure(self.order_costs, changed) > measure(self.order_costs, self.orders):
            self.orders = changed
            self.show(changed)

    def recombine_thinned(self, seconds: float | None) -> bool:
        """Offer the best choice of the pool with its routes less one task; return whether that is better.

        Without a clock it is not sought again while nothing is new.
        """
        self.pool.thin(MOST_THINNED)
        standing = (self.pool.changes, self.orders)
        if seconds is None and standing == self._recombined:
            return False
        better = self.recombine(seconds)
        self._recombined = None if better else standing
        return better

    def recombine_told(self, told: Iterable[tuple[float, Orders]], seconds: float) -> bool:
        """Recombine what runs by the clock have told of and when, the last first: few routes, but of good company.

        Return whether that found better orders.
        """
        pool = RoutePool(self.order_costs)
        pool.add_all(self.orders)
        for number, (_, orders) in enumerate(sorted(told, key=lambda each: each[0], reverse=True)):
            if number >= LEAST_TOLD and len(pool) >= TOLD_COLUMNS_A_SECOND * seconds:
                break
            pool.add_all(orders)
        return self.recombine(seconds, pool, whole=True)

    def recombine(self, seconds: float | None, pool: RoutePool | None = None, *, whole: bool = False) -> bool:
        """Offer the best choice of the pool's routes, sought to the end of its time where `whole`; return if better."""
        covering = search.set_covering
        nodes = covering.MOST_TIMED_NODES if whole else covering.MOST_NODES
        together = covering.recombine(
            self.order_costs, self.pool if pool is None else pool, self.tasks, seconds, nodes, self.orders
        )
        return together is not None and self.offer(together)
