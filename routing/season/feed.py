"""Stores carried forward, day by day, from the last heft through the feeds since.

A colony without brood uses what was measured at 3.5 degrees Celsius, more where the air is warmer, and more again for
the brood it keeps in that month. The uncertainty of a colony is the spread of the site's colonies around the heft and
the spread of their use, added in quadrature; what is not known of the use is one colony's habit, so it adds up by day.
The weakest tenth is the mean less 1.2816 standard deviations of a normal distribution.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import takewhile

from routing.farm.models import Farm, Site
from routing.farm.year import FeedRules
from routing.season.calendar import Span, shifted, southern, spans
from routing.season.entries import Entry

TENTH = 1.2815515655446004
"""The standard normal distribution lies below minus this in one case of ten. Source: NIST/SEMATECH e-Handbook of
Statistical Methods, table 1.3.6.7.1 (1.2816)."""

_DAY = dt.timedelta(days=1)
Temperatures = Mapping[dt.date, float]
"""Mean temperature of days, degrees Celsius, where it is known; a day that is not there has its month's mean."""


@dataclass(frozen=True)
class Stores:
    """What a colony of a site is reckoned to hold on a date, kilograms."""

    date: dt.date
    mean_kg: float
    spread_kg: float
    """One standard deviation of a colony."""

    @property
    def weakest_kg(self) -> float:
        """A tenth of the colonies hold less than this; never below 0."""
        return max(0.0, self.mean_kg - TENTH * self.spread_kg)

    @property
    def strongest_kg(self) -> float:
        """A tenth of the colonies hold more than this."""
        return self.mean_kg + TENTH * self.spread_kg


@dataclass(frozen=True)
class Reading:
    """A heft, and the feeds after it, which stores are carried forward from."""

    date: dt.date
    stores_kg: float
    feeds: tuple[tuple[dt.date, float], ...]
    """Date and kilograms of stores a colony, oldest first."""
    season: Span
    """Stores are carried forward inside this only."""

    @property
    def newest(self) -> dt.date:
        """The day of the heft or of the last feed since."""
        return max((self.date, *(date for date, _ in self.feeds)))

    @property
    def told_from(self) -> dt.date:
        """The first day whose stores count every feed so far."""
        return max((self.date, *(date + _DAY for date, _ in self.feeds)))


def use_kg(date: dt.date, rules: FeedRules, *, south: bool, temperatures: Temperatures | None = None) -> float:
    """Return what a colony uses on a day, kilograms."""
    month = shifted(date.month, south=south) - 1
    mean = (temperatures or {}).get(date, rules.mean_c[month])
    base = rules.use_kg_a_day.value + rules.warmer_kg_a_day.value * (mean - rules.use_at_c.value)
    return max(rules.least_kg_a_day.value, base) + rules.brood_share[month] * rules.brood_kg_a_day.value


def last_reading(farm: Farm, here: Sequence[Entry], site: Site) -> Reading | None:
    """Return what a site's entries, oldest first, tell of its stores: None before a heft since forage ended."""
    rules = _rules(farm)
    number = next((n for n in reversed(range(len(here))) if here[n].stores_kg is not None), None)
    if number is None:
        return None
    heft, after = here[number], here[number:]
    season = next(spans(rules.starts, rules.ends, heft.date, south=southern(farm)))
    if heft.date not in season:
        return None
    fed = ((entry.date, _fed_kg(entry, site, rules)) for entry in after if entry.date in season)
    return Reading(heft.date, heft.stores_kg or 0.0, tuple((date, kg) for date, kg in fed if kg > 0), season)


def carried_forward(
    reading: Reading, until: dt.date, rules: FeedRules, *, south: bool, temperatures: Temperatures | None = None
) -> tuple[Stores, ...]:
    """Return the stores at the start of each day, from the heft to `until` or the season's end, whichever is first.

    A feed counts from the day after it; one of the heft's own day was given after it.
    """
    fed: dict[dt.date, float] = {}
    for date, kg in reading.feeds:
        fed[date] = fed.get(date, 0.0) + kg
    mean, used = reading.stores_kg, 0.0
    days = []
    for date in _days(reading.date, min(until, reading.season.ends)):
        spread = math.hypot(rules.colony_spread_kg.value, rules.use_spread_share.value * used)
        days.append(Stores(date, mean, spread))
        use = use_kg(date, rules, south=south, temperatures=temperatures)
        used += use
        mean = max(0.0, mean - use) + fed.get(date, 0.0)
    return tuple(days)


def runs_low(days: Iterable[Stores], level_kg: float, since: dt.date) -> dt.date | None:
    """Return the first day from which the weakest tenth stays below the level, of the days since a date, or None."""
    for day in days:
        if day.date >= since and day.weakest_kg < level_kg:
            return day.date
    return None


def _fed_kg(entry: Entry, site: Site, rules: FeedRules) -> float:
    """Return the stores that an entry's feed brings, kilograms for each colony of the site."""
    counted = rules.stores_kg_a_unit
    total = sum(amount * counted[material].value for material, amount in entry.materials.items() if material in counted)
    return total / site.colonies if site.colonies else 0.0


def _days(first: dt.date, last: dt.date) -> Iterable[dt.date]:
    return takewhile(lambda date: date <= last, (first + _DAY * n for n in range((last - first).days + 1)))


def _rules(farm: Farm) -> FeedRules:
    if farm.season is None:
        raise ValueError("the farm was made without the rules of the year")
    return farm.season.feed
