"""What a given day breaks, place by place, in words: which stop, which rule, and by how much."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import pairwise

from routing.plain_words import date_words, duration, people_words
from routing.planning.ask.own_choice import Named, options
from routing.planning.model.build_instance import vehicle_reaches
from routing.planning.model.dates import may_be_done
from routing.planning.model.demands import THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.load import Loads, carries, trip_loads
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.possible_visits import ends_of
from routing.planning.model.problem import Order, Planned, fits_limit
from routing.planning.model.timing import Timeline
from routing.round import Breach, Rule

_MINUTE = 60


def no_hours(instance: Instance, route: int, stops: Sequence[Named], closed: Collection[int]) -> Iterator[Breach]:
    """Yield why stops have no hours in which all their jobs may be done on the day."""
    for number in sorted(closed):
        yield _breach(instance, route, Rule.DATE, number, _no_hours_words(instance, route, stops[number]))


def breaches_of(instance: Instance, route: int, order: Order, times: Timeline | None) -> Iterator[Breach]:
    """Yield all else that an order breaks; at least one thing where it has no cost. No times: some drive has no way."""
    found = [*_unable(instance, route, order), *_last_of_day(instance, route, order), *_no_way(instance, route, order)]
    if times is not None:
        found += [*_load(instance, route, order, times), *_late(instance, route, order, times)]
    if not found and (times is None or OrderCosts(instance.problem).cost(route, order) is None):
        text = "No hours were found in which this order keeps every rule."
        found.append(_breach(instance, route, Rule.DAY, None, text))
    yield from found


def _breach(instance: Instance, route: int, rule: Rule, stop: int | None, text: str, seconds: int = 0) -> Breach:
    return Breach(rule, instance.crews[route].id, instance.route_dates[route], stop, text, seconds)


def _name(instance: Instance, planned: Planned) -> str:
    return instance.sites[instance.problem.visits[planned.visit].place - 1].name


def _kind(instance: Instance, task: int) -> str:
    return instance.farm.job_kinds[instance.jobs[task].kind].name


def _no_hours_words(instance: Instance, route: int, stop: Named) -> str:
    date, problem = instance.route_dates[route], instance.problem
    for task in sorted(stop.tasks):
        job = instance.jobs[task]
        if not may_be_done(job, date):
            if job.promised is not None:
                return f"{_kind(instance, task)} is promised for {date_words(job.promised)}."
            not_before = job.not_before or date
            return f"{_kind(instance, task)} is not to be done before {date_words(not_before)}."
    alone = [task for task in sorted(stop.tasks) if not list(options(problem, route, frozenset({task}), whole=True))]
    if alone:
        weather = "" if instance.farm.forecast is None else ", and the weather"
        return (
            f"That day has no hours with the light{weather} and the open gate that {_kind(instance, alone[0])} needs."
        )
    return "These jobs have no hours in common that day: they cannot be done in one stop."


def _unable(instance: Instance, route: int, order: Order) -> Iterator[Breach]:
    crew = instance.crews[route]
    vehicle = instance.farm.vehicles[crew.vehicle]
    for number, planned in enumerate(order):
        for task in planned.tasks:
            if instance.problem.routes[route].allowed[task]:
                continue
            kind = instance.farm.job_kinds[instance.jobs[task].kind]
            if kind.people > crew.people:
                text = f"{kind.name} needs {people_words(kind.people)}, and {crew.name} is {people_words(crew.people)}."
                yield _breach(instance, route, Rule.ABLE, number, text)
            sites = [instance.farm.site(end) for end in ends_of(instance.jobs[task])]
            for site in sites:
                if not vehicle_reaches(vehicle.reaches, site):
                    needs = f"{site.name} needs a vehicle that reaches “{site.vehicle_needed}”"
                    yield _breach(instance, route, Rule.ABLE, number, f"{needs}, and {vehicle.name} does not.")


def _last_of_day(instance: Instance, route: int, order: Order) -> Iterator[Breach]:
    visits = instance.problem.visits
    for number, (first, then) in enumerate(pairwise(order), start=1):
        if visits[first.visit].last_of_day and not visits[then.visit].last_of_day:
            text = f"{_name(instance, first)} must be last of the day, and {_name(instance, then)} comes after it."
            yield _breach(instance, route, Rule.LAST, number, text)


def _no_way(instance: Instance, route: int, order: Order) -> Iterator[Breach]:
    drives = instance.problem.routes[route].drive_seconds
    places = [0, *(instance.problem.visits[planned.visit].place for planned in order), 0]
    names = ["base", *(_name(instance, planned) for planned in order), "base"]
    for number, ((here, from_), (there, to)) in enumerate(pairwise(zip(places, names, strict=True))):
        if drives[here, there] < 0:
            stop = number if number < len(order) else None
            text = f"There is no way from {from_} to {to}: no time can be told of this day."
            yield _breach(instance, route, Rule.WAY, stop, text)


def _load(instance: Instance, route: int, order: Order, times: Timeline) -> Iterator[Breach]:
    problem, rules = instance.problem, instance.problem.routes[route]
    if carries(problem, route, order):
        return
    first = 0
    for load in trip_loads(problem, order, [one.before for one in times.returns]):
        yield from _over(instance, route, load, first, rules.payload_grams, rules.space_millilitres)
        first += len(load.grams) - 1


def _over(instance: Instance, route: int, load: Loads, first: int, grams: int, litres: int) -> Iterator[Breach]:
    """Yield payload and space, where a trip passes them, at the stop where it is fullest."""
    trips = instance.problem.routes[route].most_trips
    even = "" if trips == 1 else f"; in {trips} trips it does not go either"
    for rule, measured, limit, unit in (
        (Rule.PAYLOAD, load.grams_within, grams, "kg"),
        (Rule.SPACE, load.millilitres_within, litres, "litres"),
    ):
        fullest = measured.index(max(measured))
        if not fits_limit(measured[fullest], limit):
            text = (
                f"{measured[fullest] / THOUSAND:g} {unit} would be on board here, over the {rule.value} of "
                f"{limit / THOUSAND:g} {unit}{even}."
            )
            stop = None if fullest + first == 0 else max(0, fullest + first - 1)
            yield _breach(instance, route, rule, stop, text)


def _late(instance: Instance, route: int, order: Order, times: Timeline) -> Iterator[Breach]:
    for number, (planned, finish) in enumerate(zip(order, times.finishes, strict=True)):
        visit = instance.problem.visits[planned.visit]
        if finish > visit.closes:
            rule = Rule.LIGHT if visit.closed_by_light else Rule.HOURS
            by = rule.value
            if rule is Rule.LIGHT and instance.farm.forecast is not None:
                by = "working light, or the weather that the work needs"
            reached, due, late = _shown(instance, finish, visit.closes)
            text = f"Finished at {reached}, {late} after it must be ({due}: {by})."
            yield _breach(instance, route, rule, number, text, finish - visit.closes)
    home_by = instance.problem.routes[route].home_by
    if times.home > home_by:
        reached, due, late = _shown(instance, times.home, home_by)
        text = f"Home at {reached}, {late} after the crew must be ({due})."
        yield _breach(instance, route, Rule.HOME, None, text, times.home - home_by)


def _shown(instance: Instance, reached: int, due: int) -> tuple[str, str, str]:
    """Return a moment that is reached, one that it is due by, and what lies between, to the safe minute."""
    up, down = -(-reached // _MINUTE) * _MINUTE, due // _MINUTE * _MINUTE
    return f"{instance.clock(up):%H:%M}", f"{instance.clock(down):%H:%M}", duration(up - down)
