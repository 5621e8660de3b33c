"""The visits that a site, or a move of hives between two, may have on a date."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from itertools import combinations, product
from zoneinfo import ZoneInfo

from routing.farm.models import Farm, Job, Site
from routing.planning.model.dates import may_be_done, seconds_of, whole_seconds
from routing.planning.model.problem import Visit
from routing.weather.limits import finish_early_seconds, work_need, work_windows


def ends_of(job: Job) -> tuple[str, ...]:
    """Return the sites that a job is done at: two where hives are moved from the one to the other."""
    return (job.site, job.to) if job.to else (job.site,)


def site_visits(
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


def move_visits(farm: Farm, job: Job, place: int, task: int, when: tuple[int, dt.date, dt.datetime]) -> Iterator[Visit]:
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
