"""A weather forecast as the farm carries it: spells of time with one coldest, wettest and windiest value each."""

from __future__ import annotations

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

FORECAST_URL = "https://api.open-meteo.com/v1/forecast"
"""Where a forecast is asked for unless farm.toml names another address. Source: Open-Meteo, Weather Forecast API."""


class Spell(BaseModel):
    """A span of time that is as cold, wet and windy as its worst moment; `begins < ends`."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    begins: AwareDatetime
    ends: AwareDatetime
    temperature_c: float = Field(ge=-100, le=70, allow_inf_nan=False)
    """The coldest air of the spell, degrees Celsius."""
    rain_mm_an_hour: float = Field(ge=0, le=1000, allow_inf_nan=False)
    """Rain, sleet and snow as water, millimetres an hour."""
    wind_kmh: float = Field(ge=0, le=500, allow_inf_nan=False)
    """The mean wind at 10 m at its strongest, kilometres an hour; gusts are stronger."""


class Forecast(BaseModel):
    """Spells in order that do not overlap; between them nothing is known."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    spells: tuple[Spell, ...]
    source: str
    """Whose forecast it is, in words, such as `weather.csv`."""
    made: AwareDatetime | None = None
    """When it was fetched or written; None where that is not known."""
    daily: bool = False
    """Whether the hours were made out of whole days, so that they are no more than likely."""
