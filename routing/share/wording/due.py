"""What is due in words, block by block, worst first: the same on the terminal and at the desk."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence

from routing.farm.models import Farm, Job, Rank
from routing.plain_words import count
from routing.season.due import TO_PLAN, DueItem, State
from routing.season.entries import DISEASE_CAUTION
from routing.share.safety.safe import plain_name, plain_text

type Block = tuple[str, tuple[str, ...]]
"""A heading and its lines."""

HEADINGS = {
    State.OVERDUE: "Overdue",
    State.DUE: "Due",
    State.SEASON_OVER: "Never done, and the season is over: log it if it was done, or cancel it by name",
    State.UNKNOWN: "Not known: past its day, and the log does not say; not planned",
    State.COMING: "Coming",
}
"""In the order in which they are shown: what is to be done stands first."""
SETTLE = (
    "Log it where it was done (outyard log add FOLDER --site all --kind KIND --on DATE); where it was not, say from "
    "when the log is complete: outyard log begin FOLDER --counts-from DATE"
)
PASSING = "In passing, where a visit is made anyway"
WAITING = "Not yet: one after the other, never on the same hives together"
IN_PLAN = "In the plan: planning this day does it, or says why it is left out. Take in writes a row into {jobs}."
LOG_BEGUN = (
    "The farm's log is begun with it, and holds nothing yet: with a row and no log, planning would take the "
    "rows alone, and nothing else that is due."
)
LABEL = "A medicine's label decides: where it allows both, say so in farm.toml (not_with = [] under its job kind)."
NO_LOG = (
    "There is no log yet, and {jobs} has rows: planning takes those alone, and nothing else of this list, until "
    "something is logged."
)
NOTHING = "Nothing is overdue, due or coming."
MOST_LINES = 2
"""A rule whose sites have more due dates and reasons than this has them in one line, without the reasons."""
MANY_SITES = 3
"""All sites are called so where there are more."""


def due_blocks(
    items: Sequence[DueItem], farm: Farm, suspects: Sequence[tuple[str, dt.date]], rows: Sequence[str] = ()
) -> tuple[Block, ...]:
    """Return what is due, what is to be done first, and the cautions of its job kinds; a block may have no line.

    `rows` says which rows of the farm's table of jobs are done.
    """
    found: list[Block] = []
    sites = sum(site.colonies > 0 for site in farm.sites)
    for state, heading in HEADINGS.items():
        shown = [item for item in items if item.state is state and not item.waits and not item.in_passing]
        lines = tuple(_due_lines(shown, sites))
        found.append((heading, (*lines, *([SETTLE] if lines and state is State.UNKNOWN else []))))
        if state is State.DUE:
            found.append((WAITING, tuple(_waiting(items, sites))))
            found.append((PASSING, tuple(_passing(items, sites))))
    return (*found, *beside_blocks(items, farm, suspects, rows))


def beside_blocks(
    items: Sequence[DueItem], farm: Farm, suspects: Sequence[tuple[str, dt.date]], rows: Sequence[str] = ()
) -> tuple[Block, ...]:
    """Return what stands beside what is due: suspect brood, rows that are done, cautions of the kinds to be done."""
    names = {site.id: site.name for site in farm.sites}
    seen = tuple(f"{plain_name(names.get(site, site))}, seen on {date}" for site, date in suspects)
    kinds = dict.fromkeys(item.kind for item in items if item.state in TO_PLAN and not item.waits)
    cautions = dict.fromkeys(text for kind in kinds for text in farm.job_kinds[kind].cautions)
    return (
        ("Suspect brood, no inspector's all-clear logged", (*seen, *([DISEASE_CAUTION] if seen else []))),
        (f"Rows of {plain_text(farm.tables.jobs)}", tuple(plain_text(row) for row in rows)),
        ("Cautions", tuple(cautions)),
    )


def in_short(items: Sequence[DueItem]) -> str:
    """Return how much is to be done, in one sentence."""
    items = [item for item in items if not item.waits]
    counted = [f"{sum(item.state is state for item in items)} {state.value}" for state in (State.OVERDUE, State.DUE)]
    sites = len({item.site for item in items if item.state in TO_PLAN})
    if sites:
        return f"{' and '.join(told for told in counted if not told.startswith('0 '))}, at {count(sites, 'site')}."
    return "Nothing is overdue or due." if items else NOTHING


def _waiting(items: Sequence[DueItem], sites: int) -> Iterable[str]:
    """Yield a line for each rule and what it waits for; the label of a medicine decides, so it is said once."""
    alike: dict[tuple[str, str], list[DueItem]] = {}
    for item in items:
        if item.waits:
            alike.setdefault((item.rule, item.waits), []).append(item)
    for found in alike.values():
        first = found[0]
        head = f"{plain_name(first.kind_name)} [{plain_name(first.rule)}], {first.rank}"
        yield f"{head}, {plain_text(first.waits)}: {_sites(found, sites)}"
    if alike:
        yield LABEL


def _passing(items: Sequence[DueItem], sites: int) -> Iterable[str]:
    kinds: dict[str, list[DueItem]] = {}
    for item in items:
        if item.in_passing:
            kinds.setdefault(item.kind_name, []).append(item)
    return (
        f"{plain_name(kind)}, by {min(item.due for item in found)}: {_sites(found, sites)}"
        for kind, found in kinds.items()
    )


def _due_lines(items: Sequence[DueItem], sites: int) -> Iterable[str]:
    """Yield a line for each rule with all its sites, or two where days and reasons differ; the worst comes first."""
    rules: dict[str, list[DueItem]] = {}
    for item in items:
        rules.setdefault(item.rule, []).append(item)
    for found in rules.values():
        alike: dict[tuple[dt.date, str], list[DueItem]] = {}
        for item in found:
            alike.setdefault((item.due, item.why), []).append(item)
        head = f"{plain_name(found[0].kind_name)} [{plain_name(found[0].rule)}], {found[0].rank}"
        if len(alike) <= MOST_LINES:
            for (_, why), some in alike.items():
                told = "" if why == f"by {some[0].due}" else f" ({why})"
                yield f"{head}, {by_words(some[0])}{told}: {_sites(some, sites)}"
        else:
            days: dict[dt.date, list[DueItem]] = {}
            for item in found:
                days.setdefault(item.due, []).append(item)
            yield f"{head}: " + "; ".join(f"{_sites(some, sites)} {by_words(some[0])}" for some in days.values())


def by_words(item: DueItem) -> str:
    """Return `by 2026-04-30, 3 days over`."""
    late = f", {count(item.days_overdue, 'day')} over" if item.days_overdue and item.state is State.OVERDUE else ""
    return f"by {item.due}{late}"


def plan_words(item: DueItem, job: Job | None, on: dt.date) -> str:
    """Return whether planning a date takes something due in, and what asks for it: a rule, or a row of the table.

    `job` is what planning takes in of that kind at that site, None for nothing.
    """
    if job is None:
        return "no"
    if not job.line:
        return "in passing only" if job.rank is Rank.PASSING and item.rank is not Rank.PASSING else "yes, by its rule"
    row = plain_text(job.id).replace(":", ", line ")
    later = f", from {job.not_before}" if job.not_before and job.not_before > on else ""
    day = f", on {job.promised}" if job.promised else later
    part = f", {job.hives} of {count(item.hives, 'hive')}" if job.hives < item.hives else ""
    return f"by {row}{day}{part}"


def taken_words(item: DueItem, cells: Mapping[str, str], where: str, helpings: int) -> tuple[str, ...]:
    """Return what taking something due into the plan writes, and where, in sentences."""
    row = ", ".join(f"{name.replace('_', ' ')} {plain_text(text)}" for name, text in cells.items())
    told = [f"Written to {plain_text(where)}: {row}."]
    if helpings < item.helpings:
        told.append(
            f"A row asks for what the kind takes once; the rule asks for {item.helpings} times as much on each hive."
        )
    return tuple(told)


def all_taken_words(items: Sequence[DueItem], where: str, helpings: Sequence[int]) -> tuple[str, ...]:
    """Return what taking in a rule's due date at several sites writes, and where, in sentences."""
    names = ", ".join(plain_name(item.site_name) for item in items)
    told = [
        f"Written to {plain_text(where)}: {plain_name(items[0].kind_name)} at {count(len(items), 'site')}: {names}."
    ]
    if any(had < item.helpings for item, had in zip(items, helpings, strict=True)):
        most = max(item.helpings for item in items)
        told.append(
            f"A row asks for what the kind takes once; the rule asks for up to {most} times as much on each hive."
        )
    return tuple(told)


def group_words(items: Sequence[DueItem]) -> str:
    """Return `3 sites, 24 hives` of what one rule asks for by one day."""
    return f"{count(len(items), 'site')}, {count(sum(item.hives for item in items), 'hive')}"


def _sites(items: Sequence[DueItem], sites: int) -> str:
    """Return the names of the sites, with how many hives are left where that is not all of them."""
    whole = all(item.hives == item.colonies for item in items)
    if whole and len(items) == sites > MANY_SITES:
        return f"all {sites} sites"
    return ", ".join(
        plain_name(item.site_name) + (f" ({item.hives} of {item.colonies} hives)" if item.hives < item.colonies else "")
        for item in items
    )
