"""The next feed of a site: when, of what and how much, so that it lasts the weakest tenth to the next planned visit."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from routing.farm.models import Farm, JobKind, Site
from routing.farm.year import DueRule, FeedRules, SeasonRules
from routing.season.calendar import spans
from routing.season.entries import Entry
from routing.season.feed import Air, Reading, Stores, carried_forward, supposed
from routing.season.levels import Level, in_force, level_on, levels, runs_low

_DAY = dt.timedelta(days=1)
_ALMOST = 1e-9


@dataclass(frozen=True)
class Helping:
    """What a job kind gives a colony once."""

    material: str
    units: float
    stores_kg: float
    """What that counts for as stores."""
    most: int
    """So many are given at once at the most."""


@dataclass(frozen=True)
class Feed:
    """One feed that will be needed."""

    date: dt.date
    """From this day on the weakest tenth has less than the level."""
    level: Level
    helping: Helping | None
    """None where the rule's job kind brings nothing that counts as stores."""
    helpings: int
    """How many each colony is given; at least one."""

    @property
    def units(self) -> float:
        """Units of the material for each colony."""
        return self.helpings * self.helping.units if self.helping else 0.0

    @property
    def stores_kg(self) -> float:
        """Kilograms of stores for each colony."""
        return self.helpings * self.helping.stores_kg if self.helping else 0.0


def helping_of(kind: JobKind, rules: FeedRules) -> Helping | None:
    """Return what a job kind gives a colony once; None where it brings no feed."""
    for use in kind.takes:
        counted = rules.stores_kg_a_unit.get(use.material)
        if counted and counted.value * use.a_hive.value > 0:
            most = rules.most_a_feed.get(use.material)
            times = math.floor(most.value / use.a_hive.value + _ALMOST) if most else math.inf
            units, stores_kg = use.a_hive.value, use.a_hive.value * counted.value
            return Helping(use.material, units, stores_kg, int(max(1, min(times, MOST_HELPINGS))))
    return None


MOST_HELPINGS = 20
"""A farm whose helping is so small that it takes more has written a slip; it is fed again when that is taken down."""


def next_feed(
    reading: Reading, since: dt.date, farm: Farm, season: SeasonRules, air: Air, rule: DueRule | None = None
) -> Feed | None:
    """Return the first feed that is due on or after a date, by one rule or by all; None where none is in the season.

    Feeds are as large as `feed_lasts_days` asks for, in whole helpings, and no larger than is given at once.
    """
    held = levels(reading.season, season, south=air.south)
    asking = [level for level in held if rule is None or level.rule.id == rule.id]
    if not asking:
        return None
    days = carried_forward(reading, reading.season.ends, air)
    found = runs_low(days, asking, max(since, reading.fed_again_from(season.feed)))
    if found is None:
        return None
    day, level = found
    helping = helping_of(farm.job_kinds[level.rule.job], season.feed)
    last = day.date + _DAY * math.ceil(season.feed.feed_lasts_days.value)
    lacks = _lacking([one for one in days if day.date <= one.date <= last], held)
    times = math.ceil(lacks / helping.stores_kg - _ALMOST) if helping else 1
    return Feed(day.date, level, helping, max(1, min(times, helping.most if helping else 1)))


def coming_feeds(
    reading: Reading, since: dt.date, last: dt.date, farm: Farm, season: SeasonRules, air: Air
) -> tuple[Feed, ...]:
    """Return the feeds from one date to another, each counted as given on its day before the next is looked for."""
    found: list[Feed] = []
    while (feed := next_feed(reading, since, farm, season, air)) and feed.date <= last:
        found.append(feed)
        if not feed.stores_kg:
            break
        reading = replace(reading, feeds=(*reading.feeds, (feed.date, feed.stores_kg)))
    return tuple(found)


def supposed_reading(
    farm: Farm, here: Sequence[Entry], site: Site, date: dt.date, season: SeasonRules, air: Air
) -> Reading | None:
    """Return what is supposed of an unhefted site on a date, or on the first day by which it must be fed if later."""
    span = next(spans(season.feed.starts, season.feed.ends, date, south=air.south))
    by = [in_force(rule, span.starts, south=air.south).starts for rule in season.due.values() if rule.fed_by]
    first = min((day for day in by if day in span), default=span.starts)
    return supposed(farm, here, site, max(date, first), air)


def _lacking(days: Iterable[Stores], held: Sequence[Level]) -> float:
    """Return what the mean lacks for the weakest tenth to keep to the level on every one of the days."""
    found = ((day, level_on(day.date, held)) for day in days)
    return max((day.lacking_kg(level.kg) for day, level in found if level), default=0.0)
