"""Which rows of jobs are done: what the log holds of their kind at their site closes them, as far as it goes.

Which entries count for a row, by what it says:
- `promised` or `not_before`: those from that day on; for a kind that a rule asks for once a season, those of the season
  that the day lies in; for one that a rule asks for after something, or when stores run low, those from a week before,
  because a rule may bring a row forward;
- `due_by` alone: those since the season before ended, of the last interval before it, or of the four weeks before it;
- no day: those of the last year, or since the last season began.
An entry counts once: of two rows for the same work the first in the file is closed first.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from routing.errors import Fault
from routing.farm.models import Farm, Job
from routing.farm.year import DueRule
from routing.plain_words import count, day_words
from routing.season.asked import Asked, hives_done
from routing.season.calendar import Span, spans
from routing.season.due_dates import counts_since
from routing.season.entries import Entry

MOVED = "moved to "
"""The note of a move's entry begins so, and the site that the hives went to follows."""
SOON_DAYS = 7
FOUR_WEEKS = 28
YEAR = 365
_DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class Row:
    """One row of the table of jobs with what the log holds of it."""

    job: Job
    done: int
    """For so many of its hives."""
    last: dt.date | None
    """When the last of that was logged."""

    @property
    def left(self) -> int:
        """How many of its hives are left to do."""
        return self.job.hives - self.done


def rows(asked: Asked) -> tuple[Row, ...]:
    """Return the jobs of a farm as they are written, each with what of it is done up to the date."""
    unused: dict[str, int] = {}
    return tuple(_row(job, asked, unused) for job in asked.farm.jobs)


def with_open_rows(farm: Farm, found: tuple[Row, ...]) -> Farm:
    """Return the farm with only what is left of its rows, and a warning for each that is done, wholly or in part.

    It is the same farm where nothing is done.
    """
    if not any(row.done for row in found):
        return farm
    jobs = tuple(_left_of(row) for row in found if row.left > 0)
    told = tuple(_told(row, farm) for row in found if row.done)
    return farm.model_copy(update={"jobs": jobs, "warnings": (*farm.warnings, *told)})


def _row(job: Job, asked: Asked, unused: dict[str, int]) -> Row:
    colonies = max(asked.farm.site(job.site).colonies, job.hives)
    since, done, last = counts_from(job, asked), 0, None
    rules = asked.season.due.values() if asked.farm.season else ()
    weighed = any(rule.needs_stores_kg for rule in rules if rule.job == job.kind)
    for entry in asked.work.get((job.site, job.kind), ()):
        if entry.date < since or not _goes_with(entry, job) or (weighed and entry.stores_kg is None):
            continue
        taken = min(unused.setdefault(entry.reference, hives_done(entry, colonies)), job.hives - done)
        if taken > 0:
            done, last = done + taken, entry.date
            if entry.hives is not None:
                unused[entry.reference] -= taken
    return Row(job, done, last)


def _goes_with(entry: Entry, job: Job) -> bool:
    """Return whether an entry is of the same move, where it says where its hives went."""
    return not entry.note.startswith(MOVED) or entry.note.removeprefix(MOVED).startswith(f"{job.to}.") or not job.to


def counts_from(job: Job, asked: Asked) -> dt.date:
    """Return the day from which entries count for a row, as this module's heading tells."""
    rules = [rule for rule in asked.season.due.values() if rule.job == job.kind] if asked.farm.season else []
    once, every = [rule for rule in rules if rule.by], [rule for rule in rules if rule.every_days]
    first = job.promised or job.not_before
    day = first or job.due_by or asked.on
    if once:
        dated = bool(first or job.due_by)
        began = [(span, rule) for rule in once if (span := _span(rule, day, asked, within=dated))]
        if began:
            span, rule = max(began, key=lambda pair: pair[0].starts)
            since = counts_since(rule, span, asked)
            return min(since if first or not dated else _season_before(once, span, asked) + _DAY, since, day)
    if first:
        return first - _DAY * (SOON_DAYS if rules and not every and not once else 0)
    if job.due_by:
        return job.due_by - _DAY * (_interval(every) - 1 if every else FOUR_WEEKS)
    return asked.on - _DAY * YEAR


def _interval(every: list[DueRule]) -> int:
    return min(int(rule.every_days.value) for rule in every if rule.every_days)


def _season_before(once: list[DueRule], span: Span, asked: Asked) -> dt.date:
    """Return when the last season before another one ended, of the rules that ask for the same work once a season."""
    ends = []
    for rule in once:
        for one in spans(rule.starts, rule.ends, span.starts - _DAY * 2 * YEAR, south=asked.south):
            if one.ends >= span.starts:
                break
            ends.append(one.ends)
    return max(ends, default=span.starts - _DAY * YEAR)


def _span(rule: DueRule, day: dt.date, asked: Asked, *, within: bool) -> Span | None:
    """Return the season of a rule that a day lies in, or the last that began before it; None where there is none."""
    found = None
    for span in spans(rule.starts, rule.ends, day - _DAY * YEAR, south=asked.south):
        if span.starts > day:
            break
        found = span
    return found if found and (day in found or not within) else None


def _left_of(row: Row) -> Job:
    if not row.done:
        return row.job
    note = f"{row.done} of {row.job.hives} done" + (f"; {row.job.note}" if row.job.note else "")
    return row.job.model_copy(update={"hives": row.left, "note": note})


def _told(row: Row, farm: Farm) -> Fault:
    job = row.job
    what = f"{farm.job_kinds[job.kind].name} at {farm.site(job.site).name}"
    when = day_words(row.last) if row.last else ""
    if row.left > 0:
        words = f"is done in part: {what} was logged for {row.done} of {count(job.hives, 'hive')}, last on {when}"
        return Fault(farm.tables.jobs, job.line, words, f"still to do: {row.left}", warning=True)
    fix = "take the row out; to have it done again give it a not_before after that day"
    return Fault(farm.tables.jobs, job.line, f"is done: {what} was logged {when}", fix, warning=True)
