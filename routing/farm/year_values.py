"""From a TOML value of the year's rules to ours. Each parser raises UnfitError with what is wrong."""

from __future__ import annotations

import datetime as dt
from typing import Literal

from routing.farm.basics import Rank
from routing.farm.documents import as_number, as_text
from routing.farm.faults import one_of, plain
from routing.farm.unfit import UnfitError
from routing.farm.values import within

LEAP_YEAR = 2024
MONTHS = 12


def month_day(value: object) -> str:
    """Return a day of every year, `10-31`.

    Raises UnfitError where it is none.
    """
    try:
        dt.date.fromisoformat(f"{LEAP_YEAR}-{as_text(value)}")
    except ValueError as error:
        raise UnfitError('is not a day of the year: write month and day, such as "10-31"') from error
    return as_text(value)


def by_month(value: object, low: float, high: float) -> tuple[float, ...]:
    """Return twelve numbers from `low` to `high`, January first.

    Raises UnfitError where they are none.
    """
    if not isinstance(value, list) or len(value) != MONTHS:
        raise UnfitError("is not a list of 12 numbers, January first")
    return tuple(within(as_number(part), low, high) for part in value)


def rank(value: object) -> Rank:
    """Return how much a job matters.

    Raises UnfitError where it is none.
    """
    try:
        return Rank(plain(as_text(value)))
    except ValueError as error:
        raise UnfitError(f"is not {one_of(Rank)}") from error


def queens(value: object) -> Literal["unclipped", "clipped"]:
    """Return whether the queens are clipped, as a word.

    Raises UnfitError where it is none of these words.
    """
    if value == "clipped":
        return "clipped"
    if value == "unclipped":
        return "unclipped"
    raise UnfitError("is neither clipped nor unclipped")


def all_or_seen(value: object) -> Literal["all", "seen"]:
    """Return for how many hives a rule asks, as a word.

    Raises UnfitError where it is neither.
    """
    if value == "all":
        return "all"
    if value == "seen":
        return "seen"
    raise UnfitError("is neither all nor seen")


def true_or_false(value: object) -> bool:
    """Return TOML's own true or false.

    Raises UnfitError where it is neither.
    """
    if not isinstance(value, bool):
        raise UnfitError("is neither true nor false")
    return value
