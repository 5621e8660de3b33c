"""The farm that a command is asked about, read from its folder."""

from __future__ import annotations

from pathlib import Path

from routing.cli.telling import say
from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.season.record_tables import has_records
from routing.weather.forecasts import with_forecast


def farm_of(folder: Path) -> Farm:
    """Return the farm with its forecast and the minutes that its record teaches, warnings told. Raises FarmError."""
    farm = farm_as_written(folder)
    if not has_records(folder) and not (folder / "log.sqlite").exists():
        return farm
    from routing.cli.logged import taught  # noqa: PLC0415 - a database and the simulation, only where there is a record

    return taught(farm)


def farm_as_written(folder: Path) -> Farm:
    """Return the farm as it is written, with its forecast, its warnings told on standard error. Raises FarmError."""
    farm = with_forecast(read_farm(folder))
    for warning in farm.warnings:
        say(f"warning: {warning}", err=True)
    return farm
