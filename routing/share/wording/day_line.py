"""One crew's day along one time axis: the sky above it, and below it a row for each stop, as values to draw.

The sky is that over the base. Each stop's row has its own working light and opening hours, so that what is left of them
after the work can be seen and is true of that stop.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal
from zoneinfo import ZoneInfo

from routing.daylight.sun import SunDay, sun_day
from routing.farm.models import Place
from routing.plain_words import chance_words
from routing.round import Itinerary, Round, Stop
from routing.share.wording import words
from routing.share.wording.sheet_crew import CrewSheet

SpanKind = Literal["night", "twilight", "day", "light", "load", "drive", "work", "break", "wait"]

_HOUR = 3600
_MARGIN = dt.timedelta(minutes=20)


@dataclass(frozen=True)
class Span:
    """What lasts from one moment to another, in seconds from the beginning of the axis."""

    kind: SpanKind
    begin: float
    end: float


@dataclass(frozen=True)
class Row:
    """One row: its working light (of a stop), what is done, and its words."""

    words: str
    spans: tuple[Span, ...]
    light: Span | None = None
    told: str = ""
    """What follows the words after a comma, and stays whole where these are cut: what light is left, how sure it is."""
    mark: str = ""
    """The mark of the stop, such as `3` or `B3`; empty where the row is of none."""

    @property
    def whole(self) -> str:
        """The words with what follows them."""
        return f"{self.words}, {self.told}" if self.told else self.words


@dataclass(frozen=True)
class DayLine:
    """The axis from 0 to `seconds` with its full hours, the sky, and the rows from loading to home."""

    seconds: float
    hours: tuple[tuple[float, str], ...]
    """Where each full hour lies, and its two digits."""
    sky: tuple[Span, ...]
    rows: tuple[Row, ...]
    title: str
    """The day in a sentence."""


def day_line(round_: Round, index: int, crew: CrewSheet) -> DayLine:
    """Return the day of the itinerary at `index`, whose words are `crew`."""
    day, zone = round_.itineraries[index], ZoneInfo(round_.time_zone)
    begin, end = _axis(day, zone)

    def span(kind: SpanKind, first: dt.datetime, last: dt.datetime) -> Span:
        return Span(kind, _seconds(begin, first), _seconds(begin, last))

    begun = f"{'Load' if day.load.out else 'Leave'} from {_clock(day.load_from, zone)}, leave {_after(crew.leave)}"
    rows = [Row(begun if round_.start is None else crew.leave, (span("load", day.load_from, day.leave),))]
    for stop, shown in zip(day.stops, crew.stops, strict=True):
        left = "back at base, load again" if shown.at_base else f"{shown.light_left} left"
        light = None if shown.at_base else span("light", stop.window_opens, stop.window_closes)
        spans = tuple(span(*each) for each in _of_stop(stop) if each[2] > each[1])
        rows.append(Row(f"{shown.mark} {shown.name}", spans, light, left, shown.mark))
    drive = dt.timedelta(seconds=day.drive_home.seconds)
    rows.append(Row(f"Home {crew.home}", (span("drive", day.home - drive, day.home),), told=_holds(round_)))
    sun = sun_day(Place(latitude=round_.base_latitude, longitude=round_.base_longitude), day.date, zone)
    stops = words.count(len(day.at_sites), "stop")
    hours = range(0, int(_seconds(begin, end)) + 1, _HOUR)
    return DayLine(
        seconds=_seconds(begin, end),
        hours=tuple((float(at), f"{(begin + dt.timedelta(seconds=at)).astimezone(zone):%H}") for at in hours),
        sky=_sky(sun, begin, end),
        rows=tuple(rows),
        title=", ".join(filter(None, (crew.leave, stops, f"home {crew.home}", _holds(round_)))),
    )


def _holds(round_: Round) -> str:
    """Return the share of simulated days on which all is in time; empty where that is not known of this day."""
    if round_.chance is None or len(round_.itineraries) != 1:
        return ""
    return f"in time {chance_words(round_.chance.whole)} (simulated)"


def _axis(day: Itinerary, zone: ZoneInfo) -> tuple[dt.datetime, dt.datetime]:
    """Return full hours around all of the day and the working light that it uses, in universal time."""
    ends = [day.load_from, day.leave, day.home, *(stop.window_closes for stop in day.at_sites)]
    first = min(each.astimezone(dt.UTC) for each in ends) - _MARGIN
    last = max(each.astimezone(dt.UTC) for each in ends) + _MARGIN
    local = first.astimezone(zone)
    over = dt.timedelta(minutes=local.minute, seconds=local.second, microseconds=local.microsecond)
    begin = first - over
    hours = -((begin - last) // dt.timedelta(hours=1))
    return begin, begin + hours * dt.timedelta(hours=1)


def _seconds(begin: dt.datetime, moment: dt.datetime) -> float:
    return (moment.astimezone(dt.UTC) - begin).total_seconds()


def _clock(moment: dt.datetime, zone: ZoneInfo) -> str:
    return f"{words.minute_by(moment).astimezone(zone):%H:%M}"


def _after(leave: str) -> str:
    """Return the time out of `Leave base 07:35`."""
    return leave.rsplit(" ", 1)[-1]


def _of_stop(stop: Stop) -> list[tuple[SpanKind, dt.datetime, dt.datetime]]:
    """Return the drive there, what comes before the work, the work, and a break after it."""
    drive = dt.timedelta(seconds=stop.drive.seconds)
    found: list[tuple[SpanKind, dt.datetime, dt.datetime]] = [("drive", stop.arrive - drive, stop.arrive)]
    at = stop.arrive
    rest = stop.rest
    rest_end = None if rest is None else rest.start + dt.timedelta(seconds=rest.seconds)
    if rest is not None and rest_end is not None and rest.start < stop.start:
        found += [("wait", at, rest.start), ("break", rest.start, rest_end)]
        at = rest_end
    found += [("wait", at, stop.start), ("work", stop.start, stop.finish)]
    if rest is not None and rest_end is not None and rest.start >= stop.start:
        found += [("wait", stop.finish, rest.start), ("break", rest.start, rest_end)]
    return found


def _sky(sun: SunDay, begin: dt.datetime, end: dt.datetime) -> tuple[Span, ...]:
    """Return night, twilight and day over the axis, without gaps."""
    whole = _seconds(begin, end)

    def between(first: dt.datetime | None, last: dt.datetime | None, *, always: bool) -> tuple[float, float] | None:
        if always:
            return 0.0, whole
        if first is None and last is None:
            return None
        low = 0.0 if first is None else min(whole, max(0.0, _seconds(begin, first)))
        return low, whole if last is None else max(low, min(whole, _seconds(begin, last)))

    up = between(sun.sunrise, sun.sunset, always=sun.always_up)
    light = between(sun.civil_dawn, sun.civil_dusk, always=sun.always_up or sun.twilight_all_night)
    light = light or up or (0.0, 0.0)
    up = up or (light[1], light[1])
    edges: list[tuple[SpanKind, float, float]] = [
        ("night", 0.0, light[0]),
        ("twilight", light[0], up[0]),
        ("day", up[0], up[1]),
        ("twilight", up[1], light[1]),
        ("night", light[1], whole),
    ]
    return tuple(Span(*edge) for edge in edges if edge[2] > edge[1])
