"""What stands in the way of an order that a person gives, in words: the sites, the times, and by how much."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, islice, pairwise

from routing.plain_words import duration
from routing.planning.ask.own_choice import Named, best_choice, options
from routing.planning.explain.violation import Violation, least_broken
from routing.planning.model.demands import THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.load import carries, loads
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import NO_LIMIT, Order, Planned, served, used_by

PAIR = 2
MOST_PAIRS = 300


def what_breaks(instance: Instance, route: int, stops: Sequence[Named]) -> list[str]:
    """Return why no choice of jobs and hours lets the crew visit these stops in this order, a sentence each.

    The first sentences say what would be passed and by how much, with all the jobs and in the hours that are passed
    least; then which site, or which two, cannot be done even without the rest; then when each stop would be.
    """
    order, late = _least_broken(instance, route, stops)
    found = [*_last_of_day(instance, order), *_stock(instance, order), *_no_way(instance, route, order)]
    if late is not None:
        found += [*_load(instance, route, order), *_late(instance, route, order, late)]
    found += _in_the_way(instance, route, stops, order)
    if late is not None:
        found.append(_clock(instance, order, late))
    return found or ["No hours were found in which this order keeps every rule."]


def _least_broken(instance: Instance, route: int, stops: Sequence[Named]) -> tuple[Order, Violation | None]:
    """Return the order with all jobs in the hours that break it least, and what must give way for it."""
    taken: frozenset[int] = frozenset()
    ways: list[list[Planned]] = []
    for number, stop in enumerate(stops):
        left = stop.tasks - taken
        again = sum(other.tasks == stop.tasks for other in stops[number + 1 :])
        sets = list(options(instance.problem, route, left))
        most = [one for one in sets if len(left) - len(one.tasks) >= again] or sets
        ways.append([one for one in most if one.tasks == most[0].tasks])
        taken |= set(most[0].tasks)
    return least_broken(instance.problem, route, ways)


def _name(instance: Instance, planned: Planned) -> str:
    return instance.sites[instance.problem.visits[planned.visit].place - 1].name


def _last_of_day(instance: Instance, order: Order) -> Iterator[str]:
    for first, then in pairwise(order):
        if instance.problem.visits[first.visit].last_of_day and not instance.problem.visits[then.visit].last_of_day:
            yield f"{_name(instance, first)} must be last of the day, and {_name(instance, then)} comes after it."


def _stock(instance: Instance, order: Order) -> Iterator[str]:
    for supply, used in enumerate(used_by(instance.problem, served((order,)))):
        stock = instance.problem.supplies[supply].stock
        if stock != NO_LIMIT and used > stock:
            facts = instance.farm.materials[instance.materials[supply]]
            yield (
                f"It needs {used / THOUSAND:g} {facts.unit} of {facts.name}, and {stock / THOUSAND:g} {facts.unit} "
                "are in store."
            )


def _no_way(instance: Instance, route: int, order: Order) -> Iterator[str]:
    drives = instance.problem.routes[route].drive_seconds
    places = [0, *(instance.problem.visits[planned.visit].place for planned in order), 0]
    names = ["base", *(_name(instance, planned) for planned in order), "base"]
    for (here, from_), (there, to) in pairwise(zip(places, names, strict=True)):
        if drives[here, there] < 0:
            yield f"There is no way from {from_} to {to}."


def _load(instance: Instance, route: int, order: Order) -> Iterator[str]:
    if carries(instance.problem, route, order):
        return
    rules, load = instance.problem.routes[route], loads(instance.problem, order)
    names = ["base", *(_name(instance, planned) for planned in order)]
    for measured, limit, what, unit in (
        (load.grams_within, rules.payload_grams, "payload", "kg"),
        (load.millilitres_within, rules.space_millilitres, "space", "litres"),
    ):
        fullest = measured.index(max(measured))
        if measured[fullest] > limit:
            trips = "" if rules.most_trips == 1 else f", and even in {rules.most_trips} trips it is too much"
            yield (
                f"In one trip {measured[fullest] / THOUSAND:g} {unit} would be on board at {names[fullest]}, over the "
                f"{what} of {limit / THOUSAND:g} {unit}{trips}."
            )


def _late(instance: Instance, route: int, order: Order, late: Violation) -> Iterator[str]:
    for planned, finish in zip(order, late.times.finishes, strict=True):
        visit = instance.problem.visits[planned.visit]
        if finish > visit.closes:
            by = "its working light" if visit.closed_by_light else "its opening hours"
            yield (
                f"{_name(instance, planned)} would be finished at {instance.clock(finish):%H:%M}, "
                f"{duration(finish - visit.closes)} after it must be ({instance.clock(visit.closes):%H:%M}, by {by})."
            )
    home_by = instance.problem.routes[route].home_by
    if late.times.home > home_by:
        yield (
            f"Home would be at {instance.clock(late.times.home):%H:%M}, {duration(late.times.home - home_by)} after "
            f"the crew must be home ({instance.clock(home_by):%H:%M})."
        )


def _in_the_way(instance: Instance, route: int, stops: Sequence[Named], order: Order) -> Iterator[str]:
    """Yield the sites that cannot be done even alone, or else the first two that cannot in this order.

    Breaks are left out: one that another stop could hold must not be told as what stands in the way.
    """
    unrested = tuple(replace(rules, break_seconds=0) for rules in instance.problem.routes)
    order_costs = OrderCosts(replace(instance.problem, routes=unrested))
    alone = [number for number, stop in enumerate(stops) if best_choice(order_costs, route, [stop]) is None]
    for number in alone:
        yield f"{_name(instance, order[number])} cannot be done by this crew that day even with nothing else."
    if alone or len(stops) <= PAIR:  # of two the whole order says it
        return
    for first, then in islice(combinations(range(len(stops)), 2), MOST_PAIRS):
        if best_choice(order_costs, route, [stops[first], stops[then]]) is None:
            names = f"{_name(instance, order[first])} and after it {_name(instance, order[then])}"
            yield f"{names} cannot both be done, even with nothing else."
            return


def _clock(instance: Instance, order: Order, late: Violation) -> str:
    times = late.times
    stops = [
        f"{_name(instance, planned)} from {instance.clock(arrive):%H:%M} to {instance.clock(finish):%H:%M}"
        for planned, arrive, finish in zip(order, times.arrives, times.finishes, strict=True)
    ]
    leave, home = f"{instance.clock(times.leave):%H:%M}", f"{instance.clock(times.home):%H:%M}"
    return f"With all the jobs there it would be: base is left at {leave}; {'; '.join(stops)}; home at {home}."
