"""What a season's page is made of: plain frozen rows that a log, a list of due work or a test can fill."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum


class State(StrEnum):
    """How a piece of work stands; the values are the words that are shown."""

    OVERDUE = "overdue"
    UNKNOWN = "not known"
    """Its day is past, and the log cannot say whether it was done."""
    DUE = "due"
    DONE = "done"
    CANCELLED = "cancelled"


@dataclass(frozen=True)
class Entry:
    """One piece of work at one site. It stands in the week of `date`: done on it, cancelled on it, or due by it."""

    site: str
    kind: str
    """Its name in words."""
    date: dt.date
    state: State


@dataclass(frozen=True)
class MinutesRow:
    """Minutes a hive of one job kind: what is reckoned, what was learned, and each visit."""

    kind: str
    default: float
    learned: float | None
    """None where nothing is recorded."""
    visits: tuple[tuple[dt.date, float], ...]


@dataclass(frozen=True)
class FeedRow:
    """Stores a colony at one site as they are carried forward, in kilograms; the four lists are as long as `dates`."""

    site: str
    dates: tuple[dt.date, ...]
    middle_kg: tuple[float, ...]
    low_kg: tuple[float, ...]
    high_kg: tuple[float, ...]
    feed_below_kg: tuple[float | None, ...]
    """The level at which feed is due on each of the dates, None where none is."""


@dataclass(frozen=True)
class Season:
    """All that the page shows. `sites` are names in the order of the rows; other sites of entries come after them."""

    farm: str
    today: dt.date
    first: dt.date
    last: dt.date
    sites: tuple[str, ...]
    entries: tuple[Entry, ...]
    minutes: tuple[MinutesRow, ...] = ()
    feed: tuple[FeedRow, ...] = ()
