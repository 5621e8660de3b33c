"""A round as it is written, of a day or of several: the answer, day lines and lists, the map, and what is left out."""

from __future__ import annotations

import datetime as dt
import html
import re
from collections.abc import Mapping
from dataclasses import dataclass

from starlette.responses import HTMLResponse, PlainTextResponse, Response

from routing import stages
from routing.desk.given import Given
from routing.desk.remedy_rows import remedy_rows
from routing.desk.serving import changed, page, shown
from routing.desk.state import Desk, today
from routing.errors import AskedError
from routing.farm.models import Farm
from routing.plain_words import date_words
from routing.round import Round
from routing.share.pages.day_figure import DayFigure, day_figure
from routing.share.safety.private import private_of
from routing.share.wording.answer import crew_answer_lines
from routing.share.wording.private_lines import private_lines
from routing.share.wording.sheet import Sheet, round_sheet
from routing.share.wording.sheet_crew import CrewSheet
from routing.share.wording.words import short_date

HERE = "/tomorrow"
MOST_ROUNDS = 20
MOST_DAYS = 31
_POLICY = re.compile(r'http-equiv="Content-Security-Policy" content="([^"]*)"')
_DAY = dt.timedelta(days=1)
NOTHING = "Nothing is planned on this day."


@dataclass(frozen=True)
class CrewDay:
    """One crew on one day: its words, its figure, and the first lines of its own answer."""

    index: int
    sheet: CrewSheet
    figure: DayFigure
    answer: tuple[str, ...]


@dataclass(frozen=True)
class Day:
    """One day of a round."""

    date: str
    short: str
    words: str
    crews: tuple[CrewDay, ...]


def date_asked(desk: Desk, given: Given) -> dt.date:
    """Return the date that is asked for, tomorrow where none is. Raises AskedError, and FarmError."""
    return given.date("on") or today(desk.farm()) + _DAY


def dates_asked(desk: Desk, given: Given) -> tuple[dt.date, dt.date]:
    """Return the first and the last date that are asked for. Raises AskedError, and FarmError."""
    first = date_asked(desk, given)
    return first, first + _DAY * ((given.whole("days", 1, MOST_DAYS) or 1) - 1)


def tomorrow(desk: Desk, given: Given) -> Response:
    """Show the round that is written for a date, or for several."""
    farm, (first, last) = desk.farm(), dates_asked(desk, given)
    words = words_of(first, last)
    heading = f"Round for {words}"
    round_ = stages.written.written_plan(farm, first, last)
    found: dict[str, object]
    if round_ is None:
        found = {"sheet": None, "date_words": words, "written": written_rounds(farm, first, last)}
    else:
        private, sheet = private_of(farm), round_sheet(round_)
        found = {
            "sheet": sheet,
            "days": _days(round_, sheet),
            "nothing": NOTHING,
            "left_sites": [left.site for left in round_.left_out],
            "left_remedies": [remedy_rows(left) for left in round_.left_out],
            "changed": stages.written.changed_since(farm, first, last),
            "has_private": any(stop.site in private for day in round_.itineraries for stop in day.stops),
        }
    found |= {"heading": heading, "on": first.isoformat(), "days_asked": (last - first).days + 1}
    return page(desk, "tomorrow.html", found, title=heading, here=HERE)


def words_of(first: dt.date, last: dt.date) -> str:
    """Return a day, or several by their first and last, in words."""
    return date_words(first) if first == last else f"{date_words(first)} to {date_words(last)}"


def written_rounds(farm: Farm, first: dt.date, last: dt.date) -> list[dict[str, object]]:
    """Return where the rounds are that stand written, those of the days asked first, then the last begun."""
    return [_link(*ends) for ends in stages.written.written_near(farm, first, last)[:MOST_ROUNDS]]


def _link(first: dt.date, last: dt.date) -> dict[str, object]:
    words = first.isoformat() if first == last else f"{first} to {last}"
    return {"on": first.isoformat(), "days": (last - first).days + 1, "words": words}


def _days(round_: Round, sheet: Sheet) -> list[Day]:
    """Return the days of a round, each with the crews that are out on it."""
    found = []
    for date in round_.dates:
        crews = tuple(
            CrewDay(index, crew, day_figure(round_, index, crew), crew_answer_lines(round_, index))
            for index, crew in enumerate(sheet.crews)
            if round_.itineraries[index].date == date
        )
        found.append(Day(date.isoformat(), short_date(date), date_words(date), crews))
    return found


def day_map(desk: Desk, given: Given) -> Response:
    """Show the map of the round that is written, to stand in a frame."""
    farm, (first, last) = desk.farm(), dates_asked(desk, given)
    drawn = stages.written.written_map(farm, first, last)
    if drawn is None:
        round_ = stages.written.written_plan(farm, first, last)
        if round_ is None:
            return PlainTextResponse("No round is written for this date.\n", 404)
        drawn = stages.write.map_of(farm, round_)
    return framed(drawn)


def private(desk: Desk, given: Given) -> Mapping[str, object]:
    """Give the gate codes, phone numbers and private notes of the round's sites, because they are asked for."""
    farm, (first, last) = desk.farm(), dates_asked(desk, given)
    round_ = stages.written.written_plan(farm, first, last)
    if round_ is None:
        raise AskedError("no round is written for this date")
    return {"sites": [{"name": name, "lines": list(lines)} for name, lines in private_lines(round_, private_of(farm))]}


def framed(text: str) -> Response:
    """Return a page of a round to stand in a frame: under its own policy, and in no way one with the desk's pages."""
    own = _POLICY.search(text)
    policy = html.unescape(own[1]) if own else "default-src 'none'"
    return HTMLResponse(
        text, headers={"content-security-policy": f"{policy}; frame-ancestors 'self'; sandbox allow-scripts"}
    )


ROUTES = [
    shown(HERE, tomorrow),
    shown(f"{HERE}/map", day_map),
    changed(f"{HERE}/private", private, alone=False),
]
