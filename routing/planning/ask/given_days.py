"""Orders that a person gives for every crew's day: timed as any other, and where one breaks a rule, kept and told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache, partial

from routing.errors import AskedError
from routing.plain_words import date_words
from routing.planning.ask.given_breaches import breaches_of, no_hours
from routing.planning.ask.own_choice import Named, best_choice, options
from routing.planning.explain.outcome import left_out_entries
from routing.planning.explain.reasons import Certain, certain_reasons
from routing.planning.explain.violation import least_broken
from routing.planning.itineraries import itinerary_at, round_of
from routing.planning.model.dates import whole_seconds
from routing.planning.model.demands import THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import NO_LIMIT, Order, Orders, Planned, Visit, used_by
from routing.planning.model.timing import timeline
from routing.round import Breach, Itinerary, Proof, ReasonCode, Round, Rule

MOST_REMEMBERED = 1000
"""Crew-days whose times are remembered: a change of one leaves the others as they are."""

GIVEN = "The order is the one that was given; no better one was sought."
NOT_ASKED = Certain(ReasonCode.NOT_ASKED, "left out of the order")


@dataclass(frozen=True)
class GivenDay:
    """One crew's day as it is given: in order, the ids of the jobs that each stop does."""

    crew: str
    date: dt.date
    stops: tuple[tuple[str, ...], ...] = ()
    """None where the crew stays at home."""


@dataclass(frozen=True)
class GivenRound:
    """What becomes of given days."""

    round: Round
    """With every day that there is a time for, whether or not it keeps every rule."""
    breaches: tuple[Breach, ...]
    """What is broken, place by place; empty where every rule is kept."""
    untimed: tuple[GivenDay, ...] = ()
    """Days on which a drive has no way: no time can be told of them."""

    @property
    def holds(self) -> bool:
        """Whether every rule is kept."""
        return not self.breaches


def given_in(round_: Round) -> tuple[GivenDay, ...]:
    """Return the days of a round as a person would give them."""
    return tuple(
        GivenDay(day.crew, day.date, tuple(tuple(job.id for job in stop.jobs) for stop in day.stops if stop.jobs))
        for day in round_.itineraries
    )


def given_orders(instance: Instance, orders: Orders) -> tuple[GivenDay, ...]:
    """Return orders as a person would give them, of the crews that go out."""
    return tuple(
        GivenDay(
            instance.crews[route].id,
            instance.route_dates[route],
            tuple(tuple(instance.jobs[task].id for task in planned.tasks) for planned in order),
        )
        for route, order in enumerate(orders)
        if order
    )


class GivenDays:
    """The days of one instance, ready to be given orders and timed in milliseconds."""

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        self.order_costs = OrderCosts(instance.problem)
        self._timed = lru_cache(maxsize=MOST_REMEMBERED)(partial(_timed, self))
        self.tasks = {job.id: task for task, job in enumerate(instance.jobs)}
        self.routes = {
            (crew.id, date): route
            for route, (crew, date) in enumerate(zip(instance.crews, instance.route_dates, strict=True))
        }

    @cached_property
    def certain(self) -> dict[int, Certain]:
        """Why jobs cannot be done whatever else is planned, by task."""
        return certain_reasons(self.instance)

    def timed(self, days: Sequence[GivenDay]) -> GivenRound:
        """Return the days timed, with all that they break.

        Raises AskedError for a crew that is not out, a job that is not one of these days or is given twice, or jobs of
        several places in one stop.
        """
        given = {self._route(day): day for day in days if day.stops}
        stops = {route: tuple(self._stop(jobs) for jobs in day.stops) for route, day in given.items()}
        self._refuse_twice([task for route in stops.values() for stop in route for task in stop.tasks])
        found = {route: self._timed(route, stops[route]) for route in sorted(given)}
        orders = tuple(found[route].order if route in found else () for route in range(len(self.instance.crews)))
        reasons = {task: self.certain.get(task, NOT_ASKED) for task in range(len(self.instance.jobs))}
        left = left_out_entries(self.instance, orders, reasons, remedied=0)
        proof = Proof(optimal=False, text=GIVEN, weight_scale=self.instance.weight_scale)
        itineraries = [day.itinerary for day in found.values() if day.itinerary is not None]
        return GivenRound(
            round=round_of(self.instance, itineraries, left, proof, given_order=True),
            breaches=(*(breach for day in found.values() for breach in day.breaches), *self._short(stops)),
            untimed=tuple(given[route] for route, day in found.items() if day.itinerary is None),
        )

    def _route(self, day: GivenDay) -> int:
        route = self.routes.get((day.crew, day.date))
        if route is None:
            raise AskedError(f'crew "{day.crew}" is not out on {date_words(day.date)}')
        return route

    def _stop(self, jobs: Sequence[str]) -> Named:
        unknown = [job for job in jobs if job not in self.tasks]
        if unknown or not jobs:
            raise AskedError(f'job "{unknown[0] if unknown else ""}" is not one of those to be done on these days')
        tasks = frozenset(self.tasks[job] for job in jobs)
        if len({self.instance.task_places[task] for task in tasks}) > 1:
            raise AskedError("a stop is at one place: these jobs are at several")
        return Named(tasks)

    def _refuse_twice(self, tasks: Sequence[int]) -> None:
        twice = next((task for task in tasks if tasks.count(task) > 1), None)
        if twice is not None:
            raise AskedError(f'job "{self.instance.jobs[twice].id}" is given twice')

    def _short(self, stops: Mapping[int, Sequence[Named]]) -> Iterator[Breach]:
        """Yield each material of which there is too little in store, at the stop that takes more than there is."""
        instance, used = self.instance, [0] * len(self.instance.materials)
        told: set[int] = set()
        total = used_by(instance.problem, (task for route in stops.values() for stop in route for task in stop.tasks))
        for route, some in sorted(stops.items()):
            for number, stop in enumerate(some):
                for supply, amount in enumerate(used_by(instance.problem, stop.tasks)):
                    used[supply] += amount
                    stock = instance.problem.supplies[supply].stock
                    if stock == NO_LIMIT or used[supply] <= stock or supply in told or not amount:
                        continue
                    told.add(supply)
                    facts = instance.farm.materials[instance.materials[supply]]
                    text = (
                        f"All stops together need {total[supply] / THOUSAND:g} {facts.unit} of {facts.name}, and "
                        f"{stock / THOUSAND:g} {facts.unit} are in store."
                    )
                    yield Breach(Rule.STOCK, instance.crews[route].id, instance.route_dates[route], number, text)


@dataclass(frozen=True)
class _TimedDay:
    order: Order
    itinerary: Itinerary | None
    breaches: tuple[Breach, ...] = ()


def _timed(days: GivenDays, route: int, stops: Sequence[Named]) -> _TimedDay:
    """Return a day that keeps every rule where its stops allow it, else the one that breaks them least."""
    instance = days.instance
    order = best_choice(days.order_costs, route, stops, whole=True)
    if order is not None and (times := timeline(instance.problem, route, order)) is not None:
        return _TimedDay(order, itinerary_at(instance, route, order, times))
    instance, ways, closed = _with_hours(instance, route, stops)
    order, broken = least_broken(instance.problem, route, ways)
    times = None if broken is None else broken.times
    told = (*no_hours(instance, route, stops, closed), *breaches_of(instance, route, order, times))
    itinerary = None if times is None else itinerary_at(instance, route, order, times)
    return _TimedDay(order, itinerary, told)


def _with_hours(
    instance: Instance, route: int, stops: Sequence[Named]
) -> tuple[Instance, list[list[Planned]], frozenset[int]]:
    """Return the instance with hours for every stop, the crew's whole day where it has none, and which those are."""
    problem = instance.problem
    rules, visits = problem.routes[route], list(problem.visits)
    ways, closed = [], set()
    for number, stop in enumerate(stops):
        some = list(options(problem, route, stop.tasks, whole=True))
        if not some:
            closed.add(number)
            task = min(stop.tasks)
            place = instance.task_places[task]
            site = instance.sites[place - 1]
            some = [Planned(len(visits), tuple(sorted(stop.tasks)))]
            visits.append(
                Visit(
                    place=place,
                    opens=rules.earliest_leave,
                    closes=rules.home_by,
                    tasks=some[0].tasks,
                    walk_seconds=whole_seconds(2 * site.walking_minutes),
                    last_of_day=site.last_of_day and not instance.jobs[task].to,
                    day=rules.day,
                )
            )
        ways.append(some)
    if closed:
        instance = replace(instance, problem=replace(problem, visits=tuple(visits)))
    return instance, ways, frozenset(closed)
