"""What keys of farm.toml are called where they are read, with their units; tables of several numbers in one line."""

from __future__ import annotations

from collections.abc import Sequence

from routing.plain_words import MONTHS

_WORDS = {
    "starts": "starts, month-day",
    "ends": "ends, month-day",
    "by": "by, month-day",
    "fed_by": "fed by, month-day",
    "spread_from": "stores differ from, month-day",
    "first_frost": "first frost, month-day",
    "job": "job kind",
    "every_days": "every so many days",
    "early_days": "early, days",
    "low_sites_days_earlier": "earlier at low sites, days",
    "hives": "for which hives",
    "closed_by": "also closed by",
    "needs_stores_kg": "closed only with its kilograms",
    "source": "where its dates are from",
    "low_sites": "sites whose hives stand low",
    "brood_share": "share of full brood, 0 to 1",
    "mean_c": "mean temperature, °C",
    "warmer_by_c": "this winter warmer by, °C",
    "drive_bands": "drives by the straight line",
    "min_temperature_c": "coldest, °C",
    "max_rain_mm_an_hour": "most rain, mm an hour",
    "max_wind_kmh": "most wind, km/h",
    "set_down_minutes_a_hive": "minutes a hive to set down at another site",
    "before_frost": "before the first frost",
    "stays_until": "stays on the hives until",
    "not_with": "not at one site with",
    "unit": "counted in",
    "sold_by": "units in a pack",
    "pack": "a pack is called",
    "drives": "drives as",
    "map": "road map",
    "credit": "whom the map is from",
    "url": "address",
    "terms": "what the service asks of those who use it",
    "seconds": "waits for an answer, seconds",
}
BAND_COLUMNS = ("straight line, km", "detour factor", "speed, km/h")
"""What the three numbers of a point of the straight-line estimate are."""


def key_words(key: str) -> str:
    """Return what a key is called."""
    return _WORDS.get(key, key.replace("_", " "))


def band_words(rows: Sequence[Sequence[str]]) -> str:
    """Return the points of the straight-line estimate: `2 km: detour 1.5, 30 km/h; ...`."""
    return "; ".join(f"{km} km: detour {detour}, {speed} km/h" for km, detour, speed in rows)


def month_words(rows: Sequence[Sequence[str]]) -> str:
    """Return twelve numbers: `Jan 4.2, Feb 4.5, ...`."""
    return ", ".join(f"{month[:3]} {row[0]}" for month, row in zip(MONTHS, rows, strict=True))
