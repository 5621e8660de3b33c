"""A time zone written out for a calendar file, so that a reader needs no list of zones of its own.

Made here from the zone's data: icalendar 7.3.2 leaves out changes of zones whose summer time is the standard one (its
Africa/Casablanca of 2024 has none of that year's two).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from zoneinfo import ZoneInfo

from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

_DAY, _SECOND = dt.timedelta(days=1), dt.timedelta(seconds=1)


def zone_component(name: str, first: dt.date, last: dt.date) -> Timezone:
    """Return the zone with all its changes from the start of the year of `first` to the end of the year of `last`.

    Source: RFC 5545, section 3.6.5: an observance starts at the local time of before the change.
    """
    zone = ZoneInfo(name)
    start = dt.datetime(first.year, 1, 1, tzinfo=dt.UTC) - _DAY
    component = Timezone()
    component.add("tzid", name)
    component.add_component(_observance(start, start, zone))
    for change in _changes(zone, start, dt.datetime(last.year, 12, 31, tzinfo=dt.UTC) + 2 * _DAY):
        component.add_component(_observance(change - _SECOND, change, zone))
    return component


def _changes(zone: ZoneInfo, start: dt.datetime, end: dt.datetime) -> Iterator[dt.datetime]:
    """Yield the first instant of each new offset or name, in UTC, to the second; at most one a day."""
    day = start
    while day < end:
        if _kind(day, zone) != _kind(day + _DAY, zone):
            before, after = day, day + _DAY
            while after - before > _SECOND:
                middle = before + ((after - before) // 2 // _SECOND) * _SECOND
                before, after = (middle, after) if _kind(middle, zone) == _kind(day, zone) else (before, middle)
            yield after
        day += _DAY


def _kind(instant: dt.datetime, zone: ZoneInfo) -> tuple[dt.timedelta | None, str | None]:
    local = instant.astimezone(zone)
    return local.utcoffset(), local.tzname()


def _observance(before: dt.datetime, after: dt.datetime, zone: ZoneInfo) -> TimezoneStandard | TimezoneDaylight:
    local = after.astimezone(zone)
    old, new = before.astimezone(zone).utcoffset(), local.utcoffset()
    observance = TimezoneDaylight() if local.dst() else TimezoneStandard()
    observance.add("dtstart", (after + (old or dt.timedelta())).replace(tzinfo=None))
    observance.add("tzoffsetfrom", old)
    observance.add("tzoffsetto", new)
    observance.add("tzname", local.tzname())
    return observance
