"""What is due and why, with each due date to be cancelled by name."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from starlette.responses import Response

from routing import stages
from routing.desk.given import Given
from routing.desk.serving import changed, page, shown
from routing.desk.state import Desk, today
from routing.errors import AskedError
from routing.plain_words import date_words
from routing.season.log_file import has_log
from routing.share.wording.due import HEADINGS, NO_LOG, PASSING, WAITING, beside_blocks, by_words, in_short
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
    values = {
        "on": date.isoformat(),
        "day": date_words(date),
        "short": in_short(found.items),
        "tables": [(heading, [(item, by_words(item)) for item in items]) for heading, items in tables if items],
        "blocks": beside_blocks(found.items, farm, found.suspects, [str(told) for told in found.told]),
        "no_log": NO_LOG.format(jobs=farm.tables.jobs) if farm.jobs and not has_log(farm.folder) else "",
    }
    return page(desk, "due.html", values, title="Due", here=HERE)


def cancel(desk: Desk, given: Given) -> Mapping[str, object]:
    """Cancel what a rule asks for at a site, with the reason, as the log keeps it."""
    farm = desk.farm()
    date, rule, site, why = given.date("on") or today(farm), given.text("rule"), given.text("site"), given.text("why")
    if not why:
        raise AskedError("say why it is cancelled")
    gone = stages.due.cancel(farm, date, rule, site, why)
    return {"lines": [f"Cancelled: {entry_line(one)}" for one in gone], "go": _at(HERE, date)}


def _at(path: str, date: dt.date) -> str:
    return f"{path}?on={date.isoformat()}"


ROUTES = [shown(HERE, due), changed(f"{HERE}/cancel", cancel)]
