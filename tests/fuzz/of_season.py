"""The targets `weather`, `records` and `table`: forecasts, past visits, and the log as a table."""

from __future__ import annotations

import datetime as dt
import json

from routing.farm.folder import read_farm
from routing.season.csv_files import entries_csv, read_entries
from routing.season.entries import Entry
from routing.weather.forecasts import with_forecast
from routing.weather.report import forecast_lines
from tests.fuzz import small_farm
from tests.fuzz.inputs import Files
from tests.fuzz.mutate import table_changed, tree_changed
from tests.fuzz.outcome import PromiseBrokenError
from tests.fuzz.target import Target, scratch, written

NOON = dt.datetime(2026, 6, 10, 12, tzinfo=dt.UTC)
VISITS = (
    b"date,site,kinds,crew,people,hives,minutes\n2026-05-01,A,heft+fondant,one,1,5,40\n2026-05-02,B,heft,one,2,5,22.5\n"
)
DRIVEN = b"from,to,planned_minutes,minutes\nbase,A,10,12\nA,B,10,9.5\n"
BY_HOUR = b"time,temperature_c,rain_mm,wind_kmh\n2026-06-10 09:00,14,0,10\n2026-06-10 10:00,15.5,0.2,12\n"
BY_DAY = b"date,coldest_c,warmest_c,rain_mm,wind_kmh\n2026-06-10,8,19,0,15\n2026-06-11,9,20,3.5,30\n"
FETCHED = {
    "utc_offset_seconds": 3600,
    "fetched": "2026-06-10T06:00:00",
    "hourly_units": {"temperature_2m": "\u00b0C", "precipitation": "mm", "wind_speed_10m": "km/h"},
    "hourly": {
        "time": ["2026-06-10T09:00", "2026-06-10T10:00", "2026-06-10T11:00"],
        "temperature_2m": [14, 15.5, None],
        "precipitation": [0, 0.2, 0],
        "wind_speed_10m": [10, 12, 11],
    },
}
FETCHED_DAYS = {
    "utc_offset_seconds": 0,
    "daily_units": {
        "temperature_2m_min": "\u00b0F",
        "temperature_2m_max": "\u00b0F",
        "precipitation_sum": "inch",
        "wind_speed_10m_max": "kn",
    },
    "daily": {
        "time": ["2026-06-10", "2026-06-11"],
        "temperature_2m_min": [46, 47],
        "temperature_2m_max": [66, 70],
        "precipitation_sum": [0, 0.1],
        "wind_speed_10m_max": [9, 15],
    },
}


def weather_target() -> Target:
    """Return the target of weather.csv and weather.json."""
    folder, farm = scratch(), read_farm(written(small_farm.example(), scratch()))
    here = farm.model_copy(update={"folder": folder})

    def run(files: Files) -> None:
        written(files, folder)
        forecast_lines(with_forecast(here), NOON)

    fetched = tuple({"weather.json": json.dumps(document).encode()} for document in (FETCHED, FETCHED_DAYS))
    return Target(
        "weather",
        {"weather.csv": table_changed, "weather.json": tree_changed},
        ({"weather.csv": BY_HOUR}, {"weather.csv": BY_DAY}, *fetched),
        run,
        ("weather/open_json.py", "weather/table.py", "farm/tables.py"),
    )


def records_target() -> Target:
    """Return the target of visits.csv and driven.csv, and of what is learned from them."""
    folder = scratch()
    farm = read_farm(written(small_farm.example(), folder))

    def run(files: Files) -> None:
        from routing.stages.read import taught  # noqa: PLC0415 - heavy

        written(files, folder, small_farm.example())
        taught(farm)

    return Target(
        "records",
        {"visits.csv": table_changed, "driven.csv": table_changed},
        ({"visits.csv": VISITS, "driven.csv": DRIVEN},),
        run,
        ("season/record_tables.py", "farm/tables.py"),
    )


def some_entries() -> tuple[Entry, ...]:
    """Return entries that use every column."""
    day = dt.date(2026, 5, 1)
    medicine = {"product": "Strips", "batch": "7", "dose": "2", "withdrawal_days": 0, "days_in": 42, "bought_on": day}
    more = {"seen": ("queen-cells", "lid-off"), "seen_in": {"queen-cells": 2}, "queen_cells": 3, "note": "=by the gate"}
    return (
        Entry.model_validate(
            {"reference": "a", "date": day, "time": "14:30", "site": "A", "kind": "heft", "stores_kg": 9.5}
        ),
        Entry.model_validate(
            {"reference": "b", "date": day, "site": "B", "kind": "oxalic", "medicine": medicine, "minutes": 20}
        ),
        Entry.model_validate(
            {"reference": "c", "date": day, "site": "A", "kind": "weekly-inspection", "hives": 5, **more}
        ),
        Entry.model_validate(
            {
                "reference": "d",
                "date": day,
                "site": "C",
                "kind": "fondant",
                "materials": {"fondant": 12.5},
                "partly": True,
            }
        ),
    )


def table_target() -> Target:
    """Return the target of the log as a CSV file; what is read must be written and read again as it was."""
    folder = scratch()

    def run(files: Files) -> None:
        written(files, folder)
        entries = read_entries(folder / "log.csv")
        (folder / "again.csv").write_text(entries_csv(entries), encoding="utf-8", newline="")
        if read_entries(folder / "again.csv") != entries:
            raise PromiseBrokenError("not read back: a table that the log wrote reads as other entries")

    seeds = ({"log.csv": entries_csv(some_entries()).encode()},)
    return Target("table", {"log.csv": table_changed}, seeds, run, ("season/csv_files.py", "season/entries.py"))
