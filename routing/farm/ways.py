"""How a farm's country writes dates and numbers, as far as all its official languages agree.

Source: Unicode CLDR (order of short dates, decimal signs, month names, zones of countries), as Babel carries it.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable
from dataclasses import dataclass

NATIONAL = frozenset({"official", "de_facto_official"})
MOST_LANGUAGES = 12
"""No country has as many official languages of which Babel knows how they write; a bound for the look-up."""


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
    from babel.core import get_global  # noqa: PLC0415 - the data of all languages, and few tables need it

    name = get_global("zone_aliases").get(time_zone, time_zone)
    return _of_country(str(get_global("zone_territories").get(name, "")))


@functools.cache
def _of_country(country: str) -> Ways:
    from babel.core import get_global  # noqa: PLC0415

    known = get_global("territory_languages").get(country, {})
    official = [language for language, facts in known.items() if facts["official_status"] in NATIONAL]
    first = official or sorted(known, key=lambda language: -known[language]["population_percent"])[:1]
    locales = tuple(found for language in first[:MOST_LANGUAGES] if (found := _locale(language, country)))
    return Ways(
        day_first=_agreed(_day_first(locale) for locale in locales),
        decimal=_agreed(_decimal(locale) for locale in locales) or "",
        locales=tuple(dict.fromkeys(("en", *locales))),
    )


def _agreed[Value](values: Iterable[Value]) -> Value | None:
    """Return the one value that all have, else None."""
    different = set(values)
    return different.pop() if len(different) == 1 else None


def _locale(language: str, country: str) -> str:
    """Return the name of a language as it is written in a country, or an empty text where Babel has it not."""
    from babel.core import Locale, UnknownLocaleError  # noqa: PLC0415

    try:
        return str(Locale.parse(f"{language}_{country}"))
    except (UnknownLocaleError, ValueError):
        return ""


def _day_first(locale: str) -> bool | None:
    from babel.core import Locale  # noqa: PLC0415

    pattern = Locale.parse(locale).date_formats["short"].pattern
    order = [pattern.find(sign) for sign in ("d", "M", "y")]
    if order == sorted(order):
        return True
    return False if order[1] < order[0] < order[2] else None


def _decimal(locale: str) -> str:
    from babel.core import Locale  # noqa: PLC0415

    return str(Locale.parse(locale).number_symbols.get("latn", {}).get("decimal", ""))
