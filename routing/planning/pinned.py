"""A plan around stops that a person pinned: to a crew's day, or to their place in its order too."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from routing.errors import AskedError
from routing.plain_words import count, date_words
from routing.planning.ask.given_days import NOT_ASKED
from routing.planning.ask.own_choice import Named, best_choice
from routing.planning.explain.outcome import left_out_entries
from routing.planning.explain.reasons import certain_reasons
from routing.planning.itineraries import build_round
from routing.planning.model.instance import Instance
from routing.planning.model.order_costs import NOTHING, Cost, OrderCosts
from routing.planning.model.problem import Order, Orders, Problem, Task, rank_score, served, widest
from routing.planning.plan import Watch, Wish, best_orders
from routing.planning.search.insertion import construct, fill
from routing.round import Proof, Round

WORK = 60.0
"""Repeatable units, as for any plan."""


@dataclass(frozen=True)
class Pinned:
    """Jobs that one crew is to do on one day, in one stop where it is pinned to its place."""

    crew: str
    date: dt.date
    jobs: tuple[str, ...]
    placed: bool = False
    """Whether it stays in its order with the other stops that are so pinned, too."""
    first: bool = False
    """Of a placed one: whether nothing comes before it."""
    last: bool = False


def plan_pinned(instance: Instance, pins: Sequence[Pinned], wish: Wish | None = None) -> Round:
    """Return a good round in which every pinned stop is where it is pinned; `pins` are in the order of their days.

    Around stops that are pinned to a crew's day the search is that of any plan; around those pinned to their place too
    it is by insertion and exchange. Raises AskedError where no such round was found, and KeyboardInterrupt where the
    search was stopped before there was one.
    """
    watch = Watch(instance, wish or Wish(), time.monotonic())
    fixed = _Fixed.of(instance, pins)
    certain = certain_reasons(instance)
    candidates = frozenset(range(len(instance.jobs))) - certain.keys()
    found, stopped = _searched(instance, fixed, candidates, watch)
    orders = widest(instance.problem, fill(_PinnedCosts(instance.problem, fixed), found, candidates))
    _refuse_lost(instance, fixed, orders)
    placed = any(pin.placed for pin in pins)
    text = (
        f"Planned around {count(len(pins), 'pinned stop')}; whether a round without them is better was not looked at."
    )
    proof = Proof(
        optimal=False,
        text=f"The search was stopped before its end. {text}" if stopped else text,
        stopped=stopped,
        weight_scale=instance.weight_scale,
    )
    reasons = certain | dict.fromkeys(candidates, NOT_ASKED) if placed else certain
    remedied = 0 if placed or stopped or not watch.wish.explained else None
    entries = left_out_entries(instance, orders, reasons, remedied=remedied, deadline=watch.end(1))
    return build_round(instance, orders, entries, proof, given_order=placed)


@dataclass(frozen=True)
class _Fixed:
    """Pins as indices: by task its route, and by route the stops that keep their order."""

    route_of: dict[int, int]
    placed: dict[int, tuple[frozenset[int], ...]]
    first: dict[int, frozenset[int]]
    last: dict[int, frozenset[int]]
    stops: dict[int, tuple[frozenset[int], ...]]
    """All pinned stops by route, in the order in which they were given."""

    @classmethod
    def of(cls, instance: Instance, pins: Sequence[Pinned]) -> _Fixed:
        tasks = {job.id: task for task, job in enumerate(instance.jobs)}
        days = list(zip((crew.id for crew in instance.crews), instance.route_dates, strict=True))
        fixed = cls({}, {}, {}, {}, {})
        for pin in pins:
            if (pin.crew, pin.date) not in days:
                raise AskedError(f'crew "{pin.crew}" is not out on {date_words(pin.date)}')
            unknown = [job for job in pin.jobs if job not in tasks]
            if unknown:
                raise AskedError(f'job "{unknown[0]}" is not one of those to be done on these days')
            route, stop = days.index((pin.crew, pin.date)), frozenset(tasks[job] for job in pin.jobs)
            fixed.route_of.update(dict.fromkeys(stop, route))
            fixed.stops[route] = (*fixed.stops.get(route, ()), stop)
            if pin.placed:
                fixed.placed[route] = (*fixed.placed.get(route, ()), stop)
                if pin.first:
                    fixed.first[route] = stop
                if pin.last:
                    fixed.last[route] = stop
        return fixed

    def keeps(self, route: int, order: Order) -> bool:
        """Return whether a route's order has what is pinned to it, and nothing that is pinned elsewhere."""
        done = served((order,))
        if any(self.route_of.get(task, route) != route for task in done):
            return False
        if any(not stop <= done for stop in self.stops.get(route, ())):
            return False
        at = [
            next((n for n, one in enumerate(order) if stop <= set(one.tasks)), -1)
            for stop in self.placed.get(route, ())
        ]
        if -1 in at or any(before >= after for before, after in pairwise(at)):
            return False
        ends = ((self.first, 0), (self.last, -1))
        return all(route not in some or some[route] <= set(order[end].tasks) for some, end in ends)


class _PinnedCosts(OrderCosts):
    """Costs by which only orders that keep what is pinned are possible."""

    def __init__(self, problem: Problem, fixed: _Fixed) -> None:
        self._fixed = fixed
        super().__init__(problem)

    def _cost(self, route: int, order: Order) -> Cost | None:
        return super()._cost(route, order) if self._fixed.keeps(route, order) else None


def _searched(instance: Instance, fixed: _Fixed, candidates: frozenset[int], watch: Watch) -> tuple[Orders, bool]:
    """Return the best orders found that keep what is pinned, and whether the search was stopped. Raises AskedError."""
    costs = _PinnedCosts(instance.problem, fixed)
    begun = _begun(instance, fixed)
    found: list[Orders] = []
    stopped = False
    try:
        if begun is not None:
            watch.hear(begun)
            found.append(begun)
            found.append(construct(costs, candidates, begun))
            watch.hear(found[-1])
        if not fixed.placed or begun is None:
            narrow = replace(instance, problem=_narrowed(instance.problem, fixed))
            solved = best_orders(narrow, candidates, WORK, watch).solution
            stopped = solved.interrupted
            found.append(solved.orders)
    except KeyboardInterrupt:
        if not found:
            raise
        stopped = True
    kept = [orders for orders in found if all(fixed.keeps(route, order) for route, order in enumerate(orders))]
    if not kept:
        _refuse_lost(instance, fixed, found[-1] if found else ())
        raise AskedError("no round was found that keeps every pinned stop in its place: take a pin out")
    return max(kept, key=lambda orders: _worth(instance.problem, orders)), stopped


def _worth(problem: Problem, orders: Orders) -> tuple[tuple[int, ...], int]:
    costs = OrderCosts(problem)
    away = sum((costs.cost(route, order) or NOTHING).main for route, order in enumerate(orders))
    return rank_score(problem, served(orders)), -away


def _begun(instance: Instance, fixed: _Fixed) -> Orders | None:
    """Return what is pinned alone, in the order in which it was given, None where that breaks a rule."""
    costs = OrderCosts(instance.problem)
    orders = []
    for route in range(len(instance.crews)):
        stops = [Named(stop) for stop in fixed.stops.get(route, ())]
        order = best_choice(costs, route, stops, whole=True) if stops else ()
        if order is None:
            return None
        orders.append(order)
    return widest(instance.problem, tuple(orders))


def _narrowed(problem: Problem, fixed: _Fixed) -> Problem:
    """Return the problem in which what is pinned is done before all else, by its own crew on its day."""
    most = sum(task.weight for task in problem.tasks) + 1

    def urgent(number: int, task: Task) -> Task:
        return replace(task, rank=0, weight=task.weight + most) if number in fixed.route_of else task

    routes = tuple(
        replace(
            rules,
            allowed=tuple(able and fixed.route_of.get(task, route) == route for task, able in enumerate(rules.allowed)),
        )
        for route, rules in enumerate(problem.routes)
    )
    return replace(problem, tasks=tuple(urgent(*each) for each in enumerate(problem.tasks)), routes=routes)


def _refuse_lost(instance: Instance, fixed: _Fixed, orders: Orders) -> None:
    """Raise AskedError where something pinned is not done where it is pinned."""
    done = {task: route for route, order in enumerate(orders) for task in served((order,))}
    lost = sorted(task for task, route in fixed.route_of.items() if done.get(task) != route)
    names = list(dict.fromkeys(instance.farm.site(instance.jobs[task].site).name for task in lost))
    if names:
        raise AskedError(
            f"no round was found that does everything that is pinned: {', '.join(names)} has no room beside the others"
        )
