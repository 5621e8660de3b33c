"""What work takes a crew at a site, in whole seconds."""

from __future__ import annotations

from routing.farm.models import Crew, Farm, Job, Rules, Site
from routing.planning.model.dates import whole_seconds
from routing.travel.legs import Legs


def hands(rules: Rules, people: int) -> float:
    """Return by how much hive minutes shrink for a crew of `people`."""
    return 1 + rules.extra_hands_share.value * (people - 1)


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


def work_seconds(farm: Farm, legs: Legs, crew: Crew, job: Job) -> int:
    """Return what a job takes a crew, set-up not counted; for a move with the drive and all that is done after it."""
    work = load_seconds(farm, crew, job)
    if not job.to:
        return work
    way = legs.of(crew.vehicle)
    drive = int(way.seconds[way.index(job.site), way.index(job.to)])
    return work + max(0, drive) + set_down_seconds(farm, crew, job)[0]
