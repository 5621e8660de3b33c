"""Dates, hours and numbers in the forms that people and spreadsheets write, read by the ways of a country.

What may mean two things is refused with both named, never guessed.
"""

from __future__ import annotations

import datetime as dt
import re

from routing import farm
from routing.farm.unfit import DoubtfulError, UnfitError
from routing.farm.ways import Ways

FIRST_YEAR, LAST_YEAR = 1990, 2199
"""Years outside are taken for slips of the finger."""
CENTURY = 2000
"""What 26 is counted from."""
LONGEST = 60
SHORTEST_MONTH = 3
NOON, MOST_MONTHS = 12, 12

DASHES = str.maketrans(dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe58\ufe63\uff0d", "-"))
"""Every sign that stands for a minus or a dash. Source: Unicode, General_Category Pd, and U+2212."""

_TIME_BEHIND = re.compile(
    r"(?:\s+|(?<=[0-9])t)[0-9]{1,2}[:.][0-9]{2}(?:[:.][0-9]{2}(?:[.,][0-9]+)?)?\s*(?:[ap]\.?m\.?|z|uhr)?", re.IGNORECASE
)
_YEAR_FIRST = re.compile(r"([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})\.?")
_YEAR_LAST = re.compile(r"([0-9]{1,2})([-/.])([0-9]{1,2})\2([0-9]{4}|[0-9]{2})")
_DAY_WORD = re.compile(r"([0-9]{1,2})\.?[-/ .]?([^\W\d_]+)\.?[-/ ,.]*([0-9]{4}|[0-9]{2})")
_WORD_DAY = re.compile(r"([^\W\d_]+)\.?[- ]?([0-9]{1,2})(?:,? +|-)([0-9]{4}|[0-9]{2})")
_WEEKDAY = re.compile(r"[^\W\d_]{2,12}[.,]{0,2} +(?=[^\W_])")
_GROUPED = re.compile(r"[+-]?[0-9]{1,3}(?P<sign>[., '])[0-9]{3}(?:(?P=sign)[0-9]{3})*(?P<rest>[.,][0-9]*)?")
_PLAIN = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)")
_DOUBTFUL = re.compile(r"[+-]?[1-9][0-9]{0,2}([.,])[0-9]{3}")
_HOUR = re.compile(r"([0-9]{1,2})(?:[:.h]([0-9]{2}))?(?::00)?(?:h|uhr)?([ap]m)?")
_UNITS = re.compile(r"(?<=[0-9])\s+(?=(?:[ap]\.?m\b|h\b|uhr\b))")


class Exact(str):
    """The text of a cell that holds a number: always with a decimal point, never with signs between thousands."""

    __slots__ = ()


def spaced(text: str) -> str:
    """Return the text with every kind of space as a plain one, none at its ends, and every kind of dash as a hyphen."""
    return " ".join(text.translate(DASHES).split())


def sensible(value: dt.date) -> dt.date:
    """Return the date. Raises UnfitError for a year that is a slip of the finger."""
    if not FIRST_YEAR <= value.year <= LAST_YEAR:
        raise UnfitError(f"is not in the years {FIRST_YEAR} to {LAST_YEAR}")
    return value


def number_written(text: str, ways: Ways, what: str = "a number") -> float:
    """Return a number such as 1200.5, 1,200.5, 1.200,5, 1 200,5 or 12,5. Raises UnfitError."""
    tidy = text if isinstance(text, Exact) else spaced(text).replace("\u2019", "'").replace("- ", "-", 1)
    doubtful = None if isinstance(text, Exact) else _DOUBTFUL.fullmatch(tidy)
    if doubtful and (doubtful[1] == "," or ways.decimal == ","):
        raise DoubtfulError(
            "may be thousands or a decimal comma: write it with a decimal point or without the comma"
            if doubtful[1] == ","
            else "may be thousands or a decimal point: write it with a decimal comma or without the point"
        )
    if _PLAIN.fullmatch(tidy):
        return float(tidy.replace(",", "."))
    grouped = _GROUPED.fullmatch(tidy)
    if grouped is None or (grouped["rest"] or "").startswith(grouped["sign"]):
        raise UnfitError(f"is not {what}")
    rest = grouped["rest"] or ""
    whole = tidy.removesuffix(rest).replace(grouped["sign"], "")
    return float(whole + rest.replace(",", "."))


def date_written(text: str, ways: Ways) -> dt.date:
    """Return a date in one of the common forms, without the time behind it. Raises UnfitError."""
    tidy = spaced(text)[: LONGEST + 1]
    if isinstance(text, Exact):
        raise UnfitError("is a number: format the cell as a date, or write 2026-12-31")
    day = _without_time(tidy)
    if day[:1].isalpha() and not _WORD_DAY.fullmatch(day):
        day = _WEEKDAY.sub("", day, count=1)
    return sensible(_day(day, ways))


def _without_time(text: str) -> str:
    found = next((one for one in _TIME_BEHIND.finditer(text) if one.end() == len(text)), None)
    return text[: found.start()].rstrip(" ,") if found else text


def _day(text: str, ways: Ways) -> dt.date:
    if found := _YEAR_FIRST.fullmatch(text):
        return _calendar(int(found[1]), int(found[3]), int(found[4]))
    if found := _YEAR_LAST.fullmatch(text):
        return _year_last(found, ways)
    if found := _DAY_WORD.fullmatch(text):
        return _calendar(_year(found[3]), _month(found[2], ways), int(found[1]))
    if found := _WORD_DAY.fullmatch(text):
        return _calendar(_year(found[3]), _month(found[1], ways), int(found[2]))
    raise UnfitError("is not a date: write 2026-12-31")


def _year_last(found: re.Match[str], ways: Ways) -> dt.date:
    """Return a date of three numbers, the year last; what is read in more than one way is asked about."""
    one, sign, two, last = found[1], found[2], found[3], found[4]
    first = ways.day_first
    if sign == ".":  # no country writes the month first with points; Source: CLDR, short dates
        first = None if first is False else True
    if first is not None:
        day, month = (one, two) if first else (two, one)
        return _calendar(_year(last), int(month), int(day), " (day first)" if first else " (month first)")
    readings = {_maybe(_year(last), int(two), int(one)), _maybe(_year(last), int(one), int(two))}
    if len(last) < len("2026"):
        readings.add(_maybe(_year(one), int(two), int(last)))
    sure = sorted(date for date in readings if date)
    if len(sure) > 1:
        raise DoubtfulError(f"may be {' or '.join(map(str, sure))}: write the one that is meant")
    if not sure:
        raise UnfitError("is not a day of the calendar: write 2026-12-31")
    return sure[0]


def _year(text: str) -> int:
    return int(text) if len(text) == len("2026") else CENTURY + int(text)


def _maybe(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


def _calendar(year: int, month: int, day: int, order: str = "") -> dt.date:
    found = _maybe(year, month, day)
    if found is None:
        raise UnfitError(f"is not a day of the calendar{order}: write 2026-12-31")
    return found


def _month(word: str, ways: Ways) -> int:
    name = farm.languages.bare_word(word)
    names = farm.languages.month_names(ways.locales)
    if name in names:
        return names[name]
    meant = (
        {month for known, month in names.items() if known.startswith(name)} if len(name) >= SHORTEST_MONTH else set()
    )
    if len(meant) != 1:
        raise UnfitError("names no month that is known here: write 2026-12-31")
    return meant.pop()


def weekday_written(word: str, ways: Ways) -> int | None:
    """Return 0 for a Monday in one of the country's languages, whole or shortened, None where it is no weekday."""
    return farm.languages.weekday_names(ways.locales).get(farm.languages.bare_word(word))


def spans_written(text: str) -> list[tuple[dt.time, dt.time]]:
    """Return spans of a day such as 08:00-16:00, 8.00-16.00, 8-16, 8:00 - 16:00 or 8 am - 4 pm, as they stand.

    Raises UnfitError where they are no spans.
    """
    joined = re.sub(r"\s*-\s*", "-", _UNITS.sub("", spaced(text).lower()))
    if _YEAR_FIRST.fullmatch(joined) or _YEAR_FIRST.match(joined):
        raise UnfitError("is a date, maybe made by a spreadsheet: format the cell as text and write 08:00-16:00")
    spans = []
    for word in re.split(r"[\s;,]+", joined):
        start, dash, end = word.partition("-")
        if dash:
            spans.append((_hour(start), _hour(end)))
        elif word:
            raise UnfitError("is not a span of hours: write 08:00-17:00")
    return spans


def time_written(text: str) -> dt.time:
    """Return a time of day such as 07:30, 7.30, 7h30 or 7:30 am. Raises UnfitError."""
    return _hour(_UNITS.sub("", spaced(text[: LONGEST + 1]).lower()))


def _hour(text: str) -> dt.time:
    found = _HOUR.fullmatch(text.replace("a.m.", "am").replace("p.m.", "pm"))
    if not found:
        raise UnfitError("is not a time: write 07:30")
    hour, minute, half = int(found[1]), int(found[2] or 0), found[3]
    if half:
        if not 1 <= hour <= NOON:
            raise UnfitError("is not a time of day: write 00:00 to 23:59")
        hour = hour % NOON + (NOON if half == "pm" else 0)
    try:
        return dt.time(hour, minute)
    except ValueError as error:
        raise UnfitError("is not a time of day: write 00:00 to 23:59") from error
