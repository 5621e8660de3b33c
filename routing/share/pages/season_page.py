"""The season on one page: sites by weeks with what is due, done and overdue, and plots of minutes and stores."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from routing.share.pages.inline import content_policy, environment, template_text
from routing.share.pages.season_plots import HEIGHT, LEFT, RIGHT, TOP, WIDTH, feed_plot, minutes_plot
from routing.share.safety.safe import plain_name
from routing.share.safety.trusted import trusted
from routing.share.wording.season import Entry, Season, State
from routing.share.wording.words import count, date_words

SIGNS = {
    State.OVERDUE: "!",
    State.UNKNOWN: "?",
    State.DUE: "○",
    State.DONE: "✓",
    State.CANCELLED: "\N{MULTIPLICATION SIGN}",
}
"""Each state's sign; the words stand beside it for who cannot see it, and in the legend."""
WEEKS_A_TABLE = 26
"""So many weeks fit across an A4 sheet laid on its side; a longer season has several tables."""
MOST_WEEKS = 530
_WEEK = dt.timedelta(days=7)
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True)
class Mark:
    """One state in one cell: how many, and which work, in words."""

    state: str
    sign: str
    how_many: int
    words: str


@dataclass(frozen=True)
class Cell:
    """One site in one week."""

    marks: tuple[Mark, ...]
    now: bool


@dataclass(frozen=True)
class Week:
    """The head of one column."""

    day: str
    month: str
    words: str
    now: bool


@dataclass(frozen=True)
class Calendar:
    """One table: weeks across, sites down."""

    title: str
    weeks: tuple[Week, ...]
    rows: tuple[tuple[str, tuple[Cell, ...]], ...]


def season_page(season: Season) -> str:
    """Return a page that needs no other file, no script and no network; it prints on A4 landscape and fits a phone.

    Raises ValueError where the season ends before it begins or is longer than ten years.
    """
    style = template_text("tokens.css") + template_text("sheet.css") + template_text("season.css")
    plots = (
        ("Minutes a hive", tuple(minutes_plot(row, season.first, season.last) for row in season.minutes)),
        ("Stores", tuple(feed_plot(row, season.first, season.last) for row in season.feed)),
    )
    return (
        environment()
        .get_template("season.html")
        .render(
            farm=plain_name(season.farm),
            title=f"Season {_day(season.first)} to {_day(season.last)}",
            today=date_words(season.today),
            headline=headline(season),
            calendars=calendars(season),
            lists=lists(season),
            legend=tuple((SIGNS[state], state.value) for state in State),
            plots=tuple((title, drawn) for title, drawn in plots if drawn),
            size={"width": WIDTH, "height": HEIGHT, "left": LEFT, "right": WIDTH - RIGHT, "top": TOP},
            policy=content_policy([style]),
            style=trusted(style),  # our own file; escaping would break its selectors
        )
    )


def headline(season: Season) -> str:
    """Return the season in one sentence: how many pieces of work stand how."""
    states = Counter(entry.state for entry in season.entries)
    told = [f"{states[state]} {state.value}" for state in State if states[state]]
    return f"{count(len(season.entries), 'piece')} of work: {', '.join(told)}." if told else "Nothing is due or done."


def calendars(season: Season) -> tuple[Calendar, ...]:
    """Return the tables of the season, each of at most `WEEKS_A_TABLE` weeks.

    Raises ValueError where the season ends before it begins, or lasts more than ten years.
    """
    if season.last < season.first:
        raise ValueError("a season cannot end before it begins")
    mondays = [_monday(season.first)]
    while mondays[-1] + _WEEK <= season.last:
        mondays.append(mondays[-1] + _WEEK)
        if len(mondays) > MOST_WEEKS:
            raise ValueError("a season's page shows ten years at most")
    names = tuple(dict.fromkeys([*season.sites, *sorted({entry.site for entry in season.entries})]))
    parts = [mondays[i : i + WEEKS_A_TABLE] for i in range(0, len(mondays), WEEKS_A_TABLE)]
    return tuple(_calendar(season, names, part) for part in parts)


def lists(season: Season) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return what is overdue, and what is due next, in words, oldest first: the part that a phone reads."""
    found = []
    for state, title in ((State.OVERDUE, "Overdue"), (State.DUE, "Due next")):
        entries = sorted((entry for entry in season.entries if entry.state is state), key=lambda each: each.date)
        lines = tuple(
            f"{date_words(entry.date)}: {plain_name(entry.kind)} at {plain_name(entry.site)}" for entry in entries
        )
        found.append((title, lines))
    return tuple(found)


def _calendar(season: Season, names: Sequence[str], mondays: Sequence[dt.date]) -> Calendar:
    this_week = _monday(season.today)
    by_cell: dict[tuple[str, dt.date], list[Entry]] = {}
    for entry in season.entries:
        by_cell.setdefault((entry.site, _monday(entry.date)), []).append(entry)
    months = [
        "" if i and day.month == mondays[i - 1].month else _MONTHS[day.month - 1] for i, day in enumerate(mondays)
    ]
    return Calendar(
        title=f"Weeks from {_day(mondays[0])} to {_day(mondays[-1])}, by their Mondays",
        weeks=tuple(
            Week(day=str(day.day), month=month, words=f"week of {date_words(day)}", now=day == this_week)
            for day, month in zip(mondays, months, strict=True)
        ),
        rows=tuple(
            (
                plain_name(name),
                tuple(Cell(marks=_marks(by_cell.get((name, day), [])), now=day == this_week) for day in mondays),
            )
            for name in names
        ),
    )


def _marks(entries: Sequence[Entry]) -> tuple[Mark, ...]:
    found = []
    for state in State:
        kinds = [plain_name(entry.kind) for entry in entries if entry.state is state]
        if kinds:
            found.append(Mark(state.value, SIGNS[state], len(kinds), f"{state.value}: {', '.join(kinds)}"))
    return tuple(found)


def _monday(date: dt.date) -> dt.date:
    return date - dt.timedelta(days=date.weekday())


def _day(date: dt.date) -> str:
    return f"{date.day} {_MONTHS[date.month - 1]} {date.year}"
