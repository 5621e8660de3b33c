"""The cheapest insertion of left-out tasks that is forced into a round, and what that would break."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import ceil

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import BASE
from routing.planning.explain.violation import Give, given, least_violation, of_order_alone
from routing.planning.model.demands import THOUSAND
from routing.planning.model.detours import NO_WAY, detours
from routing.planning.model.instance import Instance
from routing.planning.model.lateness import Lateness, lateness
from routing.planning.model.load import carries, fewest_trips, furthest, last_return, overload, trip_loads
from routing.planning.model.problem import NO_LIMIT, Order, Orders, Problem, fits_limit, served, used_by
from routing.planning.model.timing import timeline
from routing.planning.search.insertion import insertions
from routing.round import Insertion, Shortfall

MOST_LOOKED_AT = 12
"""So many places in the orders are looked at for one group of tasks: how late each would be takes milliseconds."""

MANY_TASKS, FEW_LOOKED_AT = 400, 1
"""Where there are more tasks than these many, only so many places for each group, and the others where these fail."""


MANY_ROUTES, NEAR_ROUTES = 16, 6
"""Of more crew-days than these many, only so many are looked at: those that a visit takes least out of their way, by
the drives of the first."""


@dataclass(frozen=True, eq=False)
class Gaps:
    """Where each crew-day's stops leave a gap: the places before and after it, and the gaps at which routes begin."""

    before: NDArray[np.int64]
    after: NDArray[np.int64]
    firsts: NDArray[np.int64]
    """Shape (routes,)."""
    returns: dict[int, list[int]] = field(default_factory=dict)
    """By route, before which stops base is come back to, as far as it was asked already."""

    def near(self, problem: Problem, tasks: tuple[int, ...]) -> list[int]:
        """Return the routes that a visit for these tasks takes least out of their way, rising."""
        places = sorted({problem.visits[visit].place for visit in problem.visits_for(tasks)})
        ways = detours(problem.routes[0].drive_seconds, self.before, self.after, np.array(places, dtype=np.int64))
        extra = ways.min(axis=1, initial=NO_WAY)
        least = np.minimum.reduceat(extra, self.firsts)
        return sorted(np.argsort(least, kind="stable")[:NEAR_ROUTES].tolist())


def gaps_of(problem: Problem, orders: Orders) -> Gaps | None:
    """Return the gaps of many orders, None of few: then all are looked at."""
    if len(orders) <= MANY_ROUTES:
        return None
    stops = [[0, *(problem.visits[planned.visit].place for planned in order), 0] for order in orders]
    before, after = ([place for each in stops for place in each[cut]] for cut in (slice(None, -1), slice(1, None)))
    firsts = np.cumsum([0, *(len(each) - 1 for each in stops[:-1])])
    return Gaps(np.array(before), np.array(after), firsts)


@dataclass(frozen=True)
class ForcedInsertion:
    """The cheapest way to force left-out tasks into the orders: where, and what it breaks."""

    route: int
    order: Order
    insertion: Insertion
    tasks: tuple[int, ...]


def _ways(
    problem: Problem, orders: Orders, tasks: tuple[int, ...], routes: Sequence[int]
) -> Iterator[tuple[int, Order]]:
    """Yield the routes, each with its order changed, into which the tasks may go in one stop, whatever that breaks."""
    for route in routes:
        order = orders[route]
        if not all(problem.routes[route].allowed[task] for task in tasks):
            continue
        for changed in insertions(problem, problem.routes[route].day, order, tasks):
            lasts = [problem.visits[planned.visit].last_of_day for planned in changed]
            if lasts == sorted(lasts):
                yield route, changed


def cheapest_forced(
    instance: Instance, orders: Orders, tasks: tuple[int, ...], gaps: Gaps | None = None
) -> ForcedInsertion | None:
    """Return the way to add the tasks that breaks the fewest things, then the least time, then costs the least.

    Looked at are those ways that add the least driving and work, where `gaps` are given mostly of the nearest routes.
    None where there is none that breaks something and yet could be driven: where a site can be reached only by way of
    another that is not visited, or where the tasks still fit.
    """
    if gaps is not None:
        near = list(_nearest_ways(instance.problem, orders, tasks, gaps.near(instance.problem, tasks), gaps.returns))
        found = _cheapest_of(instance, orders, tasks, near[:FEW_LOOKED_AT])
        if found is not None:
            return found
    returns = {} if gaps is None else gaps.returns
    nearest = list(_nearest_ways(instance.problem, orders, tasks, range(len(orders)), returns))
    if len(instance.problem.tasks) > MANY_TASKS:
        found = _cheapest_of(instance, orders, tasks, nearest[:FEW_LOOKED_AT])
        if found is not None:
            return found
    return _cheapest_of(instance, orders, tasks, nearest)


def _cheapest_of(
    instance: Instance, orders: Orders, tasks: tuple[int, ...], ways: Sequence[tuple[int, Order]]
) -> ForcedInsertion | None:
    problem = instance.problem
    stock = _stock_short(instance, orders, tasks)
    ranked: list[tuple[tuple[int, ...], int, Order]] = []
    for route, changed in ways:
        grams, millilitres, late = _lacks(problem, route, changed)
        if late is None:
            continue
        things = sum(amount > 0 for amount in (grams, millilitres, late.light, late.hours, late.home))
        extra = extra_seconds(problem, route, orders[route], changed)
        ranked.append(((things + len(stock), late.total, round(grams + millilitres), extra), route, changed))
    for measure, route, changed in sorted(ranked, key=lambda one: one[0]):
        found = least_violation(problem, route, changed)
        shortfalls = () if found is None else (*_shortfalls(found.give), *stock)
        if shortfalls:
            insertion = Insertion(
                crew=instance.crews[route].id,
                date=instance.route_dates[route],
                after=_stop_before(instance, orders[route], changed),
                extra_seconds=None if problem.returns[route] else measure[-1],
                shortfalls=shortfalls,
            )
            return ForcedInsertion(route, changed, insertion, tasks)
    return None


def _nearest_ways(
    problem: Problem, orders: Orders, tasks: tuple[int, ...], routes: Sequence[int], returns: dict[int, list[int]]
) -> Iterator[tuple[int, Order]]:
    """Yield the ways that add the least driving and work, so many of all that large rounds are told of in seconds.

    `returns` are those of the orders as they are, by route; what is missing is added.
    """
    found: list[tuple[int, int, Order]] = []
    for route, changed in _ways(problem, orders, tasks, routes):
        before = orders[route]
        if route not in returns:
            returns[route] = _returns(problem, route, before)
        found.append((_detour(problem, route, before, changed, returns[route]), route, changed))
    found.sort(key=lambda one: one[0])
    yield from ((route, changed) for _, route, changed in found[:MOST_LOOKED_AT])


def _returns(problem: Problem, route: int, order: Order) -> list[int]:
    """Return before which stops of an order base is come back to."""
    times = timeline(problem, route, order) if order else None
    return [one.before for one in times.returns] if times else []


def _lacks(problem: Problem, route: int, order: Order) -> tuple[float, float, Lateness | None]:
    """Return the grams and millilitres that an order is over, and how late it is once they can be carried."""
    grams, millilitres = overload(problem, route, order)
    if not problem.returns[route] or not (grams or millilitres):
        return grams, millilitres, lateness(problem, route, order)
    small, alone = of_order_alone(problem, route, order)
    carried = given(small, Give(grams=ceil(grams), millilitres=ceil(millilitres)))
    return grams, millilitres, lateness(carried, 0, alone)


def _shortfalls(give: Give) -> list[Shortfall]:
    amounts = (
        ("working light", give.light, "seconds"),
        ("opening hours", give.hours, "seconds"),
        ("home by", give.home, "seconds"),
        ("payload", give.grams / THOUSAND, "kg"),
        ("space", give.millilitres / THOUSAND, "litres"),
    )
    return [Shortfall(what=what, amount=amount, unit=unit) for what, amount, unit in amounts if amount > 0]


def extra_seconds(problem: Problem, route: int, before: Order, changed: Order) -> int:
    """Return how much more driving and work an order takes with a stop added, or with more done at one.

    Where the changed order can be carried, both are taken with the returns to base that make them least. Where it
    cannot, it is given as much payload and space as it lacks: the returns stay where they are if it is carried so, else
    they too are those that make it least.
    """
    if carries(problem, route, changed):
        with_it, without = least_seconds(problem, route, changed), least_seconds(problem, route, before)
        if with_it is not None and without is not None:
            return max(0, with_it - without)
    returns = _returns(problem, route, before)
    found = _given_room(problem, route, before, changed, returns) if returns else None
    return found or _detour(problem, route, before, changed, returns)


def _given_room(problem: Problem, route: int, before: Order, changed: Order, returns: Sequence[int]) -> int | None:
    """Return how much more driving and work the changed order takes with all the room that it lacks."""
    small, alone = of_order_alone(problem, route, changed)
    grams, millilitres = overload(small, 0, alone)
    roomy = given(small, Give(grams=ceil(grams), millilitres=ceil(millilitres)))
    more = len(changed) - len(before)
    at = next((n for n, (old, new) in enumerate(zip(before, changed, strict=False)) if old != new), len(before))
    now = _with_returns(problem, route, before, returns)
    kept = {tuple(one + more * (one > at) for one in returns), tuple(one + more * (one >= at) for one in returns)}
    ways = [_with_returns(roomy, 0, alone, cuts) - now for cuts in kept if _carried(roomy, alone, cuts)]
    if ways:
        return max(0, min(ways))
    with_it, without = least_seconds(roomy, 0, alone), least_seconds(problem, route, before)
    return None if with_it is None or without is None else max(0, with_it - without)


def _carried(problem: Problem, order: Order, returns: Sequence[int]) -> bool:
    """Return whether the only route carries the order with just these returns to base."""
    rules = problem.routes[0]
    return all(
        fits_limit(max(load.grams_within), rules.payload_grams)
        and fits_limit(max(load.millilitres_within), rules.space_millilitres)
        for load in trip_loads(problem, order, returns)
    )


def _with_returns(problem: Problem, route: int, order: Order, returns: Sequence[int]) -> int:
    """Return the driving and work of an order with just these returns to base, loading there counted."""
    rules, drives = problem.routes[route], problem.legs[route][0]
    seconds = sum(problem.on_site_seconds(route, planned) for planned in order) + len(returns) * rules.reload_seconds
    here = 0
    for number, planned in enumerate(order):
        there = problem.visits[planned.visit].place
        seconds += drives[here][0] + drives[0][there] if number in returns else drives[here][there]
        here = there
    return seconds + drives[here][0]


def _detour(problem: Problem, route: int, before: Order, changed: Order, returns: Sequence[int]) -> int:
    """Return the work that is added, and the driving to it from where the crew would else have driven on."""
    on_site, drives = problem.on_site_seconds, problem.legs[route][0]
    added = sum(on_site(route, stop) for stop in changed) - sum(on_site(route, stop) for stop in before)
    if len(changed) == len(before):
        return max(0, added)
    at = next(
        (number for number, (old, new) in enumerate(zip(before, changed, strict=False)) if old != new), len(before)
    )
    there = problem.visits[changed[at].visit].place
    places = [0, *(problem.visits[planned.visit].place for planned in before), 0]
    gaps = [(places[at], 0), (0, places[at + 1])] if at in returns else [(places[at], places[at + 1])]
    ways = [
        drives[here][there] + drives[there][then] - max(0, drives[here][then])
        for here, then in gaps
        if min(drives[here][there], drives[there][then]) >= 0
    ]
    return max(0, added + min(ways, default=0))


def least_seconds(problem: Problem, route: int, order: Order) -> int | None:
    """Return the least driving and work of an order, waits left out; None where no trips carry it or there is no way.

    A programme over the stops done and the trips made: base is come back to where that takes least.
    """
    if not order:
        return 0
    rules, drives = problem.routes[route], problem.legs[route][0]
    work = sum(problem.on_site_seconds(route, planned) for planned in order)
    places = [problem.visits[planned.visit].place for planned in order]
    once = not problem.returns[route] or fewest_trips(problem, rules, order) == 1
    reach = [len(order)] * len(order) if once else furthest(problem, rules, order)
    latest = last_return(problem, order)
    ready = {0: 0}
    best: int | None = None
    for _ in range(1 if once else rules.most_trips):
        following: dict[int, int] = {}
        for start, seconds in ready.items():
            here, clock = 0, seconds
            for end in range(start, reach[start]):
                clock, way, here = clock + drives[here][places[end]], drives[here][places[end]], places[end]
                if way < 0:
                    break
                home = drives[here][0]
                if home >= 0 and end + 1 == len(order):
                    best = clock + home if best is None else min(best, clock + home)
                elif home >= 0 and end + 1 <= latest:
                    again = clock + home + rules.reload_seconds
                    following[end + 1] = min(again, following.get(end + 1, again))
        ready = following
    return None if best is None else best + work


def _stop_before(instance: Instance, order: Order, changed: Order) -> str:
    """Return the site (or the base) after which the changed order has its new or longer stop."""
    position = next(
        (number for number, (old, new) in enumerate(zip(order, changed, strict=False)) if old != new), len(order)
    )
    if len(changed) == len(order):
        return instance.sites[instance.problem.visits[changed[position].visit].place - 1].id
    return BASE if position == 0 else instance.left_from(instance.problem.visits[changed[position - 1].visit].place).id


def _stock_short(instance: Instance, orders: Orders, tasks: tuple[int, ...]) -> list[Shortfall]:
    short = []
    for supply, used in enumerate(used_by(instance.problem, served(orders) | set(tasks))):
        stock = instance.problem.supplies[supply].stock
        if stock != NO_LIMIT and used > stock:
            facts = instance.farm.materials[instance.materials[supply]]
            short.append(Shortfall(what=f"stock of {facts.name}", amount=(used - stock) / THOUSAND, unit=facts.unit))
    return short
