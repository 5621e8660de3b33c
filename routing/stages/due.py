"""What is due: work out of the rules of the year and the log, made part of the farm; lists of it, and of feed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from routing import season
from routing.errors import Fault
from routing.farm.incompatible import clashes
from routing.farm.models import Farm
from routing.season.log_file import has_log
from routing.weather.frost import first_frost

if TYPE_CHECKING:
    from routing.season.asked import Asked
    from routing.season.due import DueItem
    from routing.season.entries import Cancellation, Record
    from routing.season.outlook import SiteFeed
    from routing.season.shopping import ToBuy


@dataclass(frozen=True)
class Due:
    """What is due on a date, worst first, and what it was reckoned from."""

    asked: Asked
    items: tuple[DueItem, ...]
    told: tuple[Fault, ...]
    """What is to be said of rows of jobs.csv, such as those that are done."""
    suspects: tuple[tuple[str, dt.date], ...]
    """Sites where disease is suspected, each with the day when it was, and not cleared since."""


def asked(farm: Farm, date: dt.date, record: Record | None = None) -> Asked:
    """Return what due dates are reckoned from on a date: for plan, due, feed, fit and the season's page alike.

    The farm in it has only what is left of its rows of jobs.csv, with a warning for each that is done. `record` is the
    log of the farm's folder where it is not given. Raises LogError.
    """
    frost = first_frost(farm.forecast, ZoneInfo(farm.time_zone)) if farm.forecast else None
    before = season.asked.Asked(
        farm, season.log.Log.record_of(farm.folder) if record is None else record, date, frost_on=frost
    )
    return replace(before, farm=season.rows.with_open_rows(farm, season.rows.rows(before)))


def due(farm: Farm, date: dt.date) -> Due:
    """Return what is overdue, due and coming on a date. Raises LogError."""
    now = asked(farm, date)
    told = tuple(fault for fault in now.farm.warnings if fault not in farm.warnings)
    return Due(now, season.due.due_items(now), told, season.checked.suspects(now.record, date))


def cancel(farm: Farm, date: dt.date, rule: str, site: str, why: str) -> tuple[Cancellation, ...]:
    """Cancel what a rule asks for at a site, or at `all`, on a date: write that into the log, and return it.

    Raises AskedError where nothing of it is due, and LogError.
    """
    now = due(farm, date)
    gone = season.checked.cancelled(farm, now.items, rule, site, date, why)
    season.log.Log.open(farm.folder).cancel(gone)
    return gone


def feed(farm: Farm, date: dt.date, weeks: int) -> tuple[tuple[SiteFeed, ...], tuple[ToBuy, ...]]:
    """Return how long each site's stores last, and what to order for so many weeks. Raises LogError."""
    now = asked(farm, date)
    return season.outlook.feed_outlook(now, weeks), season.shopping.shopping_list(now, weeks)


def with_due(farm: Farm, date: dt.date) -> Farm:
    """Return the farm with the jobs that are due on a date, where its folder has a log or jobs.csv has no job.

    Without a log nothing is known of what was done, so a farm that lists its jobs itself is planned as it stands.
    """
    if farm.season is None or (farm.jobs and not has_log(farm.folder)):
        return farm
    return season.jobs.with_due_jobs(asked(farm, date))


def to_plan(farm: Farm, date: dt.date) -> Farm:
    """Return the farm with the jobs that are due on a date.

    Raises AskedError where hives are to be moved from or to a site whose suspect brood the log has not cleared, or a
    row asks for what may not be there beside what the log says is.
    """
    if any(job.to for job in farm.jobs) and has_log(farm.folder):
        now = asked(farm, date)
        season.checked.require_healthy_moves(now.farm, now.record, date)
    return _apart(with_due(farm, date), date)


def _apart(farm: Farm, date: dt.date) -> Farm:
    """Return the farm without due jobs that may not be done beside others, such as supers where strips are in.

    Raises AskedError where a row of jobs.csv asks for one.
    """
    clashing = clashes(farm.job_kinds)
    if not any(job.kind in clashing for job in farm.jobs):
        return farm
    return season.keep_apart.kept_apart(farm, season.log.Log.record_of(farm.folder), date)
