"""Forecasts as people and the service write them, and fetching one from a server on this computer."""

import datetime as dt
import json
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from http.server import BaseHTTPRequestHandler, HTTPServer
from itertools import pairwise
from pathlib import Path
from urllib.parse import parse_qs, urlsplit
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.errors import AskedError, FarmError
from routing.farm.models import Farm, Place
from routing.weather.days import DayForecast, spells_of_day
from routing.weather.fetch import WeatherError, fetch_forecast, forecast_address
from routing.weather.forecasts import with_forecast
from routing.weather.open_json import NoForecastError, parse_weather_json
from routing.weather.report import forecast_lines, weather_sentences
from tests.check.small_farm import FARM

UTC = dt.UTC
LONDON = ZoneInfo("Europe/London")
HERE = Place(latitude=52.0, longitude=-1.5)

# The shape of the documented response (Open-Meteo, Weather Forecast API, "JSON Return Object"); the numbers are ours.
RESPONSE: dict[str, object] = {
    "latitude": 52.0,
    "longitude": -1.5,
    "utc_offset_seconds": 3600,
    "timezone": "Europe/London",
    "hourly_units": {"time": "iso8601", "temperature_2m": "°C", "precipitation": "mm", "wind_speed_10m": "km/h"},
    "hourly": {
        "time": ["2026-06-01T09:00", "2026-06-01T10:00", "2026-06-01T11:00", "2026-06-01T12:00"],
        "temperature_2m": [12.0, 14.5, 16.0, None],
        "precipitation": [9.0, 0.2, 0.0, 0.0],
        "wind_speed_10m": [10.0, 20.0, 15.0, 12.0],
    },
}


def farm_in(folder: Path, url: str = "http://127.0.0.1:9/v1/forecast") -> Farm:
    return FARM.model_copy(update={"folder": folder, "weather_url": url})


def test_an_hour_is_as_cold_and_windy_as_its_worse_end_and_has_the_rain_told_at_its_end() -> None:
    """09:00 at one hour east of Greenwich is 08:00 universal; the hour to a missing value is not known."""
    forecast = parse_weather_json(json.dumps(RESPONSE), HERE, LONDON)
    found = [
        (spell.begins.hour, spell.temperature_c, spell.rain_mm_an_hour, spell.wind_kmh) for spell in forecast.spells
    ]
    assert found == [(8, 12.0, 0.2, 20.0), (9, 14.5, 0.0, 20.0)]
    assert forecast.made is None


def test_other_units_and_unix_times_are_read() -> None:
    """50 °F is 10 °C, 0.1 inch 2.54 mm, 10 m/s 36 km/h; 1 780 300 800 s is 2026-06-01 08:00 universal time."""
    document = {
        "hourly_units": {"temperature_2m": "°F", "precipitation": "inch", "wind_speed_10m": "m/s"},
        "hourly": {
            "time": [1780300800, 1780304400],
            "temperature_2m": [50, 50],
            "precipitation": [0, 0.1],
            "wind_speed_10m": [10, 10],
        },
    }
    (spell,) = parse_weather_json(json.dumps(document), HERE, LONDON).spells
    assert spell.begins == dt.datetime(2026, 6, 1, 8, tzinfo=UTC)
    assert (spell.temperature_c, spell.rain_mm_an_hour, spell.wind_kmh) == (10.0, 2.54, 36.0)


def test_a_daily_response_becomes_hours() -> None:
    document = {
        "daily_units": {
            "temperature_2m_min": "°C",
            "temperature_2m_max": "°C",
            "precipitation_sum": "mm",
            "wind_speed_10m_max": "kn",
        },
        "daily": {
            "time": ["2026-06-01"],
            "temperature_2m_min": [8],
            "temperature_2m_max": [18],
            "precipitation_sum": [0.4],
            "wind_speed_10m_max": [10],
        },
    }
    forecast = parse_weather_json(json.dumps(document), HERE, LONDON)
    assert forecast.daily
    assert len(forecast.spells) == 24
    assert {spell.wind_kmh for spell in forecast.spells} == {18.52}
    assert {spell.rain_mm_an_hour for spell in forecast.spells} == {0.0}


@given(st.floats(-20, 20), st.floats(0, 25), st.floats(0, 20), st.dates(dt.date(2020, 1, 1), dt.date(2030, 12, 31)))
@settings(deadline=None)
def test_a_day_has_its_coldest_and_warmest_hour_and_no_gap(
    cold: float, swing: float, rain: float, date: dt.date
) -> None:
    spells = spells_of_day(DayForecast(date, cold, cold + swing, rain, 12), HERE, LONDON)
    assert min(spell.temperature_c for spell in spells) == round(cold, 1)
    assert cold + swing * 0.9 <= max(spell.temperature_c for spell in spells) + 0.06
    assert all(here.ends == there.begins for here, there in pairwise(spells))
    hours = (spells[-1].ends - spells[0].begins) / dt.timedelta(hours=1)
    assert hours in {23, 24, 25}
    assert {spell.rain_mm_an_hour for spell in spells} == {rain if rain >= 1 else 0}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "is not JSON"),
        ("[]", "holds no forecast"),
        ("{}", "neither hourly nor daily"),
        ('{"error": true, "reason": "Latitude must be in range"}', "is a refusal: Latitude must be in range"),
        ('{"hourly": 3}', "has no table hourly"),
        ('{"hourly": {"time": ["2026-06-01T09:00"]}}', "has no temperature_2m"),
        (json.dumps(RESPONSE).replace("km/h", "furlongs"), "in a unit that is not known"),
        (json.dumps(RESPONSE).replace("T10:00", "T08:00"), "not in order"),
        (json.dumps(RESPONSE).replace("T10:00", "T99:00"), "a time that cannot be read"),
        (json.dumps(RESPONSE).replace("14.5", "NaN"), "is not a number"),
        (json.dumps(RESPONSE).replace("14.5", "900"), "not of this earth"),
    ],
)
def test_what_is_no_forecast_is_named(text: str, why: str) -> None:
    if "900" in text:
        text = text.replace("16.0", "900")
    with pytest.raises(NoForecastError, match=why):
        parse_weather_json(text, HERE, LONDON)


@given(st.recursive(st.none() | st.floats() | st.text(max_size=5), lambda inner: st.lists(inner, max_size=3)))
@settings(deadline=None)
def test_any_value_anywhere_gives_a_forecast_or_a_plain_no(value: object) -> None:
    hourly = RESPONSE["hourly"]
    assert isinstance(hourly, dict)
    for document in (
        {**RESPONSE, "hourly": value},
        {**RESPONSE, "hourly": {**hourly, "temperature_2m": [value] * 4}},
        {**RESPONSE, "hourly": {**hourly, "time": [value] * 4}},
        {**RESPONSE, "utc_offset_seconds": value},
        {**RESPONSE, "hourly_units": value},
    ):
        with suppress(NoForecastError):
            assert parse_weather_json(json.dumps(document), HERE, LONDON).source


def test_hours_and_days_by_hand(tmp_path: Path) -> None:
    (tmp_path / "weather.csv").write_text(
        "time;temperature_c;rain_mm;wind_kmh\n2026-04-12 09:00;8,5;0;10\n2026-04-12 12:00;14;0;12\n"
    )
    forecast = with_forecast(farm_in(tmp_path)).forecast
    assert forecast is not None
    spans = [(spell.begins.hour, spell.ends.hour, spell.temperature_c) for spell in forecast.spells]
    assert spans == [(8, 11, 8.5), (11, 12, 14)]  # summer time: an hour before the clock
    (tmp_path / "weather.csv").write_text("date,coldest_c,warmest_c,rain_mm,wind_kmh\n2026-04-12,3,15,0,12\n")
    by_day = with_forecast(farm_in(tmp_path)).forecast
    assert by_day is not None
    assert by_day.daily


def test_the_hour_that_comes_twice_is_two_hours(tmp_path: Path) -> None:
    """On 25 October 2026 London has 01:00 twice."""
    rows = "".join(f"2026-10-25 {clock},9,0,9\n" for clock in ("00:00", "01:00", "01:00", "02:00"))
    (tmp_path / "weather.csv").write_text("time,temperature_c,rain_mm,wind_kmh\n" + rows)
    forecast = with_forecast(farm_in(tmp_path)).forecast
    assert forecast is not None
    assert [spell.begins.astimezone(UTC).isoformat()[8:16] for spell in forecast.spells] == [
        "24T23:00",
        "25T00:00",
        "25T01:00",
        "25T02:00",
    ]


@pytest.mark.parametrize(
    ("rows", "fault"),
    [
        ("time,temperature_c,rain_mm,wind_kmh\n2026-04-12 9am,8,0,1\n", 'weather.csv:2: time "2026-04-12 9am" is not'),
        ("time,temperature_c,rain_mm,wind_kmh\n2026-04-12 09:00,,0,1\n", "weather.csv:2: temperature_c is missing"),
        ("date,coldest_c,warmest_c,rain_mm,wind_kmh\n2026-04-12,9,3,0,1\n", "weather.csv:2: warmest_c is below"),
        ("date,coldest_c,warmest_c,rain_mm,wind_kmh\n,3,9,0,1\n", "weather.csv:2: has neither a time nor a date"),
        ("date,coldest_c,warmest_c\n2026-04-12,3,9\n", 'has no column "rain_mm"'),
    ],
)
def test_faults_of_the_farmers_own_table_stop_with_their_line(tmp_path: Path, rows: str, fault: str) -> None:
    (tmp_path / "weather.csv").write_text(rows)
    with pytest.raises(FarmError) as told:
        with_forecast(farm_in(tmp_path))
    assert fault in str(told.value)


def test_a_broken_kept_forecast_is_a_warning_and_no_forecast(tmp_path: Path) -> None:
    (tmp_path / "weather.json").write_text("{half")
    farm = with_forecast(farm_in(tmp_path))
    assert farm.forecast is None
    assert "weather.json: is not JSON; plans are made without a forecast" in str(farm.warnings[-1])
    assert farm.warnings[-1].warning


class Service:
    """A forecast service on this computer: answers with what it is told to, and keeps what it was asked."""

    def __init__(self, body: bytes, status: int = 200, wait_seconds: float = 0) -> None:
        self.asked: list[str] = []
        outer = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                outer.asked.append(self.path)
                time.sleep(wait_seconds)
                self.send_response(status)
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the name it has above
                """Keep quiet."""

        self.server = HTTPServer(("127.0.0.1", 0), Handler)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.server.server_port}/v1/forecast"


@contextmanager
def serving(service: Service) -> Iterator[Service]:
    thread = threading.Thread(target=service.server.serve_forever, args=(0.01,), daemon=True)
    thread.start()
    yield service
    service.server.shutdown()
    thread.join()
    service.server.server_close()


NOW = dt.datetime(2026, 6, 1, 6, 30, tzinfo=UTC)


def test_a_forecast_is_fetched_kept_and_read_again(tmp_path: Path) -> None:
    with serving(Service(json.dumps(RESPONSE).encode())) as service:
        farm = farm_in(tmp_path, service.url)
        fetched = fetch_forecast(farm, NOW)
    (asked,) = service.asked
    query = parse_qs(urlsplit(asked).query)
    assert query["latitude"] == ["52.00"]
    assert query["longitude"] == ["-1.50"]
    assert query["hourly"] == ["temperature_2m,precipitation,wind_speed_10m"]
    assert fetched.made == NOW
    assert with_forecast(farm).forecast == fetched
    assert [path.name for path in tmp_path.iterdir()] == ["weather.json"]


@pytest.mark.parametrize(
    ("body", "status", "why"),
    [
        (b'{"error": true, "reason": "Too many calls"}', 400, "is a refusal: Too many calls"),
        (b"oh no", 503, "it answered 503"),
        (b"<html>", 200, "Expecting value"),
        (b"{}", 200, "holds neither"),
        (b"\xff\xfe", 200, "decode"),
        (b" " * 2_100_000, 200, "too long"),
    ],
)
def test_a_bad_answer_is_told_and_the_kept_one_stands(tmp_path: Path, body: bytes, status: int, why: str) -> None:
    (tmp_path / "weather.json").write_text('{"fetched": "kept"}')
    with serving(Service(body, status)) as service, pytest.raises(WeatherError, match=why):
        fetch_forecast(farm_in(tmp_path, service.url), NOW)
    assert (tmp_path / "weather.json").read_text() == '{"fetched": "kept"}'


def test_a_forecast_that_was_not_fetched_and_a_link_are_never_replaced(tmp_path: Path) -> None:
    kept = tmp_path / "weather.json"
    with serving(Service(json.dumps(RESPONSE).encode())) as service:
        farm = farm_in(tmp_path, service.url)
        kept.write_text(json.dumps(RESPONSE))
        with pytest.raises(AskedError, match="was not fetched; move it away"):
            fetch_forecast(farm, NOW)
        assert kept.read_text() == json.dumps(RESPONSE)
        kept.rename(tmp_path / "elsewhere")
        kept.symlink_to(tmp_path / "elsewhere")
        with pytest.raises(AskedError, match="it is a link"):
            fetch_forecast(farm, NOW)
        assert kept.is_symlink()
        kept.unlink()
        for _ in range(2):  # what it fetched itself it replaces
            fetch_forecast(farm, NOW)
    assert not service.asked[2:]


def test_a_slow_service_and_no_service_fail_in_time(tmp_path: Path) -> None:
    with serving(Service(b"{}", wait_seconds=0.5)) as service, pytest.raises(WeatherError, match="no answer in time"):
        fetch_forecast(farm_in(tmp_path, service.url), NOW, timeout_seconds=0.1)
    with pytest.raises(WeatherError, match="plans go on without one"):
        fetch_forecast(farm_in(tmp_path), NOW, timeout_seconds=1)
    assert not list(tmp_path.iterdir())


def test_an_address_may_have_a_key_of_its_own() -> None:
    address = forecast_address("https://weather.example/v1/forecast?apikey=abc", HERE)
    assert address.startswith("https://weather.example/v1/forecast?apikey=abc&latitude=52.00&longitude=-1.50&")


NUMBERS = (int("9" * 400), -int("9" * 400), 10**18, -62135596800, 253402300799)
MOMENTS = ("0001-01-01T00:00", "9999-12-31T23:00", "1900-06-01T09:00", "2026-06-01T09:00+23:59", "9" * 400)


@pytest.mark.parametrize("value", [*NUMBERS, *MOMENTS], ids=lambda value: str(value)[:20])
def test_numbers_of_hundreds_of_digits_and_years_out_of_reach_are_a_plain_no(tmp_path: Path, value: object) -> None:
    """In the place of the offset, of the time it was fetched and of each time, number and unit; the forecast is told."""
    hourly = dict(RESPONSE["hourly"])  # type: ignore[call-overload]
    changed: list[dict[str, object]] = [RESPONSE | {"utc_offset_seconds": value}, RESPONSE | {"fetched": value}]
    for name, column in hourly.items():
        changed += [RESPONSE | {"hourly": hourly | {name: [value, *column[1:]]}}]
    changed += [RESPONSE | {"hourly": hourly | {"time": [value] * 4}}, RESPONSE | {"hourly_units": value}]
    for document in changed:
        (tmp_path / "weather.json").write_text(json.dumps(document))
        farm = with_forecast(farm_in(tmp_path))
        lines = forecast_lines(farm, dt.datetime(2026, 6, 1, 9, tzinfo=UTC))
        assert weather_sentences(farm, dt.date(2026, 6, 1))
        assert farm.forecast is not None or lines == ("There is no forecast: plans are made without one.",)
        assert all(len(str(warning)) < 200 for warning in farm.warnings)
