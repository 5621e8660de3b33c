"""From the farm and its dates to a `Problem`: places, drives and routes.

Here, and in the modules of dates, work, demands and possible visits, farmer's words become integers; nowhere else.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import lcm
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from routing.daylight.sun import sun_day
from routing.farm.models import Crew, Farm, Job, Site
from routing.planning.model.dates import crews_out, home_date, local_midnight, seconds_of, wanted_later, whole_seconds
from routing.planning.model.demands import THOUSAND, supply_of, task_of
from routing.planning.model.instance import Instance
from routing.planning.model.load import carries
from routing.planning.model.possible_visits import ends_of, move_visits, site_visits
from routing.planning.model.problem import LIMITLESS, Planned, Problem, Route, Visit
from routing.planning.model.work import hive_seconds, work_seconds
from routing.travel.legs import Legs
from routing.weather.limits import finish_early_seconds


def build_instance(farm: Farm, legs: Legs, dates: Sequence[dt.date]) -> Instance:
    """Return the problem of one date or several, in order, each once.

    `legs` must hold the base first, then the farm's sites in order. A day far from the others costs nothing: its
    seconds are only larger numbers.
    """
    zone = ZoneInfo(farm.time_zone)
    midnight = local_midnight(dates[0], zone)
    due = [job for job in farm.jobs if not wanted_later(job, dates[-1])]
    materials = tuple(sorted(farm.materials))
    supply_index = {material: index for index, material in enumerate(materials)}
    scale = lcm(*(job.of_hives for job in due if job.of_hives))
    out = [(crew, day, date) for day, date in enumerate(dates) for crew in crews_out(farm, date)]
    numbers = {site.id: number for number, site in enumerate(farm.sites, start=1)}
    moves = [(index, job) for index, job in enumerate(due) if job.to]
    rows = [(row, row) for row in range(len(farm.sites) + 1)]
    rows += [(numbers[job.site], numbers[job.to]) for _, job in moves]
    move_places = {index: place for place, (index, _) in enumerate(moves, start=len(farm.sites) + 1)}
    drives = _drives(farm, legs, rows)
    may = {crew.id: _may(farm, legs, crew, due) for crew, _, _ in out}
    problem = _once_a_trip(
        Problem(
            supplies=tuple(supply_of(farm, material) for material in materials),
            tasks=tuple(task_of(job, farm.job_kinds[job.kind], supply_index, dates[0], scale) for job in due),
            visits=tuple(_visits(farm, due, move_places, dates)),
            routes=tuple(_route(farm, drives, crew, may[crew.id], (day, date, midnight)) for crew, day, date in out),
        )
    )
    return Instance(
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
        not_due=tuple(job for job in farm.jobs if wanted_later(job, dates[-1])),
    )


def _visits(
    farm: Farm, jobs: Sequence[Job], move_places: Mapping[int, int], dates: Sequence[dt.date]
) -> Iterator[Visit]:
    """Yield the possible visits of all dates: of each date those of the farm's sites in order, then those of moves."""
    midnight = local_midnight(dates[0], ZoneInfo(farm.time_zone))
    jobs_at: dict[str, list[tuple[int, Job]]] = {site.id: [] for site in farm.sites}
    for index, job in enumerate(jobs):
        if not job.to:
            jobs_at[job.site].append((index, job))
    for day, date in enumerate(dates):
        when = (day, date, midnight)
        for place, site in enumerate(farm.sites, start=1):
            yield from site_visits(farm, site, place, jobs_at[site.id], when)
        for index, place in move_places.items():
            yield from move_visits(farm, jobs[index], place, index, when)


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


May = tuple[tuple[int, ...], tuple[bool, ...]]
"""By job: the seconds of work that it takes a crew, and whether the crew can do it."""


def _may(farm: Farm, legs: Legs, crew: Crew, jobs: Sequence[Job]) -> May:
    vehicle = farm.vehicles[crew.vehicle]
    sites = {site.id: site for site in farm.sites}
    kinds = [farm.job_kinds[job.kind] for job in jobs]
    work = tuple(
        work_seconds(farm, legs, crew, job)
        if job.to
        else hive_seconds(farm, crew, sites[job.site], kind.minutes_a_hive.value, job.hives)
        for kind, job in zip(kinds, jobs, strict=True)
    )
    allowed = tuple(
        kind.people <= crew.people and all(vehicle_reaches(vehicle.reaches, sites[end]) for end in ends_of(job))
        for kind, job in zip(kinds, jobs, strict=True)
    )
    return work, allowed


def _route(farm: Farm, drives: Drives, crew: Crew, may: May, when: tuple[int, dt.date, dt.datetime]) -> Route:
    day, date, midnight = when
    zone = ZoneInfo(farm.time_zone)
    start = seconds_of(dt.datetime.combine(date, crew.earliest_start, tzinfo=zone), midnight)
    home_by = seconds_of(dt.datetime.combine(home_date(crew, date), crew.home_by, tzinfo=zone), midnight)
    dusk = sun_day(farm.base.place, date, zone).civil_dusk if crew.home_before_dark else None
    if dusk is not None:
        home_by = min(home_by, int((dusk.astimezone(dt.UTC) - midnight.astimezone(dt.UTC)).total_seconds()))
    vehicle = farm.vehicles[crew.vehicle]
    earliest_leave = start + whole_seconds(farm.base.loading_minutes)
    return Route(
        earliest_leave=earliest_leave,
        leaves_by=LIMITLESS if farm.underway is None else earliest_leave,
        home_by=home_by - finish_early_seconds(farm.rules),
        payload_grams=int(round(vehicle.payload_kg * THOUSAND, 6)),
        space_millilitres=int(round(vehicle.space_litres * THOUSAND, 6)),
        break_seconds=whole_seconds(crew.break_minutes),
        break_after_seconds=int(round(crew.break_after_hours * 3600, 6)),
        work_seconds=may[0],
        allowed=may[1],
        drive_seconds=drives[crew.vehicle][0],
        drive_metres=drives[crew.vehicle][1],
        day=day,
        most_trips=crew.trips_a_day,
        reload_seconds=whole_seconds(farm.base.loading_minutes),
    )


def vehicle_reaches(reaches: frozenset[str], site: Site) -> bool:
    """Return whether a vehicle that reaches these can get to the site."""
    return not site.vehicle_needed or site.vehicle_needed in reaches
