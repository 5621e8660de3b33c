"""How each site's stores go on, when it must be fed next, and what the feeds of the next weeks take."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from routing.farm.models import JobKind, Site
from routing.farm.year import DueRule
from routing.season.calendar import spans
from routing.season.due import Asked, open_due
from routing.season.feed import Reading, Stores, carried_forward, last_reading, runs_low

_DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class Feeding:
    """One feed that will be needed for a whole site: `amount` units of a material."""

    site: str
    date: dt.date
    """The latest day: from then on the weakest tenth has less than the rule's level; never before the day asked for."""
    kind: str
    material: str
    amount: float


@dataclass(frozen=True)
class SiteFeed:
    """How the stores of one site stand and go on."""

    site: str
    name: str
    colonies: int
    hefted_on: dt.date | None
    """None where nothing is known since forage ended: heft first."""
    fed_on: dt.date | None
    """The last feed since the heft."""
    now: Stores | None
    """None too where the season in which stores are carried forward is over."""
    low_on: dt.date | None
    """The next feed is due: from this day the weakest tenth has less than the level. None where it never has."""
    level_kg: float | None
    feedings: tuple[Feeding, ...]
    """Those of the next weeks, as if each is given on its day."""


def feed_outlook(asked: Asked, weeks: int) -> tuple[SiteFeed, ...]:
    """Return how each site's stores go on over the next weeks, the one that must be fed first at the top.

    Sites of which nothing is known come next: they must be hefted.
    """
    found = [_site_feed(site, asked, asked.on + 7 * _DAY * weeks) for site in asked.farm.sites if site.colonies]
    return tuple(sorted(found, key=lambda feed: (feed.low_on or dt.date.max, feed.hefted_on is not None, feed.site)))


def feed_kinds(asked: Asked) -> frozenset[str]:
    """Return the job kinds that bring feed."""
    counted = asked.season.feed.stores_kg_a_unit
    kinds = asked.farm.job_kinds.values()
    return frozenset(kind.id for kind in kinds if any(use.material in counted for use in kind.takes))


def _site_feed(site: Site, asked: Asked, last: dt.date) -> SiteFeed:
    reading = last_reading(asked.farm, asked.here.get(site.id, ()), site)
    if reading is None:
        return SiteFeed(site.id, site.name, site.colonies, None, None, None, None, None, ())
    today = _carried(reading, asked.on, asked)[-1:]
    lows = [(low.due, rule) for rule in _rules(asked) if (low := open_due(rule, site, asked)) and low.ends]
    first = min(((due, rule) for due, rule in lows), key=lambda pair: pair[0], default=None)
    return SiteFeed(
        site=site.id,
        name=site.name,
        colonies=site.colonies,
        hefted_on=reading.date,
        fed_on=reading.feeds[-1][0] if reading.feeds else None,
        now=today[0] if today and today[0].date == asked.on else None,
        low_on=first[0] if first else None,
        level_kg=first[1].stores_below_kg.value if first and first[1].stores_below_kg else None,
        feedings=tuple(_feedings(site, reading, asked, last)),
    )


def _feedings(site: Site, reading: Reading, asked: Asked, last: dt.date) -> Iterator[Feeding]:
    """Yield the feeds up to a date, each counted as given before the next is looked for."""
    while True:
        needs = (_next_feeding(rule, site, reading, asked) for rule in _rules(asked))
        need = min(filter(None, needs), key=lambda found: found[0].date, default=None)
        if need is None or need[0].date > last:
            return
        feeding, stores_kg = need
        yield feeding
        reading = replace(reading, feeds=(*reading.feeds, (feeding.date, stores_kg)))


def _next_feeding(rule: DueRule, site: Site, reading: Reading, asked: Asked) -> tuple[Feeding, float] | None:
    """Return the next feed by one rule and the stores it brings a colony: as many helpings as lift it to the level."""
    level = rule.stores_below_kg.value if rule.stores_below_kg else 0.0
    season = next(spans(rule.starts, rule.ends, reading.date, south=asked.south))
    helping = _helping(asked.farm.job_kinds[rule.job], asked)
    days = _carried(reading, season.ends, asked)
    low = runs_low(days, level, max(reading.told_from, season.starts, asked.on))
    if low is None or helping is None:
        return None
    material, units, stores_kg = helping
    weakest = next(day.weakest_kg for day in days if day.date == low)
    helpings = max(1, math.ceil((level - weakest) / stores_kg))
    return (
        Feeding(site.id, low, rule.job, material, helpings * units * site.colonies),
        helpings * stores_kg,
    )


def _helping(kind: JobKind, asked: Asked) -> tuple[str, float, float] | None:
    """Return the feed of a job kind: its material, units a hive and the stores they count for."""
    counted = asked.season.feed.stores_kg_a_unit
    for use in kind.takes:
        stores_kg = use.a_hive.value * counted[use.material].value if use.material in counted else 0.0
        if stores_kg > 0:
            return use.material, use.a_hive.value, stores_kg
    return None


def _carried(reading: Reading, until: dt.date, asked: Asked) -> tuple[Stores, ...]:
    return carried_forward(reading, until, asked.season.feed, south=asked.south, temperatures=asked.temperatures)


def _rules(asked: Asked) -> tuple[DueRule, ...]:
    return tuple(rule for rule in asked.season.due.values() if rule.stores_below_kg)
