"""The forecast of a farm folder: weather.csv, else weather.json, else none."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path
from zoneinfo import ZoneInfo

from routing.errors import FarmError, Fault
from routing.farm.faults import Faults, quoted
from routing.farm.forecast import Forecast
from routing.farm.models import Farm
from routing.farm.texts import read_text
from routing.weather import open_json as weather_json
from routing.weather import table as weather_table
from routing.weather.frost import before_the_frost
from routing.weather.open_json import NoForecastError, parse_weather_json

FILES = (weather_table.FILE, weather_json.FILE)
"""In this order: what the farmer wrote goes before what was fetched."""


def with_forecast(farm: Farm) -> Farm:
    """Return the farm with the forecast of its folder, and what must be done before a frost due before it.

    A weather.json that is no forecast gives a warning and a farm without one. Raises FarmError where a weather.csv,
    which a person wrote, has faults.
    """
    faults = Faults()
    forecast = _read(farm, faults)
    found = faults.in_order(FILES)
    if faults.stopping:
        raise FarmError(found)
    return before_the_frost(farm.model_copy(update={"forecast": forecast, "warnings": (*farm.warnings, *found)}))


def kept_since(folder: Path) -> dt.datetime | None:
    """Return when the forecast's file was last written, None where there is none."""
    for name in FILES:
        if (folder / name).is_file():
            return dt.datetime.fromtimestamp((folder / name).stat().st_mtime, tz=dt.UTC)
    return None


def _read(farm: Farm, faults: Faults) -> Forecast | None:
    zone = ZoneInfo(farm.time_zone)
    if os.path.lexists(farm.folder / weather_table.FILE):
        return weather_table.read_weather_table(farm.folder / weather_table.FILE, farm.base.place, zone, faults)
    if not os.path.lexists(farm.folder / weather_json.FILE):
        return None
    unread = Faults()
    text = read_text(farm.folder / weather_json.FILE, unread)
    try:
        if text is not None:
            return parse_weather_json(text, farm.base.place, zone)
        what = "; ".join(fault.what for fault in unread.in_order(()))
    except NoForecastError as error:
        what = quoted(str(error))[1:-1]
    warning = Fault(weather_json.FILE, 0, f"{what}; plans are made without a forecast", "fetch it again or delete it")
    faults.warn(warning.file, warning.line, warning.what, warning.fix)
    return None
