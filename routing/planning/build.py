"""From the farm and a date to a `Problem`: the only place where farmer's words become integers."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product
from math import ceil, lcm
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from routing.daylight.sun import sun_day
from routing.daylight.weather import finish_early_seconds, work_need, work_windows
from routing.farm.models import Crew, Farm, Figure, Job, JobKind, MaterialUse, Rank, Rules, Site
from routing.planning.load import carries
from routing.planning.problem import LIMITLESS, NO_LIMIT, Orders, Planned, Problem, Route, Supply, Task, Visit
from routing.travel.legs import Legs

ON_TIME_WEIGHT = 7
"""A job counts this much and one more for each day overdue: a week late counts as two on time."""

LONGEST_OVERDUE_DAYS = 365
THOUSAND = 1000


@dataclass(frozen=True)
class Days:
    """A problem for one date or several, and what its indices stand for; seconds count from the first midnight."""

    dates: tuple[dt.date, ...]
    """In order, each once, at least one."""
    zone: ZoneInfo
    farm: Farm
    legs: Legs
    problem: Problem
    jobs: tuple[Job, ...]
    """Shape (tasks,)."""
    sites: tuple[Site, ...]
    """Shape (places - 1,): the site at which place i + 1 is entered: the farm's sites, then one place for each move."""
    task_places: tuple[int, ...]
    """Shape (tasks,): the place of each task."""
    rows: tuple[tuple[int, int], ...]
    """Shape (places,): the rows of the legs at which a place is entered and from which it is left; two for a move."""
    crews: tuple[Crew, ...]
    """Shape (routes,): who goes; a route is one crew on one date."""
    route_dates: tuple[dt.date, ...]
    """Shape (routes,): when."""
    materials: tuple[str, ...]
    """Shape (supplies,)."""
    weight_scale: int
    """By which all weights are multiplied, so that a part of a job weighs its share of the hives in whole numbers."""
    not_due: tuple[Job, ...]

    @property
    def midnight(self) -> dt.datetime:
        """The instant from which the problem's seconds count."""
        return local_midnight(self.dates[0], self.zone)

    @property
    def date(self) -> dt.date:
        """The first date."""
        return self.dates[0]

    def left_from(self, place: int) -> Site:
        """Return the site from which a place other than the base is left."""
        return self.sites[self.rows[place][1] - 1]

    def clock(self, seconds: int) -> dt.datetime:
        """Return the local time that a count of seconds stands for."""
        instant = self.midnight.astimezone(dt.UTC) + dt.timedelta(seconds=seconds)
        return instant.astimezone(self.zone)


def build_days(farm: Farm, legs: Legs, dates: Sequence[dt.date]) -> Days:
    """Return the problem of one date or several, in order, each once.

    `legs` must hold the base first, then the farm's sites in order. A day far from the others costs nothing: its
    seconds are only larger numbers.
    """
    zone = ZoneInfo(farm.time_zone)
    midnight = local_midnight(dates[0], zone)
    due = [job for job in farm.jobs if not _later(job, dates[-1])]
    materials = tuple(sorted(farm.materials))
    supply_index = {material: index for index, material in enumerate(materials)}
    scale = lcm(*(job.of_hives for job in due if job.of_hives))
    out = [(crew, day, date) for day, date in enumerate(dates) for crew in crews_out(farm, date)]
    numbers = {site.id: number for number, site in enumerate(farm.sites, start=1)}
    jobs_at: dict[str, list[tuple[int, Job]]] = {site.id: [] for site in farm.sites}
    moves = [(index, job) for index, job in enumerate(due) if job.to]
    for index, job in enumerate(due):
        if not job.to:
            jobs_at[job.site].append((index, job))
    rows = [(row, row) for row in range(len(farm.sites) + 1)]
    rows += [(numbers[job.site], numbers[job.to]) for _, job in moves]
    move_places = {index: place for place, (index, _) in enumerate(moves, start=len(farm.sites) + 1)}
    drives = _drives(farm, legs, rows)
    problem = _once_a_trip(
        Problem(
            supplies=tuple(_supply(farm, material) for material in materials),
            tasks=tuple(_task(job, farm.job_kinds[job.kind], supply_index, dates[0], scale) for job in due),
            visits=tuple(
                visit
                for day, date in enumerate(dates)
                for visit in (
                    *(
                        visit
                        for place, site in enumerate(farm.sites, start=1)
                        for visit in _visits(farm, site, place, jobs_at[site.id], (day, date, midnight))
                    ),
                    *(
                        visit
                        for index, job in moves
                        for visit in _move_visits(farm, job, move_places[index], index, (day, date, midnight))
                    ),
                )
            ),
            routes=tuple(_route(farm, legs, drives, crew, due, (day, date, midnight)) for crew, day, date in out),
        )
    )
    return Days(
        dates=tuple(dates),
        zone=zone,
        farm=farm,
        legs=legs,
        problem=problem,
        jobs=tuple(due),
        sites=(*farm.sites, *(farm.sites[numbers[job.site] - 1] for _, job in moves)),
        task_places=tuple(move_places.get(index, numbers[job.site]) for index, job in enumerate(due)),
        rows=tuple(rows),
        crews=tuple(crew for crew, _, _ in out),
        route_dates=tuple(date for _, _, date in out),
        materials=materials,
        weight_scale=scale,
        not_due=tuple(job for job in farm.jobs if _later(job, dates[-1])),
    )


def _once_a_trip(problem: Problem) -> Problem:
    """Return the problem in which a visit that is too much for one load may be made again on another trip that day."""
    kinds: dict[tuple[int, int, int, int, tuple[bool, ...]], int] = {}
    for number, route in enumerate(problem.routes):
        if problem.returns[number]:
            kind = (route.day, route.most_trips, route.payload_grams, route.space_millilitres, route.allowed)
            kinds.setdefault(kind, number)
    again: list[Visit] = []
    for number, visit in enumerate(problem.visits):
        more = 0
        for (day, trips, _, _, allowed), first in kinds.items():
            tasks = tuple(task for task in visit.tasks if allowed[task])
            if day == visit.day and len(tasks) > 1 and not carries(problem, first, (Planned(number, tasks),)):
                more = max(more, min(trips, len(tasks)) - 1)
        again += [visit] * more
    return replace(problem, visits=(*problem.visits, *again)) if again else problem


def on_time(days: Days) -> Problem:
    """Return the problem in which no task is done after its due date on any date but the first that it may be done.

    Visits keep their numbers, so that orders of one problem are orders of the other.
    """
    first = {
        task: next((date for date in days.dates if may_be_done(job, date)), days.date)
        for task, job in enumerate(days.jobs)
    }

    def in_time(task: int, date: dt.date) -> bool:
        due_by = days.jobs[task].due_by
        return due_by is None or date <= max(due_by, first[task])

    visits = tuple(
        replace(visit, tasks=tuple(task for task in visit.tasks if in_time(task, days.dates[visit.day])))
        for visit in days.problem.visits
    )
    return replace(days.problem, visits=visits)


def no_later(days: Days, orders: Orders) -> Problem:
    """Return the problem of the tasks in these orders alone, in which none is more days overdue than there.

    Visits keep their numbers, so that orders of one problem are orders of the other.
    """
    late = {
        task: days_overdue(days.jobs[task], days.route_dates[route])
        for route, order in enumerate(orders)
        for planned in order
        for task in planned.tasks
    }

    def may(task: int, date: dt.date) -> bool:
        return task in late and days_overdue(days.jobs[task], date) <= late[task]

    visits = tuple(
        replace(visit, tasks=tuple(task for task in visit.tasks if may(task, days.dates[visit.day])))
        for visit in days.problem.visits
    )
    return replace(days.problem, visits=visits)


def may_be_done(job: Job, date: dt.date) -> bool:
    """Return whether the job is not wanted later than the date, nor promised for another."""
    return not _later(job, date) and job.promised in {None, date}


def _later(job: Job, date: dt.date) -> bool:
    return job.not_before is not None and job.not_before > date


def crews_out(farm: Farm, date: dt.date) -> tuple[Crew, ...]:
    """Return the crews that can go out on the date: of those that share a vehicle, the first that works."""
    first: dict[str, Crew] = {}
    for crew in farm.crews:
        if not day_off(crew, date):
            first.setdefault(crew.vehicle, crew)
    return tuple(first.values())


def local_midnight(date: dt.date, zone: ZoneInfo) -> dt.datetime:
    """Return the start of the local date, zone-aware."""
    return dt.datetime.combine(date, dt.time(), tzinfo=zone)


def whole_seconds(minutes: float) -> int:
    """Return minutes as seconds, rounded to a millionth and then up, as the arithmetic contract has it."""
    return ceil(round(minutes * 60, 6))


def hands(rules: Rules, people: int) -> float:
    """Return by how much hive minutes shrink for a crew of `people`."""
    return 1 + rules.extra_hands_share.value * (people - 1)


def day_off(crew: Crew, date: dt.date) -> bool:
    """Return whether the crew does not work on the date."""
    return date.weekday() in crew.days_off_weekdays or date in crew.days_off_dates


def days_overdue(job: Job, date: dt.date) -> int:
    """Return by how many days the date is past the job's due date, 0 where it is not."""
    return max(0, (date - job.due_by).days) if job.due_by else 0


def seconds_of(moment: dt.datetime, midnight: dt.datetime) -> int:
    """Return real seconds from midnight to the moment, so that a clock change inside the day counts."""
    return round((moment.astimezone(dt.UTC) - midnight.astimezone(dt.UTC)).total_seconds())


Drives = dict[str, tuple[NDArray[np.int64], NDArray[np.int64]]]
"""By vehicle: seconds and metres, each of shape (places, places)."""


def _drives(farm: Farm, legs: Legs, rows: Sequence[tuple[int, int]]) -> Drives:
    """Return the drives between all places; vehicles that drive alike share theirs.

    A move is entered at one site and left from another. Its own metres count on the way there, its own seconds as work:
    so every engine sees a place like any other, where the way there is not the way back. Without a way between the
    two sites there is none to the place.
    """
    entered, left = (np.array(ends) for ends in zip(*rows, strict=True))
    made: dict[int, tuple[NDArray[np.int64], NDArray[np.int64]]] = {}
    for vehicle in farm.vehicles:
        way = legs.of(vehicle)
        if id(way) not in made and len(rows) == len(way.places):
            made[id(way)] = way.seconds, way.metres
        elif id(way) not in made:
            seconds, metres = way.seconds[np.ix_(left, entered)], way.metres[np.ix_(left, entered)]
            moved = entered != left
            shut = (seconds < 0) | (moved & (way.seconds[entered, left] < 0))[None, :]
            between = np.where(moved, way.metres[entered, left], 0)[None, :]
            made[id(way)] = np.where(shut, -1, seconds), np.where(shut, -1, metres + between)
    return {vehicle: made[id(legs.of(vehicle))] for vehicle in farm.vehicles}


def _task(job: Job, kind: JobKind, supply_index: dict[str, int], date: dt.date, scale: int) -> Task:
    def amounts(uses: Iterable[MaterialUse], times: int = 1) -> tuple[tuple[int, int], ...]:
        return tuple((supply_index[use.material], _thousandths(use.a_hive, job.hives * times)) for use in uses)

    return Task(
        set_up_seconds=whole_seconds(kind.minutes_a_visit.value),
        rank=list(Rank).index(job.rank),
        weight=_weight(job, date, scale),
        uses=amounts(kind.takes, job.helpings),
        back=() if job.to else amounts(kind.brings_back),
        carried=amounts(kind.brings_back) if job.to else (),
        people=kind.people,
    )


def _weight(job: Job, date: dt.date, scale: int) -> int:
    """Return what a job counts inside its rank; a part of one its share of the hives."""
    whole = (ON_TIME_WEIGHT + min(days_overdue(job, date), LONGEST_OVERDUE_DAYS)) * scale
    return whole * job.hives // job.of_hives if job.of_hives else whole


def _thousandths(a_hive: Figure, hives: int) -> int:
    return ceil(round(a_hive.value * hives * THOUSAND, 6))


def _supply(farm: Farm, material: str) -> Supply:
    facts = farm.materials[material]
    stock = farm.stock.get(material)
    return Supply(
        pack=round(facts.sold_by.value * THOUSAND) if facts.sold_by else 0,
        stock=NO_LIMIT if stock is None else int(round(stock * THOUSAND, 6)),
        grams_each=facts.kg_each.value,
        millilitres_each=facts.litres_each.value,
    )


def hive_seconds(farm: Farm, crew: Crew, site: Site, minutes: float, hives: int) -> int:
    """Return what so many hives at a site take a crew at so many minutes of one person each."""
    return whole_seconds(minutes * hives / hands(farm.rules, crew.people) * site.pace * crew.pace)


def set_down_seconds(farm: Farm, crew: Crew, job: Job) -> tuple[int, int]:
    """Return the seconds at the site that a job's hives are moved to: all of them, and those of the hives alone."""
    kind, site = farm.job_kinds[job.kind], farm.site(job.to)
    if kind.set_down_minutes_a_hive is None:
        raise AssertionError(f"job kind {kind.id} moves no hives to another site")
    work = hive_seconds(farm, crew, site, kind.set_down_minutes_a_hive.value, job.hives)
    return whole_seconds(2 * site.walking_minutes) + whole_seconds(kind.minutes_a_visit.value) + work, work


def load_seconds(farm: Farm, crew: Crew, job: Job) -> int:
    """Return what a job's hives take the crew at the job's own site."""
    return hive_seconds(farm, crew, farm.site(job.site), farm.job_kinds[job.kind].minutes_a_hive.value, job.hives)


def _work_seconds(farm: Farm, legs: Legs, crew: Crew, job: Job) -> int:
    """Return what a job takes a crew, set-up not counted; for a move with the drive and all that is done after it."""
    work = load_seconds(farm, crew, job)
    if not job.to:
        return work
    way = legs.of(crew.vehicle)
    drive = int(way.seconds[way.index(job.site), way.index(job.to)])
    return work + max(0, drive) + set_down_seconds(farm, crew, job)[0]


def _route(
    farm: Farm, legs: Legs, drives: Drives, crew: Crew, jobs: Sequence[Job], when: tuple[int, dt.date, dt.datetime]
) -> Route:
    day, date, midnight = when
    zone = ZoneInfo(farm.time_zone)
    start = seconds_of(dt.datetime.combine(date, crew.earliest_start, tzinfo=zone), midnight)
    home_by = seconds_of(dt.datetime.combine(_home_date(crew, date), crew.home_by, tzinfo=zone), midnight)
    dusk = sun_day(farm.base.place, date, zone).civil_dusk if crew.home_before_dark else None
    if dusk is not None:
        home_by = min(home_by, int((dusk.astimezone(dt.UTC) - midnight.astimezone(dt.UTC)).total_seconds()))
    vehicle = farm.vehicles[crew.vehicle]
    sites = {site.id: site for site in farm.sites}
    kinds = [farm.job_kinds[job.kind] for job in jobs]
    earliest_leave = start + whole_seconds(farm.base.loading_minutes)
    return Route(
        earliest_leave=earliest_leave,
        leaves_by=LIMITLESS if farm.underway is None else earliest_leave,
        home_by=home_by - finish_early_seconds(farm.rules),
        payload_grams=int(round(vehicle.payload_kg * THOUSAND, 6)),
        space_millilitres=int(round(vehicle.space_litres * THOUSAND, 6)),
        break_seconds=whole_seconds(crew.break_minutes),
        break_after_seconds=int(round(crew.break_after_hours * 3600, 6)),
        work_seconds=tuple(_work_seconds(farm, legs, crew, job) for job in jobs),
        allowed=tuple(
            kind.people <= crew.people and all(vehicle_reaches(vehicle.reaches, sites[end]) for end in ends_of(job))
            for kind, job in zip(kinds, jobs, strict=True)
        ),
        drive_seconds=drives[crew.vehicle][0],
        drive_metres=drives[crew.vehicle][1],
        day=day,
        most_trips=crew.trips_a_day,
        reload_seconds=whole_seconds(farm.base.loading_minutes),
    )


def ends_of(job: Job) -> tuple[str, ...]:
    """Return the sites that a job is done at: two where hives are moved from the one to the other."""
    return (job.site, job.to) if job.to else (job.site,)


def _home_date(crew: Crew, date: dt.date) -> dt.date:
    return date if crew.home_by > crew.earliest_start else date + dt.timedelta(days=1)


def vehicle_reaches(reaches: frozenset[str], site: Site) -> bool:
    """Return whether a vehicle that reaches these can get to the site."""
    return not site.vehicle_needed or site.vehicle_needed in reaches


def _visits(
    farm: Farm, site: Site, place: int, jobs: Sequence[tuple[int, Job]], when: tuple[int, dt.date, dt.datetime]
) -> list[Visit]:
    """Return the possible visits of one site on one date: a set of needs and a window each, none covered by another."""
    day, date, midnight = when
    zone = ZoneInfo(farm.time_zone)
    jobs = [(index, job) for index, job in jobs if may_be_done(job, date)]
    need_of = {index: work_need(farm, farm.job_kinds[job.kind]) for index, job in jobs}
    present = sorted(set(need_of.values()))
    early = finish_early_seconds(farm.rules)
    shuts = {seconds_of(dt.datetime.combine(date, hours.closes, tzinfo=zone), midnight) - early for hours in site.hours}
    found: list[tuple[int, int, frozenset[int]]] = []
    for size in range(len(present), 0, -1):
        for needs in combinations(present, size):
            tasks = frozenset(index for index, need in need_of.items() if need in needs)
            for window in work_windows(farm, site, date, zone, needs):
                span = (seconds_of(window.opens, midnight), seconds_of(window.closes, midnight), tasks)
                if not any(_covers(other, span) for other in found):
                    found.append(span)
    return [
        Visit(
            place=place,
            opens=opens,
            closes=closes,
            tasks=tuple(sorted(tasks)),
            walk_seconds=whole_seconds(2 * site.walking_minutes),
            last_of_day=site.last_of_day,
            day=day,
            closed_by_light=closes not in shuts,
        )
        for opens, closes, tasks in found
    ]


def _move_visits(
    farm: Farm, job: Job, place: int, task: int, when: tuple[int, dt.date, dt.datetime]
) -> Iterator[Visit]:
    """Yield the possible visits of one move on one date: all of it while both sites are open and have the light."""
    day, date, midnight = when
    if not may_be_done(job, date):
        return
    zone = ZoneInfo(farm.time_zone)
    sites = [farm.site(end) for end in ends_of(job)]
    need = work_need(farm, farm.job_kinds[job.kind])
    early = finish_early_seconds(farm.rules)
    shuts = {
        seconds_of(dt.datetime.combine(date, hours.closes, tzinfo=zone), midnight) - early
        for site in sites
        for hours in site.hours
    }
    here, there = (
        [
            (seconds_of(window.opens, midnight), seconds_of(window.closes, midnight))
            for window in work_windows(farm, site, date, zone, (need,))
        ]
        for site in sites
    )
    for first, second in product(here, there):
        opens, closes = max(first[0], second[0]), min(first[1], second[1])
        if opens < closes:
            yield Visit(
                place=place,
                opens=opens,
                closes=closes,
                tasks=(task,),
                walk_seconds=whole_seconds(2 * sites[0].walking_minutes),
                day=day,
                closed_by_light=closes not in shuts,
            )


def _covers(outer: tuple[int, int, frozenset[int]], inner: tuple[int, int, frozenset[int]]) -> bool:
    """Return whether all that the inner visit could do, the outer could do at the same times."""
    return outer[0] <= inner[0] and outer[1] >= inner[1] and outer[2] >= inner[2]
