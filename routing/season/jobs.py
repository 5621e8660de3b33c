"""What is due as jobs of the farm, so that planning takes it in or says why it is left out."""

from __future__ import annotations

import datetime as dt

from routing.errors import Fault
from routing.farm.models import Farm, Job, Rank
from routing.season.database import FILE
from routing.season.due import Asked, DueItem, State, due_items
from routing.season.entries import Record
from routing.season.feed import Temperatures

_RANKS = tuple(Rank)


def due_id(item: DueItem) -> str:
    """Return the id of the job that a due date makes: `due:weekly-inspection:orchard`."""
    return f"due:{item.rule}:{item.site}"


def with_due_jobs(
    farm: Farm,
    record: Record,
    date: dt.date,
    *,
    frost_on: dt.date | None = None,
    temperatures: Temperatures | None = None,
) -> Farm:
    """Return the farm with a job for everything overdue or due on a date, and in passing where a visit is made anyway.

    A row of jobs.csv for the same kind at the same site wins. Two rules that ask for one kind at one site make one job,
    the worse, with the larger feed of the two. What was never done and is past sense makes no job but a warning, until
    it is cancelled by name.
    """
    if farm.season is None:
        return farm
    written = {(job.site, job.kind) for job in farm.jobs}
    visited = frozenset(job.site for job in farm.jobs if job.not_before is None or job.not_before <= date)
    items = due_items(Asked(farm, record, date, frost_on, temperatures), visited)
    jobs: dict[tuple[str, str], Job] = {}
    for item in items:
        key = (item.site, item.kind)
        wanted = item.in_passing or item.state in {State.OVERDUE, State.DUE}
        if wanted and key not in written and key not in jobs:
            jobs[key] = _job(item)
        elif wanted and key in jobs and item.helpings > jobs[key].helpings:
            jobs[key] = jobs[key].model_copy(update={"helpings": item.helpings})
    missed = tuple(_warning(item) for item in items if item.state is State.SEASON_OVER)
    return farm.model_copy(update={"jobs": (*farm.jobs, *jobs.values()), "warnings": (*farm.warnings, *missed)})


def _job(item: DueItem) -> Job:
    return Job(
        id=due_id(item),
        site=item.site,
        kind=item.kind,
        hives=item.hives,
        not_before=item.opens,
        due_by=item.due,
        rank=Rank.PASSING if item.in_passing else item.rank,
        helpings=item.helpings,
        note=f"Due by {item.due}: {item.why}",
    )


def _warning(item: DueItem) -> Fault:
    what = f"{item.kind_name} at {item.site_name} was due by {item.due}, was never logged, and its season is over"
    fix = (
        f"log it if it was done, or cancel it by name: outyard due cancel FOLDER --rule {item.rule} --site {item.site}"
    )
    return Fault(FILE, 0, what, fix, warning=True)
