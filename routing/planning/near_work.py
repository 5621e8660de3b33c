"""Which left-out work lies near a crew's day, so that its page can offer it where there is time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import Place
from routing.planning.model.detours import NO_WAY, detours
from routing.planning.model.instance import Instance
from routing.planning.model.parked import stopping_place
from routing.round import Itinerary, ReasonCode, Round

NEAR_SECONDS = 1200
"""Of driving more, between two places of the day that follow each other; our own choice."""

MOST_NEAR = 6
"""Sites of a day, those with the least driving first: a few that one can choose among while standing in a field."""


@dataclass(frozen=True)
class NearWork:
    """Left-out jobs of one site."""

    site: str
    tasks: tuple[int, ...]
    place: Place
    """Where the vehicle stops, else the site's place."""


def near_work(instance: Instance, round_: Round) -> list[list[NearWork]]:
    """Return for each itinerary what is left out near it: each job in one day alone, where its way is the least.

    What is left out for a reason that holds whatever else is planned is not offered, nor is a move of hives.
    """
    numbers = {job.id: number for number, job in enumerate(instance.jobs)}
    open_ = (left for left in round_.left_out if left.reason is ReasonCode.NO_ROOM)
    tasks = [numbers[job.id] for left in open_ for job in left.jobs if job.id in numbers]
    tasks = [task for task in tasks if not instance.jobs[task].to]
    found: dict[tuple[int, str], list[int]] = {}
    ways: dict[tuple[int, str], int] = {}
    of_days = [_ways(instance, day, tasks) for day in round_.itineraries]
    for task, each in zip(tasks, zip(*of_days, strict=True), strict=False):
        here = [(way, at) for at, way in enumerate(each) if way is not None]
        if here and min(here)[0] <= NEAR_SECONDS:
            way, at = min(here)
            key = at, instance.jobs[task].site
            found.setdefault(key, []).append(task)
            ways[key] = way
    return [
        [
            NearWork(site, tuple(found[at, site]), _place(instance, day, site))
            for _, site in sorted((ways[key], key[1]) for key in found if key[0] == at)[:MOST_NEAR]
        ]
        for at, day in enumerate(round_.itineraries)
    ]


def _ways(instance: Instance, day: Itinerary, tasks: Sequence[int]) -> list[int | None]:
    """Return the seconds of driving that each job adds to a day at its best place, None where it cannot be there."""
    route = route_of(instance, day)
    rules, problem = instance.problem.routes[route], instance.problem
    rows = {site.id: row for row, site in reversed(list(enumerate(instance.sites, start=1)))}
    places = [0, *(rows.get(stop.site, 0) for stop in day.stops), 0]
    more = _least_detours(rules.drive_seconds, places, [instance.task_places[task] for task in tasks])
    return [
        way
        if rules.allowed[task] and any(problem.visits[each].day == rules.day for each in problem.visits_of[task])
        else None
        for task, way in zip(tasks, more, strict=True)
    ]


def _least_detours(drives: NDArray[Any], places: Sequence[int], there: Sequence[int]) -> list[int | None]:
    """Return for each of the places `there` the least driving more between two places that follow each other.

    None stands where there is no way. Drives are whole seconds, shape (places, places), negative where there is none.
    """
    new = np.array(there, dtype=np.int64)
    least = detours(drives, np.array(places[:-1]), np.array(places[1:]), new).min(axis=0)
    return [None if way == NO_WAY else max(0, way) for way in least.tolist()]


def _place(instance: Instance, day: Itinerary, site: str) -> Place:
    parked = stopping_place(instance, route_of(instance, day), site)
    at = parked or instance.farm.site(site).place
    return Place(latitude=at.latitude, longitude=at.longitude)


def route_of(instance: Instance, day: Itinerary) -> int:
    """Return the number of a crew's day in the problem."""
    pairs = zip(instance.crews, instance.route_dates, strict=True)
    return next(at for at, (crew, date) in enumerate(pairs) if (crew.id, date) == (day.crew, day.date))
