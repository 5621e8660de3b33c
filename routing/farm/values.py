"""From the words in a cell to a value, in the unit that the cell is in.

Each parser raises UnfitError with what is wrong, to stand after the value; DoubtfulError, one of these, where a date
may mean two days.
"""

from __future__ import annotations

import datetime as dt
import math
import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from routing.farm.basics import Hours
from routing.farm.faults import nearest, plain
from routing.farm.truth_words import says_yes
from routing.farm.unfit import UnfitError
from routing.farm.ways import ANY, Ways
from routing.farm.written_forms import date_written, number_written, spans_written, weekday_written

LONGEST_ID = 60
LONGEST_NAME = 200
LONGEST_NOTE = 10_000
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
SHORTEST_WEEKDAY = 3
TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f")
"""Marks that turn the reading direction, so that a text looks like another."""

TIME = re.compile(r"([0-9]{1,2}):([0-9]{2})")


def number(low: float, high: float, ways: Ways = ANY) -> Callable[[str], float]:
    """Return a parser for a number from `low` to `high`, with a decimal point or comma; it raises UnfitError."""

    def parse(text: str) -> float:
        return within(number_written(text, ways), low, high)

    return parse


def whole(low: int, high: int, ways: Ways = ANY) -> Callable[[str], int]:
    """Return a parser for a whole number from `low` to `high`; `12.0`, as spreadsheets write it, is one.

    It raises UnfitError.
    """

    def parse(text: str) -> int:
        value = number_written(text, ways, "a whole number")
        if math.isfinite(value) and not value.is_integer():
            raise UnfitError("is not a whole number")
        return int(within(value, low, high))

    return parse


def within(value: float, low: float, high: float) -> float:
    """Return the value. Raises UnfitError where it is not from `low` to `high`."""
    if not math.isfinite(value) or not low <= value <= high:
        raise UnfitError(f"must be from {low:,.10g} to {high:,.10g}")
    return value


def text_up_to(longest: int, *, many_lines: bool = False) -> Callable[[str], str]:
    """Return a parser that lets text through as it is, up to `longest` characters and without control characters.

    It raises UnfitError. Source of what a control character is: Unicode, General_Category Cc and Cs; and the marks of
    the bidirectional algorithm, Unicode Standard Annex 9.
    """

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
    """Return an id: up to 60 characters on one line, no comma, so that it can stand in any list. Raises UnfitError."""
    if "," in text:
        raise UnfitError("holds a comma, which an id may not")
    return text_up_to(LONGEST_ID)(text)


def yes_or_no(text: str) -> bool:
    """Return whether the cell says yes, in any language that spreadsheets use for truth. Raises UnfitError."""
    said = says_yes(text)
    if said is None:
        raise UnfitError("is neither yes nor no")
    return said


def dates(ways: Ways) -> Callable[[str], dt.date]:
    """Return a parser for a date in any of the common forms, in the years 1990 to 2199.

    It raises UnfitError, DoubtfulError for one that may be two days in these ways.
    """

    def parse(text: str) -> dt.date:
        return date_written(text, ways)

    return parse


def date(text: str) -> dt.date:
    """Return a date where no country is known: 2026-12-31, 31/12/2026 and what else can only be one day.

    Raises UnfitError, DoubtfulError for one that may be two days.
    """
    return date_written(text, ANY)


def clock(text: str) -> dt.time:
    """Return a local time of day written 07:30, from 00:00 to 23:59. Raises UnfitError."""
    found = TIME.fullmatch(text)
    if not found:
        raise UnfitError("is not a time: write 07:30")
    hour, minute = (int(part) for part in found.groups())
    try:
        return dt.time(hour, minute)
    except ValueError as error:
        raise UnfitError("is not a time of day: write 00:00 to 23:59") from error


def hours(text: str) -> tuple[Hours, ...]:
    """Return spans of local time such as `08:00-12:00 13:00-17:00`, in order; spans that touch become one.

    Raises UnfitError, for spans that overlap or close before they open too.
    """
    spans = []
    for opens, closes in spans_written(text):
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


def days_by(ways: Ways) -> Callable[[str], DaysOff]:
    """Return a parser for `Sun 2026-12-24`: weekdays and dates with spaces, commas or semicolons between.

    It raises UnfitError.
    """

    def parse(text: str) -> DaysOff:
        weekdays, off = set(), set()
        for word in _words(text):
            if word[:1].isdigit():
                off.add(_date_among_others(word, ways))
            else:
                weekdays.add(_weekday(word, ways))
        return DaysOff(frozenset(weekdays), frozenset(off))

    return parse


def days(text: str) -> DaysOff:
    """Return the days in `Sun 2026-12-24` where no country is known. Raises UnfitError."""
    return days_by(ANY)(text)


def _words(text: str) -> list[str]:
    """Return the parts of a list of days; a clock time, which spreadsheets put behind dates, belongs to its date."""
    without = re.sub(r"(?<=[0-9])[ T][0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?(?![0-9:])", "", text)
    return [word for word in re.split(r"[\s,;]+", without) if word]


def _date_among_others(word: str, ways: Ways) -> dt.date:
    try:
        return date_written(word, ways)
    except ValueError as error:
        raise UnfitError(f"has a part that {error}") from error


def _weekday(word: str, ways: Ways) -> int:
    """Return 0 for a Monday, whole or shortened, in English or in a language of the country."""
    name = plain(word).removesuffix(".")
    known = weekday_written(word, ways)
    if known is not None:
        return known
    for index, weekday in enumerate(WEEKDAYS):
        if len(name) >= SHORTEST_WEEKDAY and (weekday.startswith(name) or name == weekday + "s"):
            return index
    raise UnfitError("is not made of weekdays and dates: " + (nearest(name, WEEKDAYS) or "write Sun 2026-12-24"))
