"""Fetching a forecast, only when asked, and keeping it in the farm folder."""

from __future__ import annotations

import datetime as dt
import json
import os
import tempfile
import time
import urllib.error
import urllib.parse
import urllib.request
from pathlib import Path
from zoneinfo import ZoneInfo

from routing.daylight.weather_json import FETCHED, FILE, HOURLY, NoForecastError, parse_weather_json
from routing.errors import OutyardError, WriteError
from routing.farm.faults import quoted
from routing.farm.forecast import Forecast
from routing.farm.models import Farm, Place

TIMEOUT_SECONDS = 10.0
MOST_BYTES = 2_000_000
DAYS = 7
PLACES = 2
"""Decimals of the base's place that are sent: about a kilometre, so that the yard itself is not given away."""


class WeatherError(OutyardError, OSError):
    """No forecast could be fetched; whatever was kept before still stands."""


def forecast_address(url: str, place: Place) -> str:
    """Return the whole address that is asked for the next days by the hour, in universal time."""
    wanted = {
        "latitude": f"{place.latitude:.{PLACES}f}",
        "longitude": f"{place.longitude:.{PLACES}f}",
        "hourly": ",".join(HOURLY),
        "forecast_days": str(DAYS),
        "timezone": "GMT",
    }
    return url + ("&" if "?" in url else "?") + urllib.parse.urlencode(wanted, safe=",")


def fetch_forecast(farm: Farm, now: dt.datetime, timeout_seconds: float = TIMEOUT_SECONDS) -> Forecast:
    """Fetch the forecast for the base, keep it as weather.json in the farm folder and return it.

    Raises WeatherError where there is no answer in time or none that is a forecast, WriteError where it cannot be kept;
    an older forecast that was kept is left as it is.
    """
    try:
        text = _answer(forecast_address(farm.weather_url, farm.base.place), timeout_seconds)
        document = json.loads(text)
        parse_weather_json(text, farm.base.place, ZoneInfo(farm.time_zone))
    except (OSError, ValueError) as error:
        host = quoted(urllib.parse.urlsplit(farm.weather_url).netloc)
        raise WeatherError(
            f"no forecast from {host}: {_why(error)}; plans go on without one, or with the one kept before"
        ) from error
    kept = json.dumps({FETCHED: now.astimezone(dt.UTC).isoformat(timespec="seconds"), **document}, ensure_ascii=False)
    _keep(farm.folder / FILE, kept + "\n")
    return parse_weather_json(kept, farm.base.place, ZoneInfo(farm.time_zone))


def _answer(address: str, timeout_seconds: float) -> str:
    """Return what the address answers within the time, however slowly it drips. Raises OSError or ValueError."""
    until = time.monotonic() + timeout_seconds
    request = urllib.request.Request(address, headers={"Accept": "application/json"})  # noqa: S310 - http(s) only
    parts: list[bytes] = []
    try:
        with urllib.request.urlopen(request, timeout=timeout_seconds) as response:  # noqa: S310 - http(s) only
            while part := response.read1(65536):
                parts.append(part)
                if sum(map(len, parts)) > MOST_BYTES:
                    raise NoForecastError("the answer is too long")
                if time.monotonic() > until:
                    raise TimeoutError(f"no whole answer within {timeout_seconds:g} s")
    except urllib.error.HTTPError as error:
        with error:
            return _refused(error)
    return b"".join(parts).decode("utf-8")


def _refused(error: urllib.error.HTTPError) -> str:
    """Return the service's own words of refusal where it gives any. Raises the error otherwise."""
    text = error.read(MOST_BYTES).decode("utf-8", errors="replace")
    if '"reason"' not in text:
        raise OSError(f"it answered {error.code}") from error
    return text


def _why(error: Exception) -> str:
    reason = error.reason if isinstance(error, urllib.error.URLError) else error
    if isinstance(reason, TimeoutError):
        return "no answer in time"
    return quoted(str(reason))[1:-1] or type(reason).__name__


def _keep(path: Path, text: str) -> None:
    """Write the file whole or not at all."""
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".weather-")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        Path(temporary).replace(path)
    except OSError as error:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        raise WriteError(f"{FILE} could not be written: {error.strerror or type(error).__name__}") from error
