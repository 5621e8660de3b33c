"""What a crew's day can be reckoned anew from in the field: the drives, windows, work and load of its own stops.

It is taken from the same problem that the round was planned on. It names no site and no job: its stops and their jobs
are those of the day, in their order.
"""

from __future__ import annotations

from collections.abc import Sequence

from routing.farm.models import Farm, MaterialUse
from routing.planning.model.build_instance import build_instance
from routing.planning.model.dates import days_overdue, local_midnight, seconds_of
from routing.planning.model.demands import LONGEST_OVERDUE_DAYS, ON_TIME_WEIGHT, THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.work import hands
from routing.round import (
    DayNumbers,
    Itinerary,
    LoadList,
    MaterialAmount,
    NumbersJob,
    NumbersMaterial,
    NumbersStop,
    NumbersWindow,
    Round,
    Stop,
)
from routing.travel.legs import Legs

MOST_STOPS = 40
"""A day of more is not reckoned anew on a phone: its table of drives would be the most of the page."""

MOST_JOBS = 30
"""At one stop: the page holds which of them a window is for in one number of 32 bits."""


def with_numbers(round_: Round, farm: Farm, legs: Legs) -> Round:
    """Return the round with the numbers of each crew's day, made from the farm and the drives it was planned on."""
    if not round_.itineraries or farm.underway is not None:
        return round_  # the rest of a day begins elsewhere than at base
    instance = build_instance(farm, legs, round_.dates)
    found = tuple(day.model_copy(update={"numbers": day_numbers(instance, day)}) for day in round_.itineraries)
    return round_.model_copy(update={"itineraries": found})


def day_numbers(instance: Instance, itinerary: Itinerary) -> DayNumbers | None:
    """Return the numbers of a crew's day, None where it moves hives, loads again at base or is very long."""
    if len(itinerary.stops) > MOST_STOPS or any(_is_more(stop) for stop in itinerary.stops):
        return None
    pairs = zip(instance.crews, instance.route_dates, strict=True)
    route = next(at for at, (crew, date) in enumerate(pairs) if (crew.id, date) == (itinerary.crew, itinerary.date))
    rules = instance.problem.routes[route]
    midnight = local_midnight(itinerary.date, instance.zone)
    places = [0, *(1 + [site.id for site in instance.sites].index(stop.site) for stop in itinerary.stops)]
    before = seconds_of(midnight, instance.midnight)
    return DayNumbers(
        midnight=midnight,
        home_by=rules.home_by - before,
        break_seconds=rules.break_seconds,
        break_after_seconds=rules.break_after_seconds,
        payload_grams=rules.payload_grams,
        space_millilitres=rules.space_millilitres,
        materials=tuple(_materials(instance, itinerary.load)),
        stops=tuple(_stop(instance, route, stop, before) for stop in itinerary.stops),
        seconds=tuple(tuple(int(rules.drive_seconds[here, there]) for there in places) for here in places),
    )


def _is_more(stop: Stop) -> bool:
    """Return whether a stop is more than work at a site, or more work than the page can hold."""
    moves = stop.set_down is not None or any(job.to for job in stop.jobs)
    return moves or stop.load_again is not None or len(stop.jobs) > MOST_JOBS


def _materials(instance: Instance, load: LoadList) -> list[NumbersMaterial]:
    out = {
        item.material: item.amount if item.packs is None else _packed(instance, item.material, item.packs)
        for item in load.out
    }
    names = dict.fromkeys((*out, *(item.material for item in load.back)))
    facts = instance.farm.materials
    return [
        NumbersMaterial(
            material=name,
            grams_each=facts[name].kg_each.value,
            millilitres_each=facts[name].litres_each.value,
            loaded=round(out.get(name, 0) * THOUSAND),
        )
        for name in names
    ]


def _packed(instance: Instance, material: str, packs: int) -> float:
    """Return what is in so many packs, never more than the stock."""
    sold_by = instance.farm.materials[material].sold_by
    stock = instance.farm.stock.get(material)
    whole = packs * (sold_by.value if sold_by else 1)
    return whole if stock is None else min(whole, stock)


def _stop(instance: Instance, route: int, stop: Stop, before: int) -> NumbersStop:
    rules, problem = instance.problem.routes[route], instance.problem
    numbers = {job.id: number for number, job in enumerate(instance.jobs)}
    tasks = [numbers[job.id] for job in stop.jobs]
    site = instance.farm.site(stop.site)
    visits = [visit for visit in problem.visits if visit.day == rules.day and set(tasks) & set(visit.tasks)]
    windows = dict.fromkeys(
        NumbersWindow(
            opens=visit.opens - before,
            closes=visit.closes - before,
            jobs=tuple(at for at, task in enumerate(tasks) if task in visit.tasks),
        )
        for visit in visits
    )
    return NumbersStop(
        walk_seconds=visits[0].walk_seconds,
        last_of_day=site.last_of_day,
        windows=tuple(windows),
        jobs=tuple(_job(instance, route, task) for task in tasks),
    )


def _job(instance: Instance, route: int, number: int) -> NumbersJob:
    job, task = instance.jobs[number], instance.problem.tasks[number]
    crew, date = instance.crews[route], instance.route_dates[route]
    kind, site = instance.farm.job_kinds[job.kind], instance.farm.site(job.site)
    a_hive = kind.minutes_a_hive.value / hands(instance.farm.rules, crew.people) * site.pace * crew.pace
    whole = THOUSAND * (ON_TIME_WEIGHT + min(days_overdue(job, date), LONGEST_OVERDUE_DAYS))
    return NumbersJob(
        hives=job.hives,
        rank=job.rank,
        weight=whole * job.hives // (job.of_hives or job.hives),
        set_up_seconds=task.set_up_seconds,
        hive_seconds=60 * a_hive,
        takes=_amounts(kind.takes, job.helpings),
        brings_back=_amounts(kind.brings_back),
    )


def _amounts(uses: Sequence[MaterialUse], helpings: int = 1) -> tuple[MaterialAmount, ...]:
    return tuple(
        MaterialAmount(material=use.material, thousandths=use.a_hive.value * THOUSAND * helpings) for use in uses
    )
