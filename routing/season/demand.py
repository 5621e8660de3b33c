"""How much feed the next weeks take in nine winters of ten: many winters drawn, each fed as the due dates ask.

In each drawn winter the air is warmer or colder than usual on all days that no forecast tells, all sites use more or
less than is reckoned, by as much as one site does against another, each site does by habit, and each site's mean is off
by the error of what is known of it. Every so many days it is hefted again, with an error, and from then on fed by that
heft; so the feeds come sooner and larger in some winters than in others. What is ordered is what nine winters in ten do
not go beyond, for each day up to which it is to reach.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import Site
from routing.farm.year import FeedRules
from routing.season.calendar import spans
from routing.season.due import Asked
from routing.season.feed import TENTH, Reading, carried_forward, site_share
from routing.season.feeds import Helping, helping_of
from routing.season.levels import level_on, levels

Array = NDArray[np.float64]
WINTERS = 400
"""So many are drawn: the ninth decile then strays by one or two in a hundred of the winters."""
SEED = 20
NINE_IN_TEN = 0.9
LEAST_USE = 0.2
"""No drawn habit uses less than this share."""
HEFT = "heft"
"""The job kind that tells the stores."""
_DAY = dt.timedelta(days=1)
_ALMOST = 1e-9


@dataclass(frozen=True)
class Fed:
    """A feed that is given whatever the stores: a row of jobs.csv. Its own amount is counted elsewhere."""

    date: dt.date
    stores_kg: float


def demand(
    asked: Asked, last: dt.date, sites: Iterable[tuple[Site, Reading, Fed | None]]
) -> Mapping[str, tuple[tuple[dt.date, float], ...]]:
    """Return for each material the units that nine winters in ten do not go beyond, up to each day that adds some."""
    chance = np.random.default_rng(SEED)
    warmer = chance.normal(0.0, asked.season.feed.winter_spread_c.value, WINTERS)
    alike = chance.normal(0.0, asked.season.feed.site_use_share.value, WINTERS)
    days = [asked.on + _DAY * n for n in range((last - asked.on).days + 1)]
    taken: dict[str, Array] = {}
    for site, reading, fed in sites:
        course = _Course.of(asked, reading, days)
        for material, units in _drawn(course, warmer, alike, chance, asked, fed).items():
            rows = taken.setdefault(material, np.zeros((len(days), WINTERS)))
            rows[: len(units)] += units * site.colonies
    found = {}
    for material, units in taken.items():
        reach = np.quantile(units.cumsum(axis=0), NINE_IN_TEN, axis=1)
        rises = [n for n in range(len(days)) if reach[n] > (reach[n - 1] if n else 0.0)]
        found[material] = tuple((days[n], float(reach[n])) for n in rises)
    return found


@dataclass(frozen=True, eq=False)
class _Course:
    """One site as it is reckoned, day by day from the first on which anything is known or supposed."""

    first: int
    """Its number among the days asked for."""
    mean: Array
    use: Array
    warmth: Array
    """Kilograms more for each degree that the winter is warmer."""
    level: Array
    """Minus infinity where none holds."""
    lasts: Array
    """What the mean must be for the weakest tenth to keep to the level until the next planned visit."""
    enough: Array
    """What the mean must be for the weakest tenth to have the level today."""
    helpings: tuple[Helping | None, ...]
    hefts: frozenset[int]
    again: int
    """From this day on another feed may be due."""
    told_from: int
    """From this day on hefts tell the stores; one that no heft tells of is fed once until then, as it is asked for."""
    error_kg: float
    """One standard deviation of the mean on the first day."""
    share: float
    """One standard deviation of what the site uses by habit, as a share of it."""

    @classmethod
    def of(cls, asked: Asked, reading: Reading, days: list[dt.date]) -> _Course:
        air = asked.air
        feed = air.rules
        ahead = ceil(feed.feed_lasts_days.value)
        stores = carried_forward(reading, days[-1] + _DAY * ahead, air)
        stores = tuple(day for day in stores if day.date >= days[0])
        dates = [day.date for day in stores]
        held = levels(reading.season, asked.season, south=asked.south)
        found = [level_on(date, held) for date in dates]
        level = np.array([one.kg if one else -np.inf for one in found])
        use = np.array([air.use_kg(date) for date in dates])
        unsure = np.array([air.unsure_kg(date) for date in dates])
        first = days.index(dates[0]) if dates and dates[0] in days else len(days)
        hefted = _hefts(asked, reading, dates)
        between = np.array([day.between_kg for day in stores])
        error = np.array([day.error_kg for day in stores])
        share = site_share(feed, reading.colonies)
        enough, lasts = _thresholds(level, use, unsure, between, error, hefted, feed, share, ahead)
        kinds = asked.farm.job_kinds
        again = next((n for n, date in enumerate(dates) if date >= reading.fed_again_from(feed)), len(dates))
        many = max(0, len(days) - first)
        return cls(
            first=first,
            mean=np.array([day.mean_kg for day in stores])[:many],
            use=use[:many],
            warmth=(unsure / feed.winter_spread_c.value if feed.winter_spread_c.value else 0 * unsure)[:many],
            level=level[:many],
            lasts=lasts[:many],
            enough=enough[:many],
            helpings=tuple(helping_of(kinds[one.rule.job], feed) if one else None for one in found[:many]),
            hefts=hefted,
            again=again,
            told_from=0 if reading.hefted else min(hefted, default=0),
            error_kg=stores[0].error_kg if stores else 0.0,
            share=share,
        )


def _hefts(asked: Asked, reading: Reading, dates: list[dt.date]) -> frozenset[int]:
    """Return on which of the days a site is hefted: as often as the rule asks; an unknown one as soon as it asks."""
    rule = next((rule for rule in asked.season.due.values() if rule.job == HEFT and rule.every_days), None)
    found: set[int] = set()
    if rule and rule.every_days:
        season = next(spans(rule.starts, rule.ends, reading.date, south=asked.south))
        every = max(1, int(rule.every_days.value))
        if not reading.hefted:
            found |= {n for n, date in enumerate(dates) if date == max(dates[0], season.starts)}
        found |= {n for n, date in enumerate(dates) if n and date in season and not (date - reading.date).days % every}
    return frozenset(found)


def _thresholds(
    level: Array,
    use: Array,
    unsure: Array,
    between: Array,
    error: Array,
    hefted: frozenset[int],
    rules: FeedRules,
    share: float,
    ahead: int,
) -> tuple[Array, Array]:
    """Return what the mean must be for enough today, and to last, by the error that is known of it on each day."""
    used, warmth = (np.concatenate([[0.0], each.cumsum()]) for each in (use, unsure))
    enough, lasts = np.full(len(level), -np.inf), np.full(len(level), -np.inf)
    last: int | None = None
    for day in range(len(level)):
        last = day if day in hefted else last
        then = slice(day, day + ahead + 1)
        sure = error[then]
        if last is not None:
            habit = share * (used[:-1][then] - used[last])
            sure = np.sqrt(rules.heft_error_kg.value**2 + habit**2 + (warmth[:-1][then] - warmth[last]) ** 2)
        needs = level[then] + TENTH * np.hypot(between[then], sure)
        enough[day] = needs[0]
        lasts[day] = (needs + used[:-1][then] - used[day]).max()
    return enough, lasts


def _drawn(
    course: _Course, warmer: Array, alike: Array, chance: np.random.Generator, asked: Asked, fed: Fed | None
) -> Mapping[str, Array]:
    """Return the units a colony that one site is fed on each day in each winter, by material."""
    feed = asked.air.rules
    many = len(warmer)
    habit = np.maximum(LEAST_USE, chance.normal(1.0, course.share, many) + alike) - 1
    true = chance.normal(0.0, 1.0, many) * course.error_kg
    known, again = np.zeros(many), np.full(many, course.again)
    wait = max(1, ceil(feed.days_between_feeds.value))
    taken: dict[str, Array] = {}
    for day, mean in enumerate(course.mean):
        if day in course.hefts:
            known = true + chance.normal(0.0, 1.0, many) * feed.heft_error_kg.value
        if fed and asked.on + _DAY * (course.first + day) == fed.date:
            known, true, again = known + fed.stores_kg, true + fed.stores_kg, np.maximum(again, day + wait)
        helping = course.helpings[day]
        if helping:
            due = (mean + known < course.enough[day]) & (again <= day)
            times = np.ceil((course.lasts[day] - mean - known) / helping.stores_kg - _ALMOST)
            times = np.clip(times, 1, helping.most) * due
            rows = taken.setdefault(helping.material, np.zeros((course.first + len(course.mean), many)))
            rows[course.first + day] += times * helping.units
            known, true = known + times * helping.stores_kg, true + times * helping.stores_kg
            again = np.where(due, day + max(wait, 0 if day >= course.told_from else course.told_from - day), again)
        true = true - course.use[day] * habit - course.warmth[day] * warmer
    return taken
