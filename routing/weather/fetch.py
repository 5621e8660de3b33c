"""Fetching a forecast, only when asked, and keeping it in the farm folder."""

from __future__ import annotations

import datetime as dt
import json
import time
import urllib.error
import urllib.parse
import urllib.request
from pathlib import Path
from zoneinfo import ZoneInfo

from routing.errors import AskedError, OutyardError
from routing.farm.faults import quoted
from routing.farm.forecast import Forecast
from routing.farm.models import Farm, Place
from routing.output.places import Ground, may_be_written
from routing.output.single import write_files
from routing.weather.open_json import FETCHED, FILE, HOURLY, NoForecastError, parse_weather_json

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

    Raises AskedError where a forecast of the farmer's own stands there, WeatherError where there is no answer in time
    or none that is a forecast, and WriteError where it cannot be kept; an older one that was kept is left as it is.
    """
    ground = Ground(None, replace=_was_fetched(farm.folder / FILE))  # known by its own mark, not by the farm's list
    _may_be_kept(farm.folder / FILE, ground)
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
    write_files({farm.folder / FILE: kept + "\n"}, ground, own_name=True)
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


def _was_fetched(path: Path) -> bool:
    """Return whether the file there was kept by an earlier fetch: its own mark says so, as it says when."""
    try:
        return path.is_file() and f'"{FETCHED}"'.encode() in path.read_bytes()[:100]
    except OSError:
        return False


def _may_be_kept(path: Path, ground: Ground) -> None:
    """Raise AskedError where the forecast may not be kept there."""
    if path.is_file() and not path.is_symlink() and not ground.replace:
        raise AskedError(f"{FILE} is there and was not fetched; move it away before a forecast is fetched in its place")
    may_be_written(path, ground, own_name=True)
