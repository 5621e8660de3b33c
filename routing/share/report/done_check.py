"""A report held against the day that was written: nothing is taken that the page of that day could not have told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from zoneinfo import ZoneInfo

from routing.errors import Fault, ReportError
from routing.farm.faults import quoted
from routing.plain_words import day_words
from routing.season.sent_rounds import WrittenDay
from routing.share.report.done import Done, ReportedStop
from routing.share.report.done_details import ReportedJob

AFTER_HOME = dt.timedelta(hours=6)
"""Who comes home after midnight may tick until so long after; common practice, no source."""
SENT_WITHIN = dt.timedelta(days=366)
"""A report is sent at most so long after its day, and before it: a clock that is farther off is not set."""
MOST_FAULTS = 20


def require_of_day(report: Done, day: WrittenDay, time_zone: str, name: str) -> Done:
    """Return the report with the farm's own ids of sites and jobs. Raises ReportError with what the day cannot have."""
    faults = [Fault(name, 0, what, fix) for what, fix in _wrong(report, day, ZoneInfo(time_zone))]
    if faults:
        raise ReportError(faults[:MOST_FAULTS])
    return report.model_copy(update={"stops": tuple(_own(stop, day) for stop in report.stops)})


def _own(stop: ReportedStop, day: WrittenDay) -> ReportedStop:
    """Return a stop with the farm's own ids."""
    planned = [day.job(job.id) for job in stop.jobs]
    jobs = [job.model_copy(update={"id": own.id}) for job, own in zip(stop.jobs, planned, strict=True) if own]
    site = next((own.site for own in planned if own), stop.site)
    return stop.model_copy(update={"site": site, "jobs": tuple(jobs)})


def _wrong(report: Done, day: WrittenDay, zone: ZoneInfo) -> Iterator[tuple[str, str]]:
    """Yield what is wrong and what to do."""
    whole = "was a line of it changed? Ask for it again, as a file"
    if report.crew != day.crew:
        yield f"crew {quoted(report.crew)} is not that of round {day.key}, {quoted(day.crew)}", whole
    if report.date != day.date:
        yield f"{report.date} is not the day of round {day.key}, {day_words(day.date)}", whole
        return
    starts = dt.datetime.combine(day.date, dt.time.min, zone).astimezone(dt.UTC)
    ends = dt.datetime.combine(day.date + dt.timedelta(days=1), dt.time.min, zone).astimezone(dt.UTC)
    ends = max(ends, day.home.astimezone(dt.UTC) + AFTER_HOME)
    if not starts - SENT_WITHIN <= report.sent <= ends + SENT_WITHIN:
        yield f"sent {report.sent:%Y-%m-%d} is more than a year from its day", "is the phone's clock right?"
    for stop in report.stops:
        if stop.site not in day.sites:
            yield f"site {quoted(stop.site)} is none of round {day.key}", whole
        for job in stop.jobs:
            yield from _wrong_of_job(job, day, (starts, ends), zone, whole)
        if len({planned.site for job in stop.jobs if (planned := day.job(job.id))}) > 1:
            yield f"the jobs at site {quoted(stop.site)} are at several sites in round {day.key}", whole


def _wrong_of_job(
    job: ReportedJob, day: WrittenDay, within: tuple[dt.datetime, dt.datetime], zone: ZoneInfo, whole: str
) -> Iterator[tuple[str, str]]:
    planned, named = day.job(job.id), f"job {quoted(job.id)}"
    if planned is None:
        yield f"{named} is none of round {day.key}", whole
        return
    if job.kind and planned.kind and job.kind != planned.kind:
        yield f"{named} is of kind {quoted(planned.kind)} in round {day.key}, not {quoted(job.kind)}", whole
    if job.of_hives not in {None, planned.hives}:
        yield f"{named} has {planned.hives} hives in round {day.key}, not {job.of_hives}", whole
    if job.ticked is not None and not within[0] <= job.ticked < within[1]:
        when = f"{job.ticked.astimezone(zone):%Y-%m-%d %H:%M}"
        fix = "is the phone's clock right? Write it down by hand: outyard log add, or Record at the desk"
        yield f"{named} was ticked at {when}, which is not within its day, {day_words(day.date)}", fix
