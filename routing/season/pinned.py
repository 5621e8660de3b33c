"""Work that is given whatever is reckoned: rows of jobs.csv, and feeds for stores that were seen low.

A row is as large as the plan makes it: for its hives, so many helpings as the feed that is due there by its day.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from routing.farm.models import Job, Site
from routing.season.due import Asked, Open, open_due
from routing.season.due_dates import STORES_LOW
from routing.season.outlook import SiteFeed

_ALMOST = 1e-9


@dataclass(frozen=True)
class Pinned:
    """So much work of one kind at one site."""

    site: str
    kind: str
    date: dt.date
    times: float
    """What the job kind takes for a hive is taken so many times: hives times helpings."""


def pinned(asked: Asked, last: dt.date, feeds: Iterable[SiteFeed]) -> tuple[Pinned, ...]:
    """Return the rows of jobs.csv that may be done up to a date, and feeds for stores seen low that no row brings.

    Where they are for some hives of a site that is to be fed anyway, the feed of the others is pinned as well.
    """
    feeds = tuple(feeds)
    seen = _seen_low(asked)
    due = {key: (found.due, found.helpings) for key, found in seen.items()}
    for feed in feeds:
        for feeding in feed.feedings[:1]:
            day, helpings = due.get((feed.site, feeding.kind), (feeding.date, 1))
            due[feed.site, feeding.kind] = min(day, feeding.date), max(helpings, feeding.helpings)
    rows = [_row(job, due, asked) for job in asked.farm.jobs if job.not_before is None or job.not_before <= last]
    brought = given_by(rows)
    left = (
        Pinned(site, kind, max(asked.on, found.due), rest(brought, site, kind, found.hives * found.helpings))
        for (site, kind), found in seen.items()
    )
    some = (*rows, *(one for one in left if one.times > _ALMOST))
    brought = given_by(some)
    others = (
        Pinned(feed.site, one.kind, one.date, rest(brought, feed.site, one.kind, one.helpings * feed.colonies))
        for feed in feeds
        for one in feed.feedings[:1]
        if (feed.site, one.kind) in brought
    )
    return (*some, *(one for one in others if one.times > _ALMOST))


def given_by(known: Iterable[Pinned]) -> dict[tuple[str, str], float]:
    """Return how often what a job kind takes for a hive is given, by site and kind."""
    found: dict[tuple[str, str], float] = {}
    for one in known:
        found[one.site, one.kind] = found.get((one.site, one.kind), 0.0) + one.times
    return found


def rest(given: dict[tuple[str, str], float], site: str, kind: str, times: float) -> float:
    """Return how much of what is needed of a kind at a site is not given already, and take it off what is given."""
    used = min(times, given.get((site, kind), 0.0))
    given[site, kind] = given.get((site, kind), 0.0) - used
    return times - used


def _row(job: Job, due: dict[tuple[str, str], tuple[dt.date, int]], asked: Asked) -> Pinned:
    by = max(asked.on, job.due_by or job.not_before or asked.on)
    day, helpings = due.get((job.site, job.kind), (dt.date.max, 1))
    if job.to or by < day:
        return Pinned(job.site, job.kind, by, job.hives)
    return Pinned(job.site, job.kind, max(asked.on, day), job.hives * helpings)


def _seen_low(asked: Asked) -> dict[tuple[str, str], Open]:
    """Return the feeds that are due because stores were seen low, by site and job kind; of two the larger."""
    found: dict[tuple[str, str], Open] = {}
    sites: list[Site] = [site for site in asked.farm.sites if site.colonies]
    for rule in asked.season.due.values():
        for site in sites if rule.after == STORES_LOW else ():
            one = open_due(rule, site, asked)
            if one:
                key = site.id, rule.job
                found[key] = max(found.get(key, one), one, key=lambda each: each.hives * each.helpings)
    return found
