"""weather.csv: a forecast that the farmer writes down, by the hour or by the day."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

from routing.farm.faults import Faults
from routing.farm.forecast import Forecast, Spell
from routing.farm.models import Place
from routing.farm.tables import Cells, Columns, Table
from routing.farm.unfit import UnfitError
from routing.farm.values import dates, number
from routing.farm.ways import Ways, ways_of
from routing.farm.written_forms import date_written
from routing.weather.days import DayForecast, spells_of_day

FILE = "weather.csv"
COLUMNS = Columns(
    known=("time", "date", "temperature_c", "coldest_c", "warmest_c", "rain_mm", "wind_kmh"),
    required=("rain_mm", "wind_kmh"),
)
LONGEST_SPELL = dt.timedelta(hours=3)
"""A row by the hour holds until the next one, but no longer than this; the last one holds for an hour."""
MOMENT = re.compile(r"(\S+)[T ]\s*([0-9]{1,2}):([0-9]{2})")


@dataclass(frozen=True)
class _Point:
    begins: dt.datetime
    temperature_c: float
    rain_mm: float
    wind_kmh: float


def read_weather_table(path: Path, place: Place, zone: ZoneInfo, faults: Faults) -> Forecast | None:
    """Return the forecast of a CSV file; None with faults noted where it cannot be used.

    By the hour it has `time` (local, 2026-04-12 09:00), `temperature_c`, `rain_mm` (in that hour) and `wind_kmh`; by
    the day `date`, `coldest_c`, `warmest_c`, `rain_mm` (of the day) and `wind_kmh`.
    """
    points: list[_Point] = []
    days: list[DayForecast] = []
    before = faults.stopping
    seen: set[dt.datetime | dt.date] = set()
    for row in Table(path, COLUMNS, faults):
        cells = Cells(row, faults)
        if cells.raw("time"):
            point = _point(cells, zone, seen)
            points += [point] if point else []
        else:
            day = _day(cells, seen, zone)
            days += [day] if day else []
    if points and days:
        faults.add(FILE, 0, "has rows with a time and rows with a date", "write it by the hour or by the day")
    if faults.stopping != before or not (points or days):
        return None
    if points:
        return Forecast(spells=_hourly(sorted(points, key=lambda point: point.begins)), source=FILE)
    days.sort(key=lambda day: day.date)
    return Forecast(
        spells=tuple(spell for day in days for spell in spells_of_day(day, place, zone)), source=FILE, daily=True
    )


def _point(cells: Cells, zone: ZoneInfo, seen: set[dt.datetime | dt.date]) -> _Point | None:
    local = cells.take("time", lambda text: _moment(text, ways_of(zone.key or "")), dt.datetime(1, 1, 1))  # noqa: DTZ001 - local, the zone follows
    values = _values(cells, "temperature_c", ways_of(zone.key or ""))
    if not cells.ok:
        return None
    turns = (local.replace(tzinfo=zone, fold=fold).astimezone(dt.UTC) for fold in (0, 1))
    begins = next((turn for turn in turns if turn not in seen), None)  # an hour that comes twice is given twice
    if begins is None:
        cells.fault("this time is given twice")
        return None
    seen.add(begins)
    return _Point(begins, values[0], values[1], values[2])


def _day(cells: Cells, seen: set[dt.datetime | dt.date], zone: ZoneInfo) -> DayForecast | None:
    if not cells.raw("date"):
        cells.fault("has neither a time nor a date")
    ways = ways_of(zone.key or "")
    day = cells.take("date", dates(ways), dt.date.min)
    coldest, rain, wind = _values(cells, "coldest_c", ways)
    warmest = _values(cells, "warmest_c", ways)[0]
    if not cells.ok:
        return None
    if warmest < coldest:
        cells.fault("warmest_c is below coldest_c")
    if day in seen:
        cells.fault("this date is given twice")
    seen.add(day)
    return DayForecast(day, coldest, warmest, rain, wind) if cells.ok else None


def _values(cells: Cells, temperature: str, ways: Ways) -> tuple[float, float, float]:
    for column in (temperature, "rain_mm", "wind_kmh"):
        if not cells.raw(column):
            cells.fault(f"{column} is missing")
    return (
        cells.take(temperature, number(-80, 60, ways), 0.0),
        cells.take("rain_mm", number(0, 1000, ways), 0.0),
        cells.take("wind_kmh", number(0, 400, ways), 0.0),
    )


def _hourly(points: list[_Point]) -> tuple[Spell, ...]:
    hour = dt.timedelta(hours=1)
    ends = [min(later.begins, point.begins + LONGEST_SPELL) for point, later in pairwise(points)]
    ends.append(points[-1].begins + hour)
    return tuple(_spells(points, ends))


def _spells(points: Iterable[_Point], ends: Iterable[dt.datetime]) -> Iterable[Spell]:
    for point, end in zip(points, ends, strict=True):
        yield Spell(
            begins=point.begins,
            ends=end,
            temperature_c=point.temperature_c,
            rain_mm_an_hour=point.rain_mm,
            wind_kmh=point.wind_kmh,
        )


def _moment(text: str, ways: Ways) -> dt.datetime:
    found = MOMENT.fullmatch(text)
    if not found:
        raise UnfitError("is not a time: write 2026-04-12 09:00")
    hour, minute = int(found[2]), int(found[3])
    try:
        return dt.datetime.combine(date_written(found[1], ways), dt.time(hour, minute))
    except UnfitError:
        raise
    except ValueError as error:
        raise UnfitError("is not a time: write 2026-04-12 09:00") from error
