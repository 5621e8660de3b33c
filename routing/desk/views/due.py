"""What is due and why; each due date is taken into the plan or cancelled by name."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from starlette.responses import Response

from routing import stages
from routing.desk.files.changes import Change, NewRow
from routing.desk.given import Given
from routing.desk.serving import changed, lines_of, page, shown
from routing.desk.state import Desk, today
from routing.desk.views.undo import undo_values
from routing.errors import AskedError
from routing.farm.models import Farm, Job
from routing.plain_words import count, date_words
from routing.season.checked import ALL_SITES
from routing.season.due import DueItem
from routing.season.log_file import has_log
from routing.share.safety.safe import plain_text
from routing.share.wording.due import (
    HEADINGS,
    IN_PLAN,
    LOG_BEGUN,
    NO_LOG,
    PASSING,
    WAITING,
    all_taken_words,
    beside_blocks,
    by_words,
    group_words,
    in_short,
    plan_words,
    taken_words,
)
from routing.share.wording.log_lines import entry_line

HERE = "/due"

MOST_SITES = 2000
MOST_OPEN = 3
"""Of more sites than these only how many they are is seen at first."""


def due(desk: Desk, given: Given) -> Response:
    """Show what is overdue, due and coming on a date, rule by rule, a row for each site."""
    farm = desk.farm()
    date = given.date("on") or today(farm)
    found = stages.due.due(farm, date)
    plain = [item for item in found.items if not item.waits and not item.in_passing]
    tables = [(heading, [item for item in plain if item.state is state]) for state, heading in HEADINGS.items()]
    tables[2:2] = [
        (WAITING, [item for item in found.items if item.waits]),
        (PASSING, [item for item in found.items if item.in_passing]),
    ]
    planned, refused = _planned(farm, date)
    values = {
        "on": date.isoformat(),
        "day": date_words(date),
        "short": in_short(found.items),
        "in_plan": IN_PLAN.format(jobs=farm.tables.jobs),
        "refused": refused,
        "tables": [(heading, _groups(items, planned, date)) for heading, items in tables if items],
        "blocks": beside_blocks(found.items, farm, found.suspects, [str(told) for told in found.told]),
        "no_log": NO_LOG.format(jobs=farm.tables.jobs) if farm.jobs and not has_log(farm.folder) else "",
        "can": undo_values(desk.edits),
    }
    return page(desk, "due.html", values, title="Due", here=HERE)


def _planned(farm: Farm, date: dt.date) -> tuple[Mapping[tuple[str, str], Job] | None, list[str]]:
    """Return what planning the date takes in; None with the reasons where it is refused."""
    try:
        return stages.taken.planned_for(farm, date), []
    except AskedError as error:
        return None, lines_of(error)


def _groups(
    items: Sequence[DueItem], planned: Mapping[tuple[str, str], Job] | None, date: dt.date
) -> list[dict[str, object]]:
    """Return what one rule asks for by one day and for one reason, with a row for each site."""
    alike: dict[tuple[object, ...], list[DueItem]] = {}
    for item in items:
        alike.setdefault((item.rule, by_words(item), item.rank, item.waits or item.why), []).append(item)
    groups: list[dict[str, object]] = []
    for some in alike.values():
        rows = [_row(item, planned, date) for item in some]
        takes = [item.site for item, row in zip(some, rows, strict=True) if row["take"]]
        groups.append(
            {"first": some[0], "by": rows[0]["by"], "of": group_words(some), "rows": rows, "takes": takes}
            | {"open": len(some) <= MOST_OPEN, "left": sum(row["plan"] == "no" for row in rows)}
        )
    return groups


def _row(item: DueItem, planned: Mapping[tuple[str, str], Job] | None, date: dt.date) -> dict[str, object]:
    job = planned.get((item.site, item.kind)) if planned else None
    return {
        "item": item,
        "by": by_words(item),
        "plan": "" if planned is None else plan_words(item, job, date),
        "take": planned is not None and stages.taken.may_be_taken(item, job),
    }


def take(desk: Desk, given: Given) -> Mapping[str, object]:
    """Take something due into the plan, at one site or at several: a row each of the farm's table of jobs, or none."""
    farm = desk.farm()
    date, by = given.date("on") or today(farm), given.date("by")
    if by is None:
        raise AskedError("say by which day it is due")
    sites = given.texts("sites", MOST_SITES)
    if not sites or "" in sites:
        raise AskedError("say at which sites")
    found = stages.taken.taken_in(farm, date, given.text("rule"), by, sites)
    items, table = [one.item for one in found], desk.edits.table("jobs")
    if found[0].begins_log:
        stages.taken.begin_log(farm)
    where_at = items[0].site_name if len(items) == 1 else count(len(items), "site")
    what = plain_text(f"Jobs: {items[0].kind_name} at {where_at}", 200)
    rows = tuple(NewRow(one.cells) for one in found)
    outcome = desk.edits.change_whole("jobs", table.digest, Change(added=rows), what)
    if not outcome.kept:
        raise AskedError(outcome.why_not)
    where = outcome.file + _at_lines(list(outcome.added.values()))
    if len(found) > 1:
        lines = all_taken_words(items, where, [one.helpings for one in found])
    else:
        lines = taken_words(items[0], found[0].cells, where, found[0].helpings)
    return {"lines": [*lines, *([LOG_BEGUN] if found[0].begins_log else [])], "go": _at(HERE, date)}


def _at_lines(numbers: Sequence[int]) -> str:
    """Return `, lines 4 to 6` of the lines that were written, nothing where they are not known."""
    if not numbers:
        return ""
    first, last = min(numbers), max(numbers)
    return f", line {first}" if first == last else f", lines {first} to {last}"


def cancel(desk: Desk, given: Given) -> Mapping[str, object]:
    """Cancel what a rule asks for at a site, with the reason, as the log keeps it."""
    farm = desk.farm()
    date, rule, site, why = given.date("on") or today(farm), given.text("rule"), given.text("site"), given.text("why")
    if not why:
        raise AskedError("say why it is cancelled")
    gone = stages.due.cancel(farm, date, rule, ALL_SITES if given.flag("everywhere") else site, why)
    return {"lines": [f"Cancelled: {entry_line(one)}" for one in gone], "go": _at(HERE, date)}


def _at(path: str, date: dt.date) -> str:
    return f"{path}?on={date.isoformat()}"


ROUTES = [shown(HERE, due), changed(f"{HERE}/take", take), changed(f"{HERE}/cancel", cancel)]
