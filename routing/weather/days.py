"""From a forecast of whole days to hours: a likely course of the day's warmth, and rain and wind at their worst."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from routing.daylight.sun import sun_day
from routing.farm.forecast import Spell
from routing.farm.models import Place

WARMEST = dt.time(14)
"""Local time of the day's warmest air. Source: the sine course between sunrise and two in the afternoon of C.T. de Wit
and others, "Simulation of assimilation, respiration and transpiration of crops", 1978; from memory, not checked."""

WET_DAY_MM = 1.0
"""A day with less rain than this counts as dry. Source: Met Office and WMO, "wet day"; from memory, not checked."""

_HOUR = dt.timedelta(hours=1)


@dataclass(frozen=True)
class DayForecast:
    """One day in four numbers, as a newspaper gives it."""

    date: dt.date
    coldest_c: float
    warmest_c: float
    rain_mm: float
    wind_kmh: float


def spells_of_day(day: DayForecast, place: Place, zone: ZoneInfo) -> tuple[Spell, ...]:
    """Return the hours of a local date, each as cold as the colder of its ends.

    The air is coldest at sunrise (06:00 where the sun does not rise or was up already) and warmest at `WARMEST`; in
    between it follows half a cosine. A daily forecast does not say when it rains, so on a wet day each hour may take
    all of it; the wind is the day's strongest all day.
    """
    now = dt.datetime.combine(day.date, dt.time(), tzinfo=zone).astimezone(dt.UTC)
    end = dt.datetime.combine(day.date + dt.timedelta(days=1), dt.time(), tzinfo=zone).astimezone(dt.UTC)
    rise = sun_day(place, day.date, zone).sunrise
    coldest = rise if rise is not None and rise.date() == day.date else _at(day.date, dt.time(6), zone)
    warmest = max(_at(day.date, WARMEST, zone), coldest + _HOUR)
    rain = day.rain_mm if day.rain_mm >= WET_DAY_MM else 0.0
    spells = []
    while now < end:
        ends = min(now + _HOUR, end)
        course = [_warmth(day, moment, coldest, warmest) for moment in (now, ends)]
        cold = day.coldest_c if now <= coldest.astimezone(dt.UTC) <= ends else min(course)
        spells.append(
            Spell(begins=now, ends=ends, temperature_c=round(cold, 1), rain_mm_an_hour=rain, wind_kmh=day.wind_kmh)
        )
        now = ends
    return tuple(spells)


def _at(date: dt.date, time: dt.time, zone: ZoneInfo) -> dt.datetime:
    return dt.datetime.combine(date, time, tzinfo=zone)


def _warmth(day: DayForecast, moment: dt.datetime, coldest: dt.datetime, warmest: dt.datetime) -> float:
    """Return the likely warmth at a moment of the day."""
    rise, peak = coldest.astimezone(dt.UTC), warmest.astimezone(dt.UTC)
    whole_day = dt.timedelta(days=1)
    if moment < rise:
        share = 1 - (moment - (peak - whole_day)) / (rise - (peak - whole_day))
    elif moment <= peak:
        share = (moment - rise) / (peak - rise)
    else:
        share = 1 - (moment - peak) / (rise + whole_day - peak)
    return day.coldest_c + (day.warmest_c - day.coldest_c) * (1 - math.cos(math.pi * share)) / 2
