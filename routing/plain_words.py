"""Plain words for numbers and dates, the same in every sentence the program writes."""

from __future__ import annotations

import datetime as dt
import math

SECONDS_A_MINUTE = 60
_SURE, _VAIN = 0.995, 0.01
_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
"""January first."""


def minutes_words(minutes: int) -> str:
    """Return `40 min` or `1 h 05` for whole minutes. Raises ValueError below zero."""
    if minutes < 0:
        raise ValueError(f"a duration cannot be {minutes} minutes")
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02}" if hours else f"{rest} min"


def duration(seconds: int) -> str:
    """Return `seconds` rounded up to whole minutes, in words. Raises ValueError below zero."""
    return minutes_words(math.ceil(seconds / 60))


def at_least(seconds: int) -> str:
    """Return `seconds` rounded down to whole minutes, in words, where more would be too much, or as seconds."""
    return minutes_words(seconds // 60) if seconds >= SECONDS_A_MINUTE else count(max(0, seconds), "second")


def count(how_many: int, noun: str) -> str:
    """Return `1 hive` or `12 hives` for a noun with a plain plural."""
    return f"{how_many} {noun}" + ("" if how_many == 1 else "s")


def chance_words(chance: float) -> str:
    """Return a chance in whole per cent, rounded down; never a certainty."""
    if chance >= _SURE:
        return "over 99 %"
    return "under 1 %" if chance < _VAIN else f"{math.floor(round(100 * chance, 6))} %"


def people_words(people: int) -> str:
    """Return `1 person, alone` or `2 people`."""
    return "1 person, alone" if people == 1 else f"{people} people"


def date_words(date: dt.date) -> str:
    """Return `Wednesday 18 December 2024`, whatever the computer's language is set to."""
    return f"{_WEEKDAYS[date.weekday()]} {date.day} {MONTHS[date.month - 1]} {date.year}"


def day_words(date: dt.date) -> str:
    """Return `28 November 2026`."""
    return f"{date.day} {MONTHS[date.month - 1]} {date.year}"
