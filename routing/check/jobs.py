"""Jobs: each of the farm's is planned once or left out once, told as the farm has it, and never done too soon."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator

from routing.check.ground import Ground
from routing.check.moves import cautions_are_right, stop_seconds
from routing.check.sentences import broken, left_of, same, stop_of
from routing.farm.models import Job
from routing.round import Itinerary, PlannedJob, Round


def every_job_once(round_: Round, ground: Ground) -> Iterator[str]:
    """Yield each job that is not planned once or left out once."""
    planned = Counter(job.id for day in round_.itineraries for stop in day.stops for job in stop.jobs)
    left = Counter(job.id for entry in round_.left_out for job in entry.jobs)
    for job in ground.jobs.values():
        times = planned[job.id] + left[job.id]
        if times != 1:
            found = f"planned {planned[job.id]} times, left out {left[job.id]} times"
            promise = "every job is planned once or left out once"
            yield broken(f"job {job.id} at {job.site}", promise, "1 of the two", found)


def overdue_days(job: Job, date: dt.date) -> int:
    """Return by how many days the date is past the day by which the job was due."""
    return 0 if job.due_by is None else max(0, (date - job.due_by).days)


def _told_right(where: str, site: str, shown: PlannedJob, ground: Ground) -> Iterator[str]:
    job = ground.jobs[shown.id]
    kind = ground.kind(job)
    yield from same(where, "the job belongs to the site", job.site, site)
    yield from same(where, "the kind of the job is right", job.kind, shown.kind)
    yield from same(where, "the name of the job is right", kind.name, shown.name)
    yield from same(where, "the hives of the job are right", job.hives, shown.hives)
    yield from same(where, "the rank of the job is right", job.rank, shown.rank)
    yield from same(where, "the note of the job is right", job.note, shown.note)
    yield from cautions_are_right(where, job, shown.cautions, ground)
    yield from same(where, "the site that the hives go to is right", job.to, shown.to)
    yield from same(where, "a promised day is told", job.promised is not None, shown.promised)
    name = ground.sites[job.to].name if job.to else ""
    yield from same(where, "the name of the site that the hives go to is right", name, shown.to_name)


def planned_jobs_are_told_right(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where a planned job's facts, days overdue or work are not right."""
    crew = ground.crews[itinerary.crew]
    for stop in itinerary.stops:
        for shown in stop.jobs:
            where, job = f"{stop_of(itinerary, stop)}, job {shown.id}", ground.jobs[shown.id]
            yield from _told_right(where, stop.site, shown, ground)
            yield from same(where, "days overdue are right", overdue_days(job, itinerary.date), shown.days_overdue)
            work = ground.work_seconds(job, crew)
            yield from same(where, "work_seconds of the job are right", work, shown.work_seconds)


def visits_last_as_long_as_their_jobs(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each stop whose on-site seconds are not walk, one set-up and its jobs together."""
    crew = ground.crews[itinerary.crew]
    for stop in itinerary.stops:
        seconds = stop_seconds(stop, crew, ground)
        where = stop_of(itinerary, stop)
        yield from same(where, "on_site_seconds are walk, set-up and work", seconds, stop.on_site_seconds)


def nothing_too_soon(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each job that is done before it may be, or on another day than was promised."""
    for stop in itinerary.stops:
        for shown in stop.jobs:
            not_before = ground.jobs[shown.id].not_before
            if not_before is not None and itinerary.date < not_before:
                where = f"{stop_of(itinerary, stop)}, job {shown.id}"
                yield broken(where, "no job is done before it may be", f"{not_before} or later", itinerary.date)
            promised = ground.jobs[shown.id].promised
            if promised is not None and itinerary.date != promised:
                where = f"{stop_of(itinerary, stop)}, job {shown.id}"
                yield broken(where, "a promised job is done on its day", promised, itinerary.date)


def left_out_jobs_are_told_right(round_: Round, ground: Ground) -> Iterator[str]:
    """Yield where a left-out entry's site or jobs are not told as the farm has them.

    Nobody does a left-out job, so its work is 0 seconds; its days overdue are those of any date of the round.
    """
    for left in round_.left_out:
        where, site = left_of(left), ground.sites[left.site]
        yield from same(where, "the site's name is right", site.name, left.name)
        yield from same(where, "the site's latitude is right", site.place.latitude, left.latitude)
        yield from same(where, "the site's longitude is right", site.place.longitude, left.longitude)
        for shown in left.jobs:
            job, line = ground.jobs[shown.id], f"{where}, job {shown.id}"
            yield from _told_right(line, left.site, shown, ground)
            overdue = sorted({overdue_days(job, date) for date in round_.dates})
            if shown.days_overdue not in overdue:
                yield broken(line, "days overdue are right", overdue, shown.days_overdue)
            yield from same(line, "work_seconds are 0 for a job that nobody does", 0, shown.work_seconds)
