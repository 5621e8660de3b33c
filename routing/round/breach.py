"""What days that a person puts in order break: which rule, at which place, and by how much."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum


class Rule(StrEnum):
    """The rule that is broken, in a word or two."""

    LIGHT = "working light"
    HOURS = "opening hours"
    HOME = "home by"
    LAST = "last of the day"
    STOCK = "stock"
    PAYLOAD = "payload"
    SPACE = "space"
    WAY = "no way"
    ABLE = "crew"
    DATE = "date"
    DAY = "day"


@dataclass(frozen=True)
class Breach:
    """One rule that a given day breaks at one place."""

    rule: Rule
    crew: str
    date: dt.date
    stop: int | None
    """Its place in the given order, from 0; None for the day as a whole, its loading and its coming home."""
    text: str
    seconds: int = 0
    """By how much, where it is a matter of time."""
