"""Something due, taken into the plan: what planning asks for by itself, and the row of jobs that asks for it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from routing import season
from routing.errors import AskedError
from routing.farm.faults import quoted
from routing.farm.models import Farm, Job, Rank
from routing.season.due import DueItem
from routing.season.log_file import has_log
from routing.stages.due import due, to_plan

type Where = tuple[str, str]
"""A site and a job kind."""


@dataclass(frozen=True)
class TakenIn:
    """Something due as a row of the table of jobs."""

    item: DueItem
    cells: Mapping[str, str]
    """The row, by column."""
    begins_log: bool
    """Whether the log must be there first: without one a table with rows silences all else that is due."""
    helpings: int
    """Of a feed: how many times what its job kind takes for a hive the plan of the date would then reckon with."""


def planned_for(farm: Farm, date: dt.date) -> Mapping[Where, Job]:
    """Return the work that planning a date takes in, or tells why it is left out, one job for each site and kind.

    Of several rows the first that may be done on the date. Moves are none of it. Raises what `to_plan` raises.
    """
    found: dict[Where, Job] = {}
    for job in to_plan(farm, date).jobs:
        key = (job.site, job.kind)
        if not job.to and (key not in found or (_later(found[key], date) and not _later(job, date))):
            found[key] = job
    return found


def may_be_taken(item: DueItem, job: Job | None) -> bool:
    """Return whether a row would bring something due into the plan; `job` is what planning takes in of it already."""
    return not item.waits and (job is None or (not job.line and job.rank is Rank.PASSING))


def taken_in(farm: Farm, date: dt.date, rule: str, by: dt.date, sites: Sequence[str]) -> tuple[TakenIn, ...]:
    """Return what is due by a day at each of these sites as the row that brings it into the plan of a date.

    Nothing is written. Raises AskedError where it is not listed at one of them, is in the plan already, waits for
    something, or a row would not bring it in, and LogError.
    """
    listed = {item.site: item for item in due(farm, date).items if (item.rule, item.due) == (rule, by)}
    before = planned_for(farm, date)
    for site in sites:
        item = listed.get(site)
        if item is None:
            raise AskedError(f"{quoted(rule)} at {quoted(site)} by {by} is not listed any more; load the page again")
        if item.waits:
            raise AskedError(f"{item.kind_name} at {item.site_name} waits: {item.waits}")
        if not may_be_taken(item, before.get((item.site, item.kind))):
            raise AskedError(f"{item.kind_name} at {item.site_name} is in the plan already")
    items = [listed[site] for site in sites]
    rows = [_row(item, date) for item in items]
    planned, first = _planned(farm, date, items, rows), log_first(farm)
    return tuple(
        TakenIn(item, row_cells(farm, row), first, job.helpings)
        for item, row, job in zip(items, rows, planned, strict=True)
    )


def row_cells(farm: Farm, job: Job) -> dict[str, str]:
    """Return a job as a row of the table of jobs says it: a column is left out where the row needs none."""
    days = {"promised": job.promised} if job.promised else {"not_before": job.not_before, "due_by": job.due_by}
    found = {
        "site": job.site,
        "kind": job.kind,
        "hives": str(job.hives) if job.hives != farm.site(job.site).colonies else "",
        "to": job.to,
        **{name: day.isoformat() if day else "" for name, day in days.items()},
        "rank": job.rank.value,
        "note": job.note,
    }
    return {name: text for name, text in found.items() if text}


def log_first(farm: Farm) -> bool:
    """Return whether the log must be there before a first row: else the row silences all else that is due."""
    return farm.season is not None and not farm.jobs and not has_log(farm.folder)


def begin_log(farm: Farm) -> None:
    """Begin an empty log: it says nothing, and what is due is reckoned as without one. Raises LogError."""
    season.log.Log.open(farm.folder)


def _row(item: DueItem, date: dt.date) -> Job:
    return Job(
        id=f"row:{item.rule}:{item.site}",
        site=item.site,
        kind=item.kind,
        hives=item.hives,
        not_before=item.opens if item.opens > date else None,
        due_by=item.due,
        rank=item.rank,
        note=f"due by the rule {item.rule}",
    )


def _planned(farm: Farm, date: dt.date, items: Sequence[DueItem], rows: Sequence[Job]) -> list[Job]:
    """Return the rows as planning would take them in.

    Raises AskedError where it would not: one is done by what is logged, or may not be done beside others.
    """
    found = {job.id: job for job in to_plan(farm.model_copy(update={"jobs": (*farm.jobs, *rows)}), date).jobs}
    for item, row in zip(items, rows, strict=True):
        if row.id not in found:
            raise AskedError(
                f"{item.kind_name} at {item.site_name}: a row would count as done, by what the log holds; write it "
                f"into {farm.tables.jobs} yourself, with a not_before after the day when it was done"
            )
    return [found[row.id] for row in rows]


def _later(job: Job, date: dt.date) -> bool:
    return job.not_before is not None and job.not_before > date
