"""Which left-out work lies near a crew's day, so that its page can offer it where there is time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from routing.farm.models import Place
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
    found: dict[tuple[int, str], list[int]] = {}
    ways: dict[tuple[int, str], int] = {}
    for task in (task for task in tasks if not instance.jobs[task].to):
        here = [
            (way, at) for at, day in enumerate(round_.itineraries) if (way := _way(instance, day, task)) is not None
        ]
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


def _way(instance: Instance, day: Itinerary, task: int) -> int | None:
    """Return the seconds of driving that a job at its best place adds to a day, None where the day cannot have it."""
    route = route_of(instance, day)
    rules, visits = instance.problem.routes[route], instance.problem.visits
    if not rules.allowed[task] or all(visits[each].day != rules.day for each in instance.problem.visits_of[task]):
        return None
    rows = {site.id: row for row, site in reversed(list(enumerate(instance.sites, start=1)))}
    places = [0, *(rows.get(stop.site, 0) for stop in day.stops), 0]
    there = instance.task_places[task]
    return _least_detour(rules.drive_seconds.tolist(), places, there)


def _least_detour(drives: Sequence[Sequence[int]], places: Sequence[int], there: int) -> int | None:
    more = [
        drives[here][there] + drives[there][after] - drives[here][after]
        for here, after in pairwise(places)
        if min(drives[here][there], drives[there][after]) >= 0
    ]
    return max(0, min(more)) if more else None


def _place(instance: Instance, day: Itinerary, site: str) -> Place:
    parked = stopping_place(instance, route_of(instance, day), site)
    at = parked or instance.farm.site(site).place
    return Place(latitude=at.latitude, longitude=at.longitude)


def route_of(instance: Instance, day: Itinerary) -> int:
    """Return the number of a crew's day in the problem."""
    pairs = zip(instance.crews, instance.route_dates, strict=True)
    return next(at for at, (crew, date) in enumerate(pairs) if (crew.id, date) == (day.crew, day.date))
