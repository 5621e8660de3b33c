"""weather.json: a saved response of the Open-Meteo forecast service, by the hour or by the day.

Source of the format: Open-Meteo, Weather Forecast API documentation (`hourly`, `daily`, their `_units`,
`utc_offset_seconds`; temperature and wind are of the moment, precipitation is the sum of the hour before).
"""

from __future__ import annotations

import datetime as dt
import json
import math
from collections.abc import Mapping
from itertools import pairwise
from zoneinfo import ZoneInfo

from pydantic import ValidationError

from routing.farm.forecast import Forecast, Spell
from routing.farm.models import Place
from routing.farm.written_forms import FIRST_YEAR, LAST_YEAR
from routing.weather.days import DayForecast, spells_of_day

FILE = "weather.json"
FETCHED = "fetched"
"""Key that is added to a response when it is kept: when it came, in universal time."""
MOST_VALUES = 24 * 17
"""A response holds at most 16 days."""
LONGEST_OFFSET_SECONDS = 86_400
HOURLY = ("temperature_2m", "precipitation", "wind_speed_10m")
DAILY = ("temperature_2m_min", "temperature_2m_max", "precipitation_sum", "wind_speed_10m_max")
UNITS = {
    "°C": (1.0, 0.0),
    "°F": (5 / 9, -160 / 9),
    "mm": (1.0, 0.0),
    "inch": (25.4, 0.0),
    "km/h": (1.0, 0.0),
    "m/s": (3.6, 0.0),
    "mp/h": (1.609344, 0.0),
    "kn": (1.852, 0.0),
}
"""Factor and addition from each unit of the service to degrees Celsius, millimetres and kilometres an hour."""


class NoForecastError(ValueError):
    """A text is no forecast; the message says why and is made to stand after the file's name."""


def parse_weather_json(text: str, place: Place, zone: ZoneInfo) -> Forecast:
    """Return the forecast that a response holds. Raises NoForecastError."""
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise NoForecastError("is not JSON") from error
    if not isinstance(document, dict):
        raise NoForecastError("holds no forecast")
    if document.get("error"):
        reason = document.get("reason")
        raise NoForecastError(f"is a refusal: {reason}" if isinstance(reason, str) else "is a refusal")
    seconds = _number(document.get("utc_offset_seconds", 0), "utc_offset_seconds")
    if abs(seconds) > LONGEST_OFFSET_SECONDS:
        raise NoForecastError("has an utc_offset_seconds that no clock on earth has")
    offset = dt.timedelta(seconds=seconds)
    made = _made(document.get(FETCHED))
    source = f"{FILE} (Open-Meteo)"
    try:
        if "hourly" in document:
            return Forecast(spells=_hours(document, offset), source=source, made=made)
        if "daily" in document:
            return Forecast(spells=_days(document, place, zone), source=source, made=made, daily=True)
    except (ValidationError, OverflowError) as error:
        raise NoForecastError("holds weather that is not of this earth") from error
    raise NoForecastError("holds neither hourly nor daily weather")


def _hours(document: Mapping[str, object], offset: dt.timedelta) -> tuple[Spell, ...]:
    """Return spells between one hour and the next, as cold and windy as the worse end."""
    times, columns = _columns(document, "hourly", HOURLY)
    moments = [_moment(time, offset) for time in times]
    spells = []
    for i, (begins, ends) in enumerate(pairwise(moments)):
        cold, wet, wind = (column[i : i + 2] for column in columns)
        known = all(value is not None for value in (*cold, wet[1], *wind))
        hours = (ends - begins) / dt.timedelta(hours=1)
        if hours <= 0:
            raise NoForecastError("has times that are not in order")
        if known:
            spells.append(
                Spell(
                    begins=begins,
                    ends=ends,
                    temperature_c=round(min(value for value in cold if value is not None), 2),
                    rain_mm_an_hour=round((wet[1] or 0.0) / hours, 3),
                    wind_kmh=round(max(value for value in wind if value is not None), 2),
                )
            )
    return tuple(spells)


def _days(document: Mapping[str, object], place: Place, zone: ZoneInfo) -> tuple[Spell, ...]:
    times, columns = _columns(document, "daily", DAILY)
    spells: list[Spell] = []
    last = dt.date.min
    for time, *values in zip(times, *columns, strict=True):
        date = _moment(time, dt.timedelta()).date()
        if date <= last:
            raise NoForecastError("has dates that are not in order")
        last = date
        known = [value for value in values if value is not None]
        if len(known) == len(DAILY):
            spells += spells_of_day(DayForecast(date, *known), place, zone)
    return tuple(spells)


def _columns(
    document: Mapping[str, object], group: str, names: tuple[str, ...]
) -> tuple[list[object], list[list[float | None]]]:
    """Return the times and each named column in our units; None stands where the service knew nothing."""
    table, units = document.get(group), document.get(f"{group}_units")
    if not isinstance(table, dict):
        raise NoForecastError(f"has no table {group}")
    times = table.get("time")
    if not isinstance(times, list) or len(times) > MOST_VALUES:
        raise NoForecastError(f"has no list of times in {group}, or too long a one")
    found = []
    for name in names:
        values = table.get(name)
        if not isinstance(values, list) or len(values) != len(times):
            raise NoForecastError(f"has no {name} for each time in {group}")
        unit = units.get(name) if isinstance(units, dict) else None
        if not isinstance(unit, str) or unit not in UNITS:
            raise NoForecastError(f"gives {name} in a unit that is not known")
        factor, addition = UNITS[unit]
        found.append([None if value is None else _number(value, name) * factor + addition for value in values])
    return times, found


def _moment(time: object, offset: dt.timedelta) -> dt.datetime:
    """Return a moment in universal time, from local ISO 8601 text or from seconds since 1970."""
    try:
        if isinstance(time, str):
            moment = dt.datetime.fromisoformat(time).replace(tzinfo=dt.UTC, microsecond=0)
        else:
            moment, offset = dt.datetime.fromtimestamp(int(_number(time, "time")), tz=dt.UTC), dt.timedelta()
    except (ValueError, OverflowError, OSError) as error:
        raise NoForecastError("has a time that cannot be read") from error
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise NoForecastError(f"has a time that is not in the years {FIRST_YEAR} to {LAST_YEAR}")
    return moment - offset


def _made(value: object) -> dt.datetime | None:
    return _moment(value, dt.timedelta()) if isinstance(value, str) else None


def _number(value: object, name: str) -> float:
    try:
        number = math.nan if isinstance(value, bool) or not isinstance(value, int | float) else float(value)
    except OverflowError:  # a whole number of hundreds of digits
        number = math.inf
    if not math.isfinite(number):
        raise NoForecastError(f"has a {name} that is not a number")
    return number
