"""What is due as jobs of the farm, so that planning takes it in or says why it is left out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from routing.errors import Fault
from routing.farm.models import Farm, Job, Rank
from routing.plain_words import count, day_words
from routing.season.asked import Asked
from routing.season.due import TO_PLAN, DueItem, State, due_items
from routing.season.log_file import FILE

_RANKS = tuple(Rank)


def due_id(item: DueItem) -> str:
    """Return the id of the job that a due date makes: `due:weekly-inspection:orchard`."""
    return f"due:{item.rule}:{item.site}"


def with_due_jobs(asked: Asked) -> Farm:
    """Return the farm with a job for all that is overdue or due, and in passing where a visit is made anyway.

    A row of jobs.csv for the same kind at the same site and the rule make one job: with the row's note and hives, the
    earlier of both due dates and the stronger of both ranks. A row never silences a rule: one for a later day holds the
    rule up only until the rule's own day. Two rules that ask for one kind at one site make one job, the worse, with the
    stronger rank, the larger feed and the more hives of the two. What was never done and is past sense makes no job but
    a warning, until it is cancelled by name; nor does what the log cannot know.
    """
    farm = asked.farm
    if farm.season is None:
        return farm
    items = due_items(asked)
    wanted: dict[tuple[str, str], DueItem] = {}
    for item in items:
        if item.in_passing or item.state in TO_PLAN:
            key = (item.site, item.kind)
            wanted[key] = _as_one(wanted[key], item) if key in wanted else item
    jobs, taken, told = _with_rows(farm, wanted, asked.on)
    made = (_job(item) for key, item in wanted.items() if key not in taken)
    told += [*_missed(items), *_not_known(items, asked)]
    return farm.model_copy(update={"jobs": (*jobs, *made), "warnings": (*farm.warnings, *told)})


def _as_one(worse: DueItem, other: DueItem) -> DueItem:
    """Return one thing due for two rules that ask for the same work at the same site; the larger feed says why."""
    larger = max(worse, other, key=lambda item: item.helpings)
    rank = worse.rank if other.in_passing else min(worse.rank, other.rank, key=_RANKS.index)
    hives = max(worse.hives, other.hives)
    return replace(worse, rank=rank, hives=hives, helpings=larger.helpings, why=larger.why)


def _with_rows(
    farm: Farm, wanted: dict[tuple[str, str], DueItem], on: dt.date
) -> tuple[list[Job], set[tuple[str, str]], list[Fault]]:
    """Return the rows with what rules add to them, the rules' keys that need no job of their own, and what to tell."""
    jobs: list[Job] = []
    taken: set[tuple[str, str]] = set()
    told: list[Fault] = []
    for row in farm.jobs:
        item = None if row.to else wanted.get((row.site, row.kind))
        first = row.promised or row.not_before
        if item is None:
            jobs.append(row)
        elif first is None or first <= on:
            jobs.append(_joined(row, item))
            taken.add((row.site, row.kind))
        elif item.state not in TO_PLAN or item.due >= first:
            jobs.append(row)  # the rule waits for the row's day
            taken.add((row.site, row.kind))
        elif row.promised:
            jobs.append(row)
            told.append(
                _sooner(row, item, farm, f"it stays promised for {day_words(first)}, and is asked for now besides")
            )
        else:
            jobs.append(_joined(row.model_copy(update={"not_before": None}), item))
            taken.add((row.site, row.kind))
            told.append(_sooner(row, item, farm, f"it is not kept for {day_words(first)}"))
    return jobs, taken, told


def _joined(row: Job, item: DueItem) -> Job:
    """Return one job for a row and a rule. What the rule asks beyond the row's hives is said; it stays due."""
    rest = item.hives - row.hives
    notes = [
        row.note,
        f"Due by {item.due}: {item.why}",
        f"{count(rest, 'more hive')} of this site stay due: the row asks for {row.hives}" if rest > 0 else "",
    ]
    rank = row.rank if item.in_passing else min(row.rank, item.rank, key=_RANKS.index)
    return row.model_copy(
        update={
            "due_by": row.promised or min(row.due_by or item.due, item.due),
            "rank": rank,
            "helpings": item.helpings,
            "note": "; ".join(note for note in notes if note),
        }
    )


def _sooner(row: Job, item: DueItem, farm: Farm, what: str) -> Fault:
    words = f"{item.kind_name} at {item.site_name} is due by {day_words(item.due)} ({item.why}): {what}"
    return Fault(farm.tables.jobs, row.line, words, warning=True)


def _job(item: DueItem) -> Job:
    part = f"{item.hives} of {item.colonies} hives left; " if item.hives < item.colonies else ""
    return Job(
        id=due_id(item),
        site=item.site,
        kind=item.kind,
        hives=item.hives,
        not_before=item.opens,
        due_by=item.due,
        rank=Rank.PASSING if item.in_passing else item.rank,
        helpings=item.helpings,
        note=f"{part}Due by {item.due}: {item.why}",
    )


def _missed(items: Sequence[DueItem]) -> Iterator[Fault]:
    """Yield a warning for each rule that was missed in a season that is over, with its sites."""
    for rule, missed in _by_rule(items, State.SEASON_OVER):
        sites = ", ".join(f"{item.site_name} (by {item.due})" for item in missed)
        site = missed[0].site if len(missed) == 1 else "SITE"
        what = f"{missed[0].kind_name} was due, was never logged, and its season is over: {sites}"
        fix = f"log it if it was done, or cancel it by name: outyard due cancel FOLDER --rule {rule} --site {site}"
        yield Fault(FILE, 0, what, fix, warning=True)


def _not_known(items: Sequence[DueItem], asked: Asked) -> Iterator[Fault]:
    """Yield one warning that names all that the log cannot know, where there is any that still makes sense."""
    kinds = [
        f"{unknown[0].kind_name} ({count(len(unknown), 'site')})"
        for _, all_of_rule in _by_rule(items, State.UNKNOWN)
        if (unknown := [item for item in all_of_rule if item.ends is None or asked.on <= item.ends])
    ]
    if kinds:
        what = (
            f"not planned: {', '.join(kinds)} fell due before {day_words(asked.begun)}, from when the log counts, so "
        )
        fix = "log it where it was done; where it was not, say so: outyard log begin FOLDER --counts-from DATE"
        yield Fault(FILE, 0, what + "whether it was done is not known", fix, warning=True)


def _by_rule(items: Iterable[DueItem], state: State) -> Iterator[tuple[str, list[DueItem]]]:
    found: dict[str, list[DueItem]] = {}
    for item in items:
        if item.state is state:
            found.setdefault(item.rule, []).append(item)
    yield from found.items()
