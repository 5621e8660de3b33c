"""From the words in a cell to a value. Each parser raises UnfitError with what is wrong, to stand after the value."""

from __future__ import annotations

import datetime as dt
import math
import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from routing.farm.faults import nearest, plain
from routing.farm.models import Hours

LONGEST_ID = 60
LONGEST_NAME = 200
LONGEST_NOTE = 10_000
FIRST_YEAR, LAST_YEAR = 1990, 2199
"""Years outside are taken for slips of the finger."""

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
SHORTEST_WEEKDAY = 3
YES = frozenset({"yes", "y", "true", "1", "x"})
NO = frozenset({"no", "n", "false", "0"})
TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f")
"""Marks that turn the reading direction, so that a text looks like another."""

NUMBER = re.compile(r"[+-]?([0-9]+([.,][0-9]+)?|[.,][0-9]+)")
THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
TIME = re.compile(r"([0-9]{1,2}):([0-9]{2})")
ISO_DATE = re.compile(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})")
DAY_FIRST_DATE = re.compile(r"([0-9]{1,2})/([0-9]{1,2})/([0-9]{4})")


class UnfitError(ValueError):
    """A value is not what it should be; the message is made to stand after the value."""


def number(low: float, high: float) -> Callable[[str], float]:
    """Return a parser for a number from `low` to `high`, with a decimal point or a decimal comma."""

    def parse(text: str) -> float:
        if not NUMBER.fullmatch(text):
            raise UnfitError("is not a number")
        if THOUSANDS.fullmatch(text):
            raise UnfitError("may be thousands or a decimal comma: write it with a decimal point or without the comma")
        return within(float(text.replace(",", ".")), low, high)

    return parse


def whole(low: int, high: int) -> Callable[[str], int]:
    """Return a parser for a whole number from `low` to `high`; `12.0`, as spreadsheets write it, is one."""

    def parse(text: str) -> int:
        if not NUMBER.fullmatch(text):
            raise UnfitError("is not a whole number")
        value = float(text.replace(",", "."))
        if THOUSANDS.fullmatch(text) or (math.isfinite(value) and not value.is_integer()):
            raise UnfitError("is not a whole number")
        return int(within(value, low, high))

    return parse


def within(value: float, low: float, high: float) -> float:
    """Return the value. Raises UnfitError where it is not from `low` to `high`."""
    if not math.isfinite(value) or not low <= value <= high:
        raise UnfitError(f"must be from {low:,.10g} to {high:,.10g}")
    return value


def text_up_to(longest: int, *, many_lines: bool = False) -> Callable[[str], str]:
    """Return a parser that lets text through as it is, but no control characters and no more than `longest`."""

    def parse(text: str) -> str:
        if len(text) > longest:
            raise UnfitError(f"is longer than {longest:,} characters")
        allowed = "\n\r\t" if many_lines else ""
        for character in text:
            if character in TURNING or (unicodedata.category(character) in {"Cc", "Cs"} and character not in allowed):
                raise UnfitError(f"holds a control character (U+{ord(character):04X})")
        return text

    return parse


def identity(text: str) -> str:
    """Return an id: up to 60 characters on one line, no comma, so that it can stand in any list."""
    if "," in text:
        raise UnfitError("holds a comma, which an id may not")
    return text_up_to(LONGEST_ID)(text)


def yes_or_no(text: str) -> bool:
    """Return whether the cell says yes."""
    word = text.casefold()
    if word in YES:
        return True
    if word in NO:
        return False
    raise UnfitError("is neither yes nor no")


def date(text: str) -> dt.date:
    """Return a date written 2026-12-31 or 31/12/2026."""
    if found := ISO_DATE.fullmatch(text):
        year, month, day = (int(part) for part in found.groups())
    elif found := DAY_FIRST_DATE.fullmatch(text):
        day, month, year = (int(part) for part in found.groups())
    else:
        raise UnfitError("is not a date: write 2026-12-31 or 31/12/2026")
    try:
        value = dt.date(year, month, day)
    except ValueError as error:
        raise UnfitError("is not a day of the calendar: write 2026-12-31 or 31/12/2026 (day first)") from error
    return sensible(value)


def sensible(value: dt.date) -> dt.date:
    """Return the date. Raises UnfitError for a year that is a slip of the finger."""
    if not FIRST_YEAR <= value.year <= LAST_YEAR:
        raise UnfitError(f"is not in the years {FIRST_YEAR} to {LAST_YEAR}")
    return value


def clock(text: str) -> dt.time:
    """Return a local time of day written 07:30."""
    found = TIME.fullmatch(text)
    if not found:
        raise UnfitError("is not a time: write 07:30")
    hour, minute = (int(part) for part in found.groups())
    try:
        return dt.time(hour, minute)
    except ValueError as error:
        raise UnfitError("is not a time of day: write 00:00 to 23:59") from error


def hours(text: str) -> tuple[Hours, ...]:
    """Return spans such as `08:00-12:00 13:00-17:00`, in order; spans that touch become one."""
    spans = []
    for word in "-".join(part.strip() for part in re.split(r"[-\u2013]", text)).replace(";", " ").split():
        start, dash, end = word.partition("-")
        if not dash:
            raise UnfitError("is not a span of hours: write 08:00-17:00")
        opens, closes = clock(start), clock(end)
        if closes <= opens:
            raise UnfitError(f"closes at {closes:%H:%M}, which is not after {opens:%H:%M}")
        spans.append(Hours(opens=opens, closes=closes))
    return _joined(sorted(spans, key=lambda span: span.opens))


def _joined(spans: Sequence[Hours]) -> tuple[Hours, ...]:
    joined: list[Hours] = []
    for span in spans:
        if joined and span.opens < joined[-1].closes:
            raise UnfitError("has spans that overlap")
        if joined and span.opens == joined[-1].closes:
            joined[-1] = Hours(opens=joined[-1].opens, closes=span.closes)
        else:
            joined.append(span)
    return tuple(joined)


@dataclass(frozen=True)
class DaysOff:
    """Weekdays (0 is Monday) and dates on which nothing is done."""

    weekdays: frozenset[int] = field(default_factory=frozenset)
    dates: frozenset[dt.date] = field(default_factory=frozenset)


def days(text: str) -> DaysOff:
    """Return the days in `Sun 2026-12-24`: weekdays and dates with spaces, commas or semicolons between."""
    weekdays, dates = set(), set()
    for word in re.split(r"[\s,;]+", text.strip()):
        if word[:1].isdigit():
            dates.add(_date_among_others(word))
        elif word:
            weekdays.add(_weekday(word))
    return DaysOff(frozenset(weekdays), frozenset(dates))


def _date_among_others(word: str) -> dt.date:
    try:
        return date(word)
    except ValueError as error:
        raise UnfitError(f"has a part that {error}") from error


def _weekday(word: str) -> int:
    name = plain(word).removesuffix(".")
    for index, weekday in enumerate(WEEKDAYS):
        if len(name) >= SHORTEST_WEEKDAY and (weekday.startswith(name) or name == weekday + "s"):
            return index
    raise UnfitError("is not made of weekdays and dates: " + (nearest(name, WEEKDAYS) or "write Sun 2026-12-24"))
