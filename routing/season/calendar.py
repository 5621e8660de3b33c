"""Days of the year as spans of dates, in either half of the world.

The rules are written for the north. South of the equator every month is six later: 31 October becomes 30 April (a day
that the other month lacks becomes its last).
"""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from routing.farm.models import Farm

MONTHS = 12
HALF_A_YEAR = 6
SHORTEST_MONTH = 28


@dataclass(frozen=True)
class Span:
    """A season's span of dates, both ends in it."""

    starts: dt.date
    ends: dt.date

    def __contains__(self, date: dt.date) -> bool:
        return self.starts <= date <= self.ends


def southern(farm: Farm) -> bool:
    """Return whether the farm's base lies south of the equator, so that its months are shifted by six."""
    return farm.base.place.latitude < 0


def shifted(month: int, *, south: bool) -> int:
    """Return the month, 1 to 12, in which the south does what the north does in this one; and the other way."""
    return (month - 1 + HALF_A_YEAR * south) % MONTHS + 1


def day_in(month_day: str, year: int, *, south: bool) -> dt.date:
    """Return `10-31` as a date of that year; a day that its month lacks becomes the month's last."""
    month, day = int(month_day[:2]), int(month_day[3:])
    there = shifted(month, south=south)
    if day > SHORTEST_MONTH:
        day = min(day, calendar.monthrange(year, there)[1])
    return dt.date(year, there, day)


def day_after(month_day: str, date: dt.date, *, south: bool) -> dt.date:
    """Return the first such day on or after a date."""
    this_year = day_in(month_day, date.year, south=south)
    return this_year if this_year >= date else day_in(month_day, date.year + 1, south=south)


def spans(starts: str, ends: str, since: dt.date, *, south: bool) -> Iterator[Span]:
    """Yield, without end, each span from `starts` to the next `ends` that is not over before `since`, in order."""
    for year in range(max(since.year - 1, dt.MINYEAR), dt.MAXYEAR):
        first = day_in(starts, year, south=south)
        span = Span(first, day_after(ends, first, south=south))
        if span.ends >= since:
            yield span
