"""A job kind in words: what it needs, its numbers and the weather that stops it, each number with its source."""

from __future__ import annotations

from collections.abc import Iterator

from routing.farm.models import Figure, JobKind
from routing.share.safety.safe import plain_name

SURENESS = {
    "V": "read at its source",
    "V2": "second-hand",
    "D": "worked out",
    "M": "not checked",
    "farm": "the farm's own",
}
"""How sure a number is, by what its `confidence` says."""


def kind_needs(kind: JobKind) -> str:
    """Return the light and the people that a kind needs, and whether it comes before frost."""
    return "; ".join(
        (f"light: {kind.light}", f"people: {kind.people}", *(["before the first frost"] * kind.before_frost))
    )


def kind_figures(kind: JobKind) -> Iterator[tuple[str, Figure]]:
    """Yield each number of a kind after its words."""
    yield "minutes a visit", kind.minutes_a_visit
    yield "minutes a hive", kind.minutes_a_hive
    if kind.set_down_minutes_a_hive is not None:
        yield "minutes a hive to set down at another site", kind.set_down_minutes_a_hive
    for use in kind.takes:
        yield f"{plain_name(use.material)} a hive, taken", use.a_hive
    for use in kind.brings_back:
        yield f"{plain_name(use.material)} a hive, brought back", use.a_hive


def kind_ways(kind: JobKind) -> Iterator[tuple[str, ...]]:
    """Yield the keys by which the table of a kind says each of its numbers, in the order of `kind_figures`."""
    yield ("minutes_a_visit",)
    yield ("minutes_a_hive",)
    if kind.set_down_minutes_a_hive is not None:
        yield ("set_down_minutes_a_hive",)
    yield from (("takes", use.material) for use in kind.takes)
    yield from (("brings_back", use.material) for use in kind.brings_back)


def kind_limits(kind: JobKind) -> Iterator[tuple[str, str]]:
    """Yield the weather that a kind is not done in, each with its source."""
    if kind.min_temperature_c is not None:
        yield f"below {kind.min_temperature_c:g} °C", kind.temperature_source
    if kind.max_rain_mm_an_hour is not None:
        yield f"in more rain than {kind.max_rain_mm_an_hour:g} mm an hour", kind.rain_source
    if kind.max_wind_kmh is not None:
        yield f"in more wind than {kind.max_wind_kmh:g} km/h", kind.wind_source
