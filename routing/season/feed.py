"""Stores carried forward, day by day, from the last heft through the feeds since.

A colony without brood uses what was measured at 3.5 degrees Celsius, more where the air is warmer, and more again for
the brood it keeps in that month. How far a colony may be from that is added in quadrature from what is independent:

- between the colonies of a site: as they differ up to `spread_from`, and the habit of each since, which adds up by day.
  A heft tells the mean of a site and a feed is alike for all, so neither narrows it. Around the mean of its own n
  colonies they stray by sqrt(1 - 1 / n) of what they do around the mean of all that could be;
- of the site's mean: the error of its last heft, what the site uses by habit since (its own, and the mean of those of n
  colonies), and how warm days are since that no forecast tells.

The weakest tenth is the mean less 1.2816 standard deviations of a normal distribution.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import accumulate, takewhile
from zoneinfo import ZoneInfo

from routing.farm.forecast import Forecast
from routing.farm.models import Farm, Site
from routing.farm.year import FeedRules
from routing.season.calendar import MONTHS, Span, day_after, shifted, southern, spans
from routing.season.entries import Entry
from routing.season.hefts import Heft, colony_spread, hefts

TENTH = 1.2815515655446004
"""The standard normal distribution lies below minus this in one case of ten. Source: NIST/SEMATECH e-Handbook of
Statistical Methods, table 1.3.6.7.1 (1.2816)."""

KNOWN_HOURS = 20
"""A day is known where the forecast tells so many hours of it. Source: judgement; a day of 23 hours is one."""
_DAY = dt.timedelta(days=1)
Temperatures = Mapping[dt.date, float]
"""Mean temperature of days, degrees Celsius, where it is known; a day that is not there has its month's mean."""


@dataclass(frozen=True)
class Stores:
    """What a colony of a site is reckoned to hold on a date, kilograms."""

    date: dt.date
    mean_kg: float
    between_kg: float
    """One standard deviation of the colonies around the site's mean."""
    error_kg: float
    """One standard deviation of the site's mean around `mean_kg`."""

    @property
    def spread_kg(self) -> float:
        """One standard deviation of a colony around `mean_kg`."""
        return math.hypot(self.between_kg, self.error_kg)

    @property
    def weakest_kg(self) -> float:
        """A tenth of the colonies hold less than this; never below 0."""
        return max(0.0, self.mean_kg - TENTH * self.spread_kg)

    @property
    def strongest_kg(self) -> float:
        """A tenth of the colonies hold more than this."""
        return self.mean_kg + TENTH * self.spread_kg

    def lacking_kg(self, level_kg: float) -> float:
        """Return by how much the mean must rise for the weakest tenth to hold a level; below 0 where it holds more."""
        return level_kg - (self.mean_kg - TENTH * self.spread_kg)


@dataclass(frozen=True)
class Reading:
    """A heft, and the feeds after it, which stores are carried forward from."""

    date: dt.date
    stores_kg: float
    feeds: tuple[tuple[dt.date, float], ...]
    """Date and kilograms of stores a colony, oldest first."""
    season: Span
    """Stores are carried forward inside this only."""
    between_kg: float
    """One standard deviation of the site's colonies up to `spread_from`."""
    error_kg: float
    """One standard deviation of the error of `stores_kg`."""
    colonies: int = 1_000_000
    """How many the site has."""
    hefted: bool = True
    """False where no heft tells the stores and they are supposed."""

    @property
    def newest(self) -> dt.date:
        """The day of the heft or of the last feed since."""
        return max((self.date, *(date for date, _ in self.feeds)))

    def fed_again_from(self, rules: FeedRules) -> dt.date:
        """Return the first day on which another feed can be due: the heft's, or once the last feed is taken down."""
        wait = _DAY * max(1, math.ceil(rules.days_between_feeds.value))
        return max((self.date, *(date + wait for date, _ in self.feeds)))


@dataclass(frozen=True)
class Air:
    """How warm days are, and what a colony uses in that."""

    rules: FeedRules
    south: bool
    told: Temperatures
    """Days of the forecast."""
    more_kg_a_day: float = 0.0
    """The hefts of this winter tell that all use so much more than is reckoned, on days that no forecast tells."""

    def use_kg(self, date: dt.date) -> float:
        """Return what a colony uses on a day, kilograms."""
        told = self.told.get(date)
        return self._usual_kg[date.month - 1] if told is None else self._use_kg(date.month, told)

    @cached_property
    def _usual_kg(self) -> tuple[float, ...]:
        """A day's use in each month from January, where no forecast tells how warm it is."""
        rules, months = self.rules, range(1, MONTHS + 1)
        usual = (rules.mean_c[shifted(month, south=self.south) - 1] + rules.warmer_by_c for month in months)
        more = self.more_kg_a_day
        return tuple(self._use_kg(month, mean) + more for month, mean in zip(months, usual, strict=True))

    def _use_kg(self, month: int, mean_c: float) -> float:
        rules = self.rules
        base = rules.use_kg_a_day.value + rules.warmer_kg_a_day.value * (mean_c - rules.use_at_c.value)
        brood = rules.brood_share[shifted(month, south=self.south) - 1] * rules.brood_kg_a_day.value
        return max(rules.least_kg_a_day.value, base) + brood

    def unsure_kg(self, date: dt.date) -> float:
        """Return one standard deviation of a day's use by how warm the winter turns out, kilograms."""
        return 0.0 if date in self.told else self.rules.winter_spread_c.value * self.rules.warmer_kg_a_day.value

    def widened_kg(self, season: Span, until: dt.date) -> float:
        """Return how far habit has spread the colonies of a site before a date, one standard deviation, kilograms."""
        widens = day_after(self.rules.spread_from, season.starts, south=self.south)
        days = (until - widens).days
        return self.rules.use_spread_share.value * self._used_since(widens, season.ends)[days] if days > 0 else 0.0

    @cached_property
    def _used_since(self) -> Callable[[dt.date, dt.date], tuple[float, ...]]:
        """How much is used from one date up to each day until another."""
        return cache(lambda first, last: (0.0, *accumulate(self.use_kg(date) for date in _days(first, last))))


def air_of(farm: Farm, told: Temperatures | None = None) -> Air:
    """Return how warm it is at a farm: as told, or as its forecast has it where nothing is told."""
    if told is None:
        told = day_means(farm.forecast, ZoneInfo(farm.time_zone)) if farm.forecast else {}
    return Air(_rules(farm), southern(farm), told)


def day_means(forecast: Forecast, zone: ZoneInfo) -> Temperatures:
    """Return the mean temperature of each local day of which the forecast tells `KNOWN_HOURS` or more."""
    warmth: dict[dt.date, float] = {}
    hours: dict[dt.date, float] = {}
    for spell in forecast.spells:
        date, lasts = spell.begins.astimezone(zone).date(), (spell.ends - spell.begins) / dt.timedelta(hours=1)
        warmth[date] = warmth.get(date, 0.0) + lasts * spell.temperature_c
        hours[date] = hours.get(date, 0.0) + lasts
    return {date: warmth[date] / hours[date] for date in warmth if hours[date] >= KNOWN_HOURS}


def last_reading(farm: Farm, here: Sequence[Entry], site: Site, air: Air) -> Reading | None:
    """Return what a site's entries, oldest first, tell of its stores: None before a heft since forage ended."""
    rules = air.rules
    found = hefts(here, site.colonies)
    if not found:
        return None
    heft = found[-1]
    season = next(spans(rules.starts, rules.ends, heft.date, south=air.south))
    if heft.date not in season:
        return None

    def widened_kg(date: dt.date) -> float:
        return air.widened_kg(next(spans(rules.starts, rules.ends, date, south=air.south)), date)

    between = colony_spread(found, rules.colony_spread_kg.value, widened_kg)
    fed = _fed(here[heft.number :], season, farm, site)
    error = _heft_error(heft, site, between, rules)
    return Reading(heft.date, heft.stores_kg, fed, season, between, error, max(1, site.colonies))


def supposed(farm: Farm, here: Sequence[Entry], site: Site, date: dt.date, air: Air) -> Reading | None:
    """Return what a site is supposed to hold where no heft since forage ended tells it; None outside that season."""
    rules = air.rules
    season = next(spans(rules.starts, rules.ends, date, south=air.south))
    if date not in season:
        return None
    held = rules.unknown_kg.value + sum(kg for _, kg in _fed(here, season, farm, site))
    between, error = rules.colony_spread_kg.value, rules.unknown_spread_kg.value
    return Reading(date, held, (), season, between, error, max(1, site.colonies), hefted=False)


def carried_forward(reading: Reading, until: dt.date, air: Air) -> tuple[Stores, ...]:
    """Return the stores at the start of each day, from the heft to `until` or the season's end, whichever is first.

    A feed counts from the day after it; one of the heft's own day was given after it.
    """
    rules = air.rules
    fed: dict[dt.date, float] = {}
    for date, kg in reading.feeds:
        fed[date] = fed.get(date, 0.0) + kg
    widens = day_after(rules.spread_from, reading.season.starts, south=air.south)
    habit = air.widened_kg(reading.season, reading.date)
    mean, used, warmth = reading.stores_kg, 0.0, 0.0
    days = []
    widen, site, own = rules.use_spread_share.value, site_share(rules, reading.colonies), _own(reading.colonies)
    for date in _days(reading.date, min(until, reading.season.ends)):
        between = own * math.hypot(reading.between_kg, habit)
        error = math.hypot(reading.error_kg, site * used, warmth)
        days.append(Stores(date, mean, between, error))
        use = air.use_kg(date)
        used += use
        habit += widen * use * (date >= widens)
        warmth += air.unsure_kg(date)
        mean = max(0.0, mean - use) + fed.get(date, 0.0)
    return tuple(days)


def site_share(rules: FeedRules, colonies: int) -> float:
    """Return one standard deviation of the mean use of a site's colonies, as a share of it."""
    return math.hypot(rules.site_use_share.value, rules.use_spread_share.value / math.sqrt(colonies))


def _own(colonies: int) -> float:
    """Return by how much less colonies stray from the mean of their own site than from that of all."""
    return math.sqrt(1 - 1 / colonies)


def _heft_error(heft: Heft, site: Site, between_kg: float, rules: FeedRules) -> float:
    """Return the standard deviation of the error of a heft: of all colonies, and more where only some were hefted."""
    return math.hypot(rules.heft_error_kg.value, sampled_kg(heft, site, between_kg))


def sampled_kg(heft: Heft, site: Site, between_kg: float) -> float:
    """Return how far the mean of the colonies hefted strays from that of the site, one standard deviation, kilograms.

    That of k of n colonies strays by between x sqrt(1 / k - 1 / n): sampling without replacement.
    """
    return between_kg * math.sqrt(max(0.0, 1 / heft.colonies - 1 / max(site.colonies, heft.colonies)))


def _fed(entries: Iterable[Entry], season: Span, farm: Farm, site: Site) -> tuple[tuple[dt.date, float], ...]:
    fed = ((entry.date, fed_kg(entry, farm, site)) for entry in entries if entry.date in season)
    return tuple((date, kg) for date, kg in fed if kg > 0)


def fed_kg(entry: Entry, farm: Farm, site: Site) -> float:
    """Return the stores that an entry's feed brings, kilograms for each colony of the site.

    A feed whose amount is not written counts as one helping of its job kind, the least that is given.
    """
    counted, kind = _rules(farm).stores_kg_a_unit, farm.job_kinds.get(entry.kind)
    amounts = dict(entry.materials)
    if kind and not entry.partly and not counted.keys() & amounts.keys():
        hives = site.colonies if entry.hives is None else entry.hives
        amounts = {use.material: use.a_hive.value * hives for use in kind.takes}
    total = sum(amount * counted[material].value for material, amount in amounts.items() if material in counted)
    return total / site.colonies if site.colonies else 0.0


def _days(first: dt.date, last: dt.date) -> Iterable[dt.date]:
    return takewhile(lambda date: date <= last, (first + _DAY * n for n in range((last - first).days + 1)))


def _rules(farm: Farm) -> FeedRules:
    if farm.season is None:
        raise ValueError("the farm was made without the rules of the year")
    return farm.season.feed
