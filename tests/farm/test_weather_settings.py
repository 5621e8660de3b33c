"""Limits of weather, the margin and the forecast's address as farm.toml gives them."""

import pytest

from routing.farm.folder import read_farm
from routing.farm.forecast import FORECAST_URL
from tests.farm.conftest import FaultsOf, Write

OWN = """
[rules]
finish_early_minutes = 15
[weather]
url = "https://weather.example/v1/forecast?apikey=abc"
[job_kind.heft]
max_wind_kmh = 40
max_rain_mm_an_hour = 1.5
rain_source = "my own coat"
before_frost = true
"""


def test_the_farms_own_limits_go_over_the_catalogue(write: Write, farm_toml: str) -> None:
    farm = read_farm(write(farm=farm_toml + OWN))
    kind = farm.job_kinds["heft"]
    assert (kind.max_wind_kmh, kind.wind_source) == (40, "farm.toml")
    assert (kind.max_rain_mm_an_hour, kind.rain_source, kind.before_frost) == (1.5, "my own coat", True)
    assert farm.rules.finish_early_minutes == 15
    assert farm.weather_url == "https://weather.example/v1/forecast?apikey=abc"


def test_without_a_word_the_defaults_hold(write: Write) -> None:
    farm = read_farm(write())
    assert (farm.weather_url, farm.forecast, farm.rules.finish_early_minutes) == (FORECAST_URL, None, 0)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('[job_kind.heft]\nbefore_frost = "yes"\n', "is neither true nor false"),
        ("[job_kind.heft]\nmax_wind_kmh = -1\n", "must be from 0 to 500"),
        ("[rules]\nfinish_early_minutes = -1\n", "must be from 0 to 1,440"),
        ('[weather]\nurl = "ftp://weather.example/"\n', "is not an address of the web"),
        ('[weather]\nhost = "weather.example"\n', "that is not known"),
    ],
)
def test_what_is_wrong_is_told(faults_of: FaultsOf, farm_toml: str, text: str, fault: str) -> None:
    assert any(fault in line for line in faults_of(farm=farm_toml + text))
