"""What a plan says about the forecast that it was made on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from zoneinfo import ZoneInfo

from routing.daylight.windows import working_light
from routing.farm.forecast import Forecast, Spell
from routing.farm.models import Farm, LightNeed
from routing.plain_words import count, date_words
from routing.weather.forecasts import kept_since
from routing.weather.frost import first_frost
from routing.weather.limits import covers

MOST_MINUTES_TOLD = 119
"""Longer ages are told in hours, then in days."""
OLD_DAYS = 3
"""A forecast made longer than this before its day is called old; common practice, no source."""


def weather_sentences(farm: Farm, date: dt.date) -> tuple[str, ...]:
    """Return what a plan of this date rests on, a sentence each: the forecast and its gaps, or that there is none."""
    if farm.forecast is None:
        return ("No weather forecast is used: look at the sky before leaving.",)
    zone = ZoneInfo(farm.time_zone)
    return tuple(_sentences(farm, farm.forecast, date, zone))


def age_words(made: dt.datetime, now: dt.datetime) -> str:
    """Return how old a forecast is: `40 min`, `5 hours` or `3 days`; a time to come counts as no age."""
    minutes = max(0, int((now.astimezone(dt.UTC) - made.astimezone(dt.UTC)).total_seconds() // 60))
    if minutes <= MOST_MINUTES_TOLD:
        return f"{minutes} min"
    return count(minutes // 60, "hour") if minutes < 48 * 60 else count(minutes // 1440, "day")


def forecast_lines(farm: Farm, now: dt.datetime) -> tuple[str, ...]:
    """Return the forecast that plans are made with: its source and age, then a line for each local date."""
    if farm.forecast is None:
        return ("There is no forecast: plans are made without one.",)
    zone = ZoneInfo(farm.time_zone)
    made = farm.forecast.made or kept_since(farm.folder)
    age = f", {age_words(made, now)} old" if made else ""
    days: dict[dt.date, list[Spell]] = {}
    for spell in farm.forecast.spells:
        days.setdefault(spell.begins.astimezone(zone).date(), []).append(spell)
    return (
        f"Forecast for base: {farm.forecast.source}{age}.",
        *(
            f"{date_words(date)}: {min(spell.temperature_c for spell in spells):.0f} to "
            f"{max(spell.temperature_c for spell in spells):.0f} °C, rain up to "
            f"{max(spell.rain_mm_an_hour for spell in spells):.1f} mm an hour, wind up to "
            f"{max(spell.wind_kmh for spell in spells):.0f} km/h"
            for date, spells in sorted(days.items())
        ),
    )


def _sentences(farm: Farm, forecast: Forecast, date: dt.date, zone: ZoneInfo) -> Iterator[str]:
    light = working_light(farm.base.place, date, zone, LightNeed.DAYLIGHT, farm.rules)
    midnight, noon = (dt.datetime.combine(date, dt.time(hour), tzinfo=zone) for hour in (0, 12))
    opens, closes = (light.opens, light.closes) if light else (midnight, noon)
    known = any(
        spell.begins < closes.astimezone(dt.UTC) and opens.astimezone(dt.UTC) < spell.ends for spell in forecast.spells
    )
    if not known:
        yield f"The forecast ({forecast.source}) does not reach this date: look at the sky before leaving."
        return
    made = f", made on {date_words(forecast.made.astimezone(zone).date())}" if forecast.made else ""
    old = forecast.made is not None and (date - forecast.made.astimezone(zone).date()).days > OLD_DAYS
    yield (
        f"Weather: the forecast for base ({forecast.source}{made}{'; it is old, fetch a new one' if old else ''}). "
        "High or open sites are colder and windier: look at the sky before leaving."
    )
    if not covers(forecast, opens, closes):
        yield "The forecast does not cover all of the day; hours that it does not cover count as fit for work."
    if forecast.daily:
        yield "The forecast is by the day: warm hours are a likely course, and rain may fall at any hour of a wet day."
    frost = first_frost(forecast, zone)
    if frost is not None and any(farm.job_kinds[job.kind].before_frost for job in farm.jobs):
        yield f"Frost is forecast for {date_words(frost)}: what belongs before it is due by the day before."
