"""How a farm's country writes dates and numbers, as far as all its official languages agree.

Source: Unicode CLDR (order of short dates, decimal signs, month names, zones of countries), as Babel carries it.
"""

from __future__ import annotations

from dataclasses import dataclass

from routing import farm


@dataclass(frozen=True)
class Ways:
    """How a country writes. What is not known, or differs within it, is None or empty."""

    day_first: bool | None = None
    """Whether 03/04/2026 is the 3rd of April, or the 4th of March; None where it may be either."""
    decimal: str = ""
    """The sign before decimals, a point or a comma."""
    locales: tuple[str, ...] = ("en",)
    """The languages whose names of months are read, English always."""


ANY = Ways()
"""The ways where no country is known."""


def ways_of(time_zone: str) -> Ways:
    """Return the ways of the country in which a time zone lies, ANY where it lies in none, such as UTC."""
    if not time_zone:
        return ANY
    return farm.languages.ways_in(time_zone)
