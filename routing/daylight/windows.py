"""Working light: when work may be done at a place on a date.

All reckoning is in universal time and whole seconds, so nights in which the clocks change are as long as they are.
(Two datetimes of one zone are compared by their clock faces, which is wrong in such a night.)
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from routing.daylight.sun import SunDay, sun_day
from routing.farm.models import LightNeed, Place, Rules, Site

_DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class Window:
    """A span of time in which a visit's work must lie; both ends zone-aware, whole seconds, `opens < closes`."""

    opens: dt.datetime
    closes: dt.datetime


def working_light(place: Place, date: dt.date, zone: ZoneInfo, need: LightNeed, rules: Rules) -> Window | None:
    """Return when there is the light that a job needs, or None where there is none on that date.

    - daylight: the margin after sunrise to the margin before sunset.
    - twilight will do: civil dawn to civil dusk, without margin.
    - any: local midnight to noon of the next day.
    - after flying stops: the rule's minutes after sunset to the next civil dawn (to sunrise where it stays light all
      night); where the sun never rises no bee flies, so as `any`; where it never sets there is no such time.

    A day that begins in the light begins at local midnight, and one that stays light ends at the next. `opens` is
    rounded up to a whole second and `closes` down.
    """
    utc = _working_light(sun_day(place, date, zone), place, zone, need, rules)
    return _window(*utc, zone) if utc else None


def site_windows(
    site: Site, date: dt.date, zone: ZoneInfo, needs: Iterable[LightNeed], rules: Rules
) -> tuple[Window, ...]:
    """Return the windows for work that has all these light needs, in order and apart; empty where there are none.

    The light is cut with each span of opening hours of that date, so what lies after midnight is dropped where a site
    has hours. No needs at all count as `any`.
    """
    if site_closed(site, date):
        return ()
    light = _common_light(site.place, date, zone, needs, rules)
    if light is None or not site.hours:
        return (light,) if light else ()
    spans = (
        _window(
            max(_utc(date, hours.opens, zone), light.opens.astimezone(dt.UTC)),
            min(_utc(date, hours.closes, zone), light.closes.astimezone(dt.UTC)),
            zone,
        )
        for hours in site.hours
    )
    return tuple(span for span in spans if span)


def site_closed(site: Site, date: dt.date) -> bool:
    """Return whether the site may not be entered at all on that date."""
    return date.weekday() in site.closed_weekdays or date in site.closed_dates


def _common_light(
    place: Place, date: dt.date, zone: ZoneInfo, needs: Iterable[LightNeed], rules: Rules
) -> Window | None:
    """Return the light that serves all the needs together."""
    spans = [working_light(place, date, zone, need, rules) for need in sorted(set(needs)) or [LightNeed.ANY]]
    found = [span for span in spans if span]
    if len(found) < len(spans):
        return None
    return _window(
        max(span.opens.astimezone(dt.UTC) for span in found),
        min(span.closes.astimezone(dt.UTC) for span in found),
        zone,
    )


def _working_light(
    sun: SunDay, place: Place, zone: ZoneInfo, need: LightNeed, rules: Rules
) -> tuple[dt.datetime, dt.datetime] | None:
    """Return both ends in universal time, not rounded, perhaps in the wrong order."""
    midnight, next_midnight = _utc(sun.date, dt.time(), zone), _utc(sun.date + _DAY, dt.time(), zone)
    night_over = _utc(sun.date + _DAY, dt.time(12), zone)
    if need is LightNeed.ANY:
        return midnight, night_over
    if need is LightNeed.DAYLIGHT:
        margin = dt.timedelta(minutes=rules.light_margin_minutes.value)
        opens = sun.sunrise.astimezone(dt.UTC) + margin if sun.sunrise else midnight
        closes = sun.sunset.astimezone(dt.UTC) - margin if sun.sunset else next_midnight
        return None if sun.always_dark else (opens, closes)
    if need is LightNeed.TWILIGHT:
        opens = sun.civil_dawn.astimezone(dt.UTC) if sun.civil_dawn else midnight
        closes = sun.civil_dusk.astimezone(dt.UTC) if sun.civil_dusk else next_midnight
        return None if sun.no_twilight else (opens, closes)
    if sun.always_dark:
        return midnight, night_over
    if sun.sunset is None:
        return None
    following = sun_day(place, sun.date + _DAY, zone)
    stops = sun.sunset.astimezone(dt.UTC) + dt.timedelta(minutes=rules.flying_stops_minutes_after_sunset.value)
    ends = following.civil_dawn or following.sunrise or night_over
    return stops, ends.astimezone(dt.UTC)


def _utc(date: dt.date, time: dt.time, zone: ZoneInfo) -> dt.datetime:
    """Return a local clock time in universal time; one that the clocks skip counts as if they had not."""
    return dt.datetime.combine(date, time, tzinfo=zone).astimezone(dt.UTC)


def _window(opens: dt.datetime, closes: dt.datetime, zone: ZoneInfo) -> Window | None:
    """Return the whole seconds between two moments in universal time, or None where there are none."""
    first = opens if opens.microsecond == 0 else opens.replace(microsecond=0) + dt.timedelta(seconds=1)
    last = closes.replace(microsecond=0)
    return Window(first.astimezone(zone), last.astimezone(zone)) if first < last else None
