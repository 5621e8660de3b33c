"""What is due and why; each due date is taken into the plan or cancelled by name."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from starlette.responses import Response

from routing import stages
from routing.desk.files.changes import Change, NewRow
from routing.desk.given import Given
from routing.desk.serving import changed, lines_of, page, shown
from routing.desk.state import Desk, today
from routing.desk.views.undo import undo_values
from routing.errors import AskedError
from routing.farm.models import Farm, Job
from routing.plain_words import date_words
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
    beside_blocks,
    by_words,
    in_short,
    plan_words,
    taken_words,
)
from routing.share.wording.log_lines import entry_line

HERE = "/due"


def due(desk: Desk, given: Given) -> Response:
    """Show what is overdue, due and coming on a date, a row for each site and rule."""
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
        "tables": [(heading, [_row(item, planned, date) for item in items]) for heading, items in tables if items],
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


def _row(item: DueItem, planned: Mapping[tuple[str, str], Job] | None, date: dt.date) -> dict[str, object]:
    job = planned.get((item.site, item.kind)) if planned else None
    return {
        "item": item,
        "by": by_words(item),
        "plan": "" if planned is None else plan_words(item, job, date),
        "take": planned is not None and stages.taken.may_be_taken(item, job),
    }


def take(desk: Desk, given: Given) -> Mapping[str, object]:
    """Take something due into the plan: a row of the farm's table of jobs."""
    farm = desk.farm()
    date, by = given.date("on") or today(farm), given.date("by")
    if by is None:
        raise AskedError("say by which day it is due")
    found = stages.taken.taken_in(farm, date, given.text("rule"), given.text("site"), by)
    item, table = found.item, desk.edits.table("jobs")
    if found.begins_log:
        stages.taken.begin_log(farm)
    what = plain_text(f"Jobs: {item.kind_name} at {item.site_name}", 200)
    outcome = desk.edits.change("jobs", table.digest, Change(added=(NewRow(found.cells),)), what)
    if not outcome.kept:
        faults = [*outcome.faults, *(one.fault for one in outcome.drafts)]
        raise AskedError("\n".join(str(fault) for fault in faults) or outcome.said)
    where = f"{outcome.file}, line {outcome.added[0]}" if 0 in outcome.added else outcome.file
    lines = taken_words(item, found.cells, where, found.helpings)
    return {"lines": [*lines, *([LOG_BEGUN] if found.begins_log else [])], "go": _at(HERE, date)}


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
