"""What a crew's day can be reckoned anew from in the field: the drives, windows, work and load of its own stops.

It is taken from the same problem that the round was planned on. Its stops and their jobs are those of the day, in their
order, and after them what is near (`near_work.py`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from routing.farm.models import BASE, Farm, Job, MaterialUse
from routing.planning.model.build_instance import build_instance
from routing.planning.model.dates import days_overdue, local_midnight, seconds_of, whole_seconds
from routing.planning.model.demands import LONGEST_OVERDUE_DAYS, ON_TIME_WEIGHT, THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.possible_visits import site_visits
from routing.planning.model.problem import Visit
from routing.planning.model.work import hands
from routing.planning.near_work import NearWork, near_work, route_of
from routing.round import (
    DayNumbers,
    Itinerary,
    LoadItem,
    MaterialAmount,
    NumbersBase,
    NumbersJob,
    NumbersMaterial,
    NumbersMove,
    NumbersNear,
    NumbersStop,
    NumbersWindow,
    Round,
)
from routing.travel.legs import Legs

MOST_STOPS = 40
"""A day of more is not reckoned anew on a phone: its table of drives would be the most of the page."""

MOST_JOBS = 30
"""At one stop: the page holds which of them a window is for in one number of 32 bits."""


def with_numbers(round_: Round, farm: Farm, legs: Legs) -> Round:
    """Return the round with the numbers of each crew's day, made from the farm and the drives it was planned on."""
    if not round_.itineraries:
        return round_
    instance = build_instance(farm, legs, round_.dates)
    near, spare = near_work(instance, round_), _spare(instance, round_)
    found = tuple(
        day.model_copy(update={"numbers": day_numbers(instance, day, spare, near[at])})
        for at, day in enumerate(round_.itineraries)
    )
    return round_.model_copy(update={"itineraries": found})


def day_numbers(
    instance: Instance, itinerary: Itinerary, spare: Mapping[str, int], near: Sequence[NearWork] = ()
) -> DayNumbers | None:
    """Return the numbers of a crew's day, None where it is very long.

    `spare` are the thousandths of each material that is counted which no crew-day of the round takes.
    """
    if len(itinerary.stops) > MOST_STOPS or any(len(stop.jobs) > MOST_JOBS for stop in itinerary.stops):
        return None
    route = route_of(instance, itinerary)
    rules = instance.problem.routes[route]
    midnight = local_midnight(itinerary.date, instance.zone)
    sites = [*(stop.site for stop in itinerary.stops), *(work.site for work in near)]
    rows = {BASE: 0} | {site.id: row for row, site in reversed(list(enumerate(instance.sites, start=1)))}
    places = [0, *(rows[site] for site in sites)]
    before = seconds_of(midnight, instance.midnight)
    stops, at_stop = _stops(instance, route, itinerary, near, before)
    return DayNumbers(
        midnight=midnight,
        home_by=rules.home_by - before,
        break_seconds=rules.break_seconds,
        break_after_seconds=rules.break_after_seconds,
        payload_grams=rules.payload_grams,
        space_millilitres=rules.space_millilitres,
        materials=tuple(_materials(instance, itinerary, stops, spare)),
        stops=stops,
        base=None
        if instance.farm.underway is not None
        else NumbersBase(trips=rules.most_trips, loading_seconds=rules.reload_seconds),
        near=tuple(
            NumbersNear(
                site=work.site,
                jobs=tuple(instance.jobs[task].id for task in work.tasks),
                latitude=work.place.latitude,
                longitude=work.place.longitude,
                stop=at,
            )
            for work, at in zip(near, at_stop, strict=True)
        ),
        seconds=tuple(tuple(int(rules.drive_seconds[here, there]) for there in places) for here in places),
    )


def _spare(instance: Instance, round_: Round) -> dict[str, int]:
    """Return the thousandths of each material that is counted which stay at base by the whole round."""
    found = {name: int(round(amount * THOUSAND, 6)) for name, amount in instance.farm.stock.items()}
    for item in (item for day in round_.itineraries for load in day.loads for item in load.out):
        if item.material in found:
            found[item.material] -= _loaded(instance, item)
    return {name: max(0, amount) for name, amount in found.items()}


def _loaded(instance: Instance, item: LoadItem) -> int:
    """Return the thousandths that a line of a load list puts on the vehicle."""
    amount = item.amount if item.packs is None else _packed(instance, item.material, item.packs)
    return round(amount * THOUSAND)


def _stops(
    instance: Instance, route: int, itinerary: Itinerary, near: Sequence[NearWork], before: int
) -> tuple[tuple[NumbersStop, ...], list[int]]:
    """Return the numbers of all stops, and at which of them each work that is near is done."""
    numbers = {job.id: number for number, job in enumerate(instance.jobs)}
    begun = [at for at, stop in enumerate(itinerary.stops) if not stop.set_down and stop.load_again is None]
    made = [(at, [numbers[job.id] for job in itinerary.stops[at].jobs]) for at in begun]
    where: list[int] = []
    for more, work in enumerate(near):
        here = (
            number
            for number, (at, tasks) in enumerate(made[: len(begun)])
            if itinerary.stops[at].site == work.site and not instance.jobs[tasks[0]].to
        )
        number = next(here, len(made))
        if number == len(made):
            made.append((len(itinerary.stops) + more, []))
        made[number] = made[number][0], [*made[number][1], *work.tasks]
        where.append(number)
    trips = [sum(stop.load_again is not None for stop in itinerary.stops[:at]) for at, _ in made]
    trips = [trip if at < len(itinerary.stops) else 0 for trip, (at, _) in zip(trips, made, strict=True)]
    found = [_stop(instance, route, at, tasks, before) for at, tasks in made]
    return tuple(one.model_copy(update={"trip": trip}) for one, trip in zip(found, trips, strict=True)), where


def _materials(
    instance: Instance, day: Itinerary, stops: Sequence[NumbersStop], spare: Mapping[str, int]
) -> list[NumbersMaterial]:
    loads = [{item.material: _loaded(instance, item) for item in load.out} for load in day.loads]
    wanted = (each.material for stop in stops for job in stop.jobs for each in (*job.takes, *job.brings_back))
    listed = (item.material for load in day.loads for item in (*load.out, *load.back))
    facts, now = instance.farm.materials, instance.farm.underway
    brought = now.brought if now is not None and now.counted else {}
    found = []
    for name in dict.fromkeys((*listed, *wanted)):
        (first, *again), home = (load.get(name, 0) for load in loads), round(brought.get(name, 0) * THOUSAND)
        sold_by = facts[name].sold_by
        found.append(
            NumbersMaterial(
                material=name,
                name=facts[name].name,
                unit=facts[name].unit,
                grams_each=facts[name].kg_each.value,
                millilitres_each=facts[name].litres_each.value,
                loaded=first - home,
                again=tuple(again),
                brought=home,
                at_base=_at_base(instance, name, sum(again), spare),
                pack=round(sold_by.value * THOUSAND) if sold_by else 0,
            )
        )
    return found


def _at_base(instance: Instance, name: str, again: int, spare: Mapping[str, int]) -> int | None:
    """Return what a return to base finds there, nothing in the rest of a day."""
    if instance.farm.underway is not None:
        return 0
    return spare[name] + again if name in spare else None


def _packed(instance: Instance, material: str, packs: int) -> float:
    """Return what is in so many packs, never more than the stock."""
    sold_by = instance.farm.materials[material].sold_by
    stock, now = instance.farm.stock.get(material), instance.farm.underway
    if now is not None and now.counted:
        return (stock or 0.0) + now.brought.get(material, 0.0)
    whole = packs * (sold_by.value if sold_by else 1)
    return whole if stock is None else min(whole, stock)


def _stop(instance: Instance, route: int, at: int, tasks: Sequence[int], before: int) -> NumbersStop:
    rules, problem = instance.problem.routes[route], instance.problem
    site = instance.farm.site(instance.jobs[tasks[0]].site)
    visits = [visit for visit in problem.visits if visit.day == rules.day and set(tasks) & set(visit.tasks)]
    move = next((instance.jobs[task] for task in tasks if instance.jobs[task].to), None)
    return NumbersStop(
        at=at,
        to=at if move is None else at + 1,
        move=None if move is None else _move(instance, route, move),
        walk_seconds=visits[0].walk_seconds,
        last_of_day=site.last_of_day,
        windows=_windows(visits, tasks, before),
        jobs=tuple(_job(instance, route, task) for task in tasks),
    )


def _windows(visits: Sequence[Visit], tasks: Sequence[int], before: int) -> tuple[NumbersWindow, ...]:
    windows = dict.fromkeys(
        NumbersWindow(
            opens=visit.opens - before,
            closes=visit.closes - before,
            jobs=tuple(at for at, task in enumerate(tasks) if task in visit.tasks),
        )
        for visit in visits
    )
    return tuple(windows)


def _move(instance: Instance, route: int, move: Job) -> NumbersMove:
    crew, date = instance.crews[route], instance.route_dates[route]
    kind, there = instance.farm.job_kinds[move.kind], instance.farm.site(move.to)
    way = instance.legs.of(crew.vehicle)
    with_it = kind.brings_back
    minutes = 0.0 if kind.set_down_minutes_a_hive is None else kind.set_down_minutes_a_hive.value
    alone = site_visits(instance.farm, there, 1, [(0, move)], (0, date, local_midnight(date, instance.zone)))
    return NumbersMove(
        drive_seconds=int(way.seconds[way.index(move.site), way.index(move.to)]),
        walk_seconds=whole_seconds(2 * there.walking_minutes),
        set_up_seconds=whole_seconds(kind.minutes_a_visit.value),
        hive_seconds=60 * minutes / hands(instance.farm.rules, crew.people) * there.pace * crew.pace,
        grams=sum(use.a_hive.value * THOUSAND * instance.farm.materials[use.material].kg_each.value for use in with_it),
        millilitres=sum(
            use.a_hive.value * THOUSAND * instance.farm.materials[use.material].litres_each.value for use in with_it
        ),
        windows=_windows(alone, [0], 0),
    )


def _job(instance: Instance, route: int, number: int) -> NumbersJob:
    job, task = instance.jobs[number], instance.problem.tasks[number]
    crew, date = instance.crews[route], instance.route_dates[route]
    kind, site = instance.farm.job_kinds[job.kind], instance.farm.site(job.site)
    a_hive = kind.minutes_a_hive.value / hands(instance.farm.rules, crew.people) * site.pace * crew.pace
    return NumbersJob(
        hives=job.hives,
        rank=job.rank,
        weight=ON_TIME_WEIGHT + min(days_overdue(job, date), LONGEST_OVERDUE_DAYS),
        of_hives=job.of_hives or job.hives,
        set_up_seconds=task.set_up_seconds,
        hive_seconds=60 * a_hive,
        takes=_amounts(kind.takes, job.helpings),
        brings_back=() if job.to else _amounts(kind.brings_back),
    )


def _amounts(uses: Sequence[MaterialUse], helpings: int = 1) -> tuple[MaterialAmount, ...]:
    return tuple(
        MaterialAmount(material=use.material, thousandths=use.a_hive.value * THOUSAND * helpings) for use in uses
    )
