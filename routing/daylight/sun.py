"""Sunrise, sunset and civil twilight of one place on one date, anywhere on earth, without exceptions.

ephem gives the height of the sun; this module looks for the moments when it crosses a horizon. A day here is the solar
day around the noon that is nearest to 12:00 local time, from one lowest point of the sun to the next. So the sunset of
a date is the one that follows its noon even where it falls after midnight, and likewise civil dusk, and no event is
lost or told twice between one date and the next.

This is the only module that imports ephem.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from zoneinfo import ZoneInfo

import ephem

from routing.farm.models import Place

SUNRISE_RADIANS = -math.radians(50 / 60)
"""Height of the sun's centre at sunrise and sunset: the upper limb (16 minutes of arc) on a level horizon, lifted by
average air (34 minutes). Source: US Naval Observatory, "Rise, Set, and Twilight Definitions"."""
CIVIL_TWILIGHT_RADIANS = -math.radians(6)
"""Height of the sun's centre at civil dawn and dusk. Source: the same definitions."""

_EPOCH = dt.datetime(1899, 12, 31, 12, tzinfo=dt.UTC)  # ephem counts its days from here
_HUNDREDTH_SECOND_IN_DAYS = 0.01 / 86_400
_CLOSE_ENOUGH_RADIANS = 1e-9
_MOST_STEPS = 100  # a search needs about 6; this only bounds the worst case

_Turns = tuple[float, float, float]


@dataclass(frozen=True)
class SunDay:
    """The sun at one place on one date; times are aware, in the zone asked for.

    An event is None where it does not happen between the two lowest points of the sun around this date's noon. With
    no sunrise but a sunset the sun was up already as the day began; with a sunrise but no sunset it stays up.
    """

    date: dt.date
    civil_dawn: dt.datetime | None
    """The one before this date's sunrise."""
    sunrise: dt.datetime | None
    sunset: dt.datetime | None
    """The one after this date's noon, even past midnight."""
    civil_dusk: dt.datetime | None
    """The one after this date's sunset, even past midnight."""
    always_up: bool
    """The sun does not set: polar day."""
    always_dark: bool
    """The sun does not rise: polar night."""
    twilight_all_night: bool
    """It never gets darker than civil twilight."""
    no_twilight: bool
    """It never gets as light as civil twilight."""


class _Sky:
    """The sun as seen from one place; times are ephem's days in universal time."""

    def __init__(self, place: Place) -> None:
        self._observer = ephem.Observer()
        self._observer.lat = math.radians(place.latitude)
        self._observer.lon = math.radians(place.longitude)
        self._observer.elevation = 0
        self._observer.pressure = 0  # no refraction from ephem: the standard one is in the heights above
        self._sun = ephem.Sun()

    def _look(self, when: float) -> None:
        self._observer.date = when
        self._sun.compute(self._observer)

    def height(self, when: float) -> float:
        """Return how high the centre stands above the level, in radians, without refraction."""
        self._look(when)
        return float(self._sun.alt)

    def culmination(self, near: float, hour_angle: float) -> float:
        """Return the moment nearest to `near` at which the sun has this hour angle (0 noon, pi midnight)."""
        when = near
        for _ in range(2):
            self._look(when)
            when -= math.remainder(float(self._sun.ha) - hour_angle, math.tau) / math.tau
        return when


@lru_cache(maxsize=32_768)  # a week of 5,000 sites, some 15 MB
def sun_day(place: Place, date: dt.date, zone: ZoneInfo) -> SunDay:
    """Return sunrise, sunset, civil dawn and dusk at a place on a local date.

    Within a second of the JPL ephemeris DE421, at sea level with a level horizon; hills and trees take more.
    Raises nothing for any place on earth, poles and polar days and nights included, on dates of the years 2 to 9998.
    """
    sky = _Sky(place)
    midday = dt.datetime.combine(date, dt.time(12), tzinfo=zone)
    noon = sky.culmination((midday - _EPOCH) / dt.timedelta(days=1), 0)
    turns = (sky.culmination(noon - 0.5, math.pi), noon, sky.culmination(noon + 0.5, math.pi))
    heights = (sky.height(turns[0]), sky.height(turns[1]), sky.height(turns[2]))
    sunrise, sunset = _crossings(sky, SUNRISE_RADIANS, turns, heights)
    dawn, dusk = _crossings(sky, CIVIL_TWILIGHT_RADIANS, turns, heights)

    def local(when: float | None) -> dt.datetime | None:
        return None if when is None else (_EPOCH + dt.timedelta(days=when)).astimezone(zone)

    return SunDay(
        date=date,
        civil_dawn=local(dawn),
        sunrise=local(sunrise),
        sunset=local(sunset),
        civil_dusk=local(dusk),
        always_up=min(heights) >= SUNRISE_RADIANS,
        always_dark=max(heights) < SUNRISE_RADIANS,
        twilight_all_night=min(heights) >= CIVIL_TWILIGHT_RADIANS,
        no_twilight=max(heights) < CIVIL_TWILIGHT_RADIANS,
    )


def _crossings(sky: _Sky, horizon: float, turns: _Turns, heights: _Turns) -> tuple[float | None, float | None]:
    """Return when the sun's centre rises above this height and when it sinks below, None where it does not.

    Between two turns the sun only rises or only sinks, so the heights at its turns tell all. Close to the poles the
    season outruns the day and the sun may rise after "noon"; looking at both halves for both events covers that.
    """
    rises: float | None = None
    sinks: float | None = None
    for half in (0, 1):
        before, after = heights[half] - horizon, heights[half + 1] - horizon
        if before < 0 <= after:
            rises = _root(lambda when: sky.height(when) - horizon, turns[half : half + 2], (before, after))
        elif after < 0 <= before:
            sinks = _root(lambda when: sky.height(when) - horizon, turns[half : half + 2], (before, after))
    return rises, sinks


def _root(above: Callable[[float], float], span: tuple[float, ...], at_ends: tuple[float, float]) -> float:
    """Return the moment in the half day `span` at which `above` is zero, given its values at both ends.

    The sun's height hardly bends when it is drawn against the cosine of the hour angle, so straight-line guesses
    between two ends of opposite sign (regula falsi with the Illinois step) are there in about six looks at the sun.
    """
    start, length = span[0], span[1] - span[0]

    def moment(cosine: float) -> float:
        return start + length * math.acos(max(-1.0, min(1.0, cosine))) / math.pi

    left, right = 1.0, -1.0
    above_left, above_right = at_ends
    when = start
    for _ in range(_MOST_STEPS):
        guess = (left * above_right - right * above_left) / (above_right - above_left)
        previous, when = when, moment(guess)
        here = above(when)
        if abs(here) < _CLOSE_ENOUGH_RADIANS or abs(when - previous) < _HUNDREDTH_SECOND_IN_DAYS:
            break
        if (here < 0) == (above_right < 0):
            right, above_right = guess, here
            above_left /= 2
        else:
            left, above_left, right, above_right = right, above_right, guess, here
    return when
