"""A day's round as it is written: the answer, each crew's day line and list, the map, and what is left out."""

from __future__ import annotations

import datetime as dt
import html
import re

from starlette.responses import HTMLResponse, PlainTextResponse, Response

from routing import stages
from routing.desk.given import Given
from routing.desk.remedy_rows import remedy_rows
from routing.desk.serving import page, shown
from routing.desk.state import Desk, today
from routing.plain_words import date_words
from routing.share.pages.day_figure import day_figure
from routing.share.wording.sheet import round_sheet

HERE = "/tomorrow"
MOST_DATES = 20
_POLICY = re.compile(r'http-equiv="Content-Security-Policy" content="([^"]*)"')


def date_asked(desk: Desk, given: Given) -> dt.date:
    """Return the date that is asked for, tomorrow where none is. Raises AskedError, and FarmError."""
    return given.date("on") or today(desk.farm()) + dt.timedelta(days=1)


def tomorrow(desk: Desk, given: Given) -> Response:
    """Show the round that is written for a date."""
    farm, date = desk.farm(), date_asked(desk, given)
    heading = f"Round for {date_words(date)}"
    round_ = stages.written.written_plan(farm, date)
    found: dict[str, object]
    if round_ is None:
        written = [each.isoformat() for each in stages.written.written_dates(farm)[:MOST_DATES]]
        found = {"sheet": None, "date_words": date_words(date), "written": written}
    else:
        sheet = round_sheet(round_)
        found = {
            "sheet": sheet,
            "days": [day_figure(round_, index, crew) for index, crew in enumerate(sheet.crews)],
            "left_sites": [left.site for left in round_.left_out],
            "left_remedies": [remedy_rows(left) for left in round_.left_out],
            "changed": stages.written.changed_since(farm, date),
        }
    found |= {"heading": heading, "on": date.isoformat()}
    return page(desk, "tomorrow.html", found, title=heading, here=HERE)


def day_map(desk: Desk, given: Given) -> Response:
    """Show the map of the round that is written for a date, to stand in a frame."""
    farm, date = desk.farm(), date_asked(desk, given)
    drawn = stages.written.written_map(farm, date)
    if drawn is None:
        round_ = stages.written.written_plan(farm, date)
        if round_ is None:
            return PlainTextResponse("No round is written for this date.\n", 404)
        drawn = stages.write.map_of(farm, round_)
    return framed(drawn)


def framed(text: str) -> Response:
    """Return a page of a round to stand in a frame: under its own policy, and in no way one with the desk's pages."""
    own = _POLICY.search(text)
    policy = html.unescape(own[1]) if own else "default-src 'none'"
    return HTMLResponse(
        text, headers={"content-security-policy": f"{policy}; frame-ancestors 'self'; sandbox allow-scripts"}
    )


ROUTES = [shown(HERE, tomorrow), shown(f"{HERE}/map", day_map)]
