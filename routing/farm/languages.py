"""What the data of languages say of a country's dates and numbers; they are heavy, and imported with this module.

Source: Unicode CLDR (order of short dates, decimal signs, month names, zones of countries), as Babel carries it.
"""

from __future__ import annotations

import functools
import unicodedata
from collections.abc import Iterable

from babel.core import Locale, UnknownLocaleError, get_global

from routing.farm.ways import Ways

NATIONAL = frozenset({"official", "de_facto_official"})
MOST_LANGUAGES = 12
"""No country has as many official languages of which Babel knows how they write; a bound for the look-up."""


def ways_in(time_zone: str) -> Ways:
    """Return the ways of the country in which a time zone lies, those of no country where it lies in none."""
    name = get_global("zone_aliases").get(time_zone, time_zone)
    return _of_country(str(get_global("zone_territories").get(name, "")))


@functools.cache
def _of_country(country: str) -> Ways:
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
    try:
        return str(Locale.parse(f"{language}_{country}"))
    except (UnknownLocaleError, ValueError):
        return ""


def _day_first(locale: str) -> bool | None:
    pattern = Locale.parse(locale).date_formats["short"].pattern
    order = [pattern.find(sign) for sign in ("d", "M", "y")]
    if order == sorted(order):
        return True
    return False if order[1] < order[0] < order[2] else None


def _decimal(locale: str) -> str:
    return str(Locale.parse(locale).number_symbols.get("latn", {}).get("decimal", ""))


@functools.cache
def month_names(locales: tuple[str, ...]) -> dict[str, int]:
    """Return the names of months in these languages, without points and accents; a name of two months is left out."""
    names: dict[str, set[int]] = {}
    for locale in locales:
        for form in Locale.parse(locale).months.values():
            for width in ("wide", "abbreviated"):
                for month, name in form.get(width, {}).items():
                    names.setdefault(bare_word(name), set()).add(int(month))
    return {name: months.pop() for name, months in names.items() if name.isalpha() and len(months) == 1}


@functools.cache
def weekday_names(locales: tuple[str, ...]) -> dict[str, int]:
    """Return the names of weekdays in these languages, without points and accents; a name of two is left out."""
    names: dict[str, set[int]] = {}
    for locale in locales:
        for form in Locale.parse(locale).days.values():
            for width in ("wide", "abbreviated"):
                for weekday, name in form.get(width, {}).items():
                    names.setdefault(bare_word(name), set()).add(int(weekday))
    return {name: weekdays.pop() for name, weekdays in names.items() if len(weekdays) == 1}


def bare_word(word: str) -> str:
    """Return a word without accents, and without points and spaces at its ends, in small letters."""
    apart = unicodedata.normalize("NFKD", word.casefold())
    return "".join(letter for letter in apart if not unicodedata.combining(letter)).strip(". ")
