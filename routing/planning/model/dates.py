"""Dates and clocks: which jobs and crews a date has, and moments as whole seconds."""

from __future__ import annotations

import datetime as dt
from math import ceil
from zoneinfo import ZoneInfo

from routing.farm.models import Crew, Farm, Job


def may_be_done(job: Job, date: dt.date) -> bool:
    """Return whether the job is not wanted later than the date, nor promised for another."""
    return not wanted_later(job, date) and job.promised in {None, date}


def wanted_later(job: Job, date: dt.date) -> bool:
    """Return whether the job is not to be done before a later date."""
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


def day_off(crew: Crew, date: dt.date) -> bool:
    """Return whether the crew does not work on the date."""
    return date.weekday() in crew.days_off_weekdays or date in crew.days_off_dates


def days_overdue(job: Job, date: dt.date) -> int:
    """Return by how many days the date is past the job's due date, 0 where it is not."""
    return max(0, (date - job.due_by).days) if job.due_by else 0


def seconds_of(moment: dt.datetime, midnight: dt.datetime) -> int:
    """Return real seconds from midnight to the moment, so that a clock change inside the day counts."""
    return round((moment.astimezone(dt.UTC) - midnight.astimezone(dt.UTC)).total_seconds())


def home_date(crew: Crew, date: dt.date) -> dt.date:
    """Return the date on which the crew must be home: the next one where its day ends after midnight."""
    return date if crew.home_by > crew.earliest_start else date + dt.timedelta(days=1)
