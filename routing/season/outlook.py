"""How each site's stores go on, when it must be fed next, and what the feeds of the next weeks take."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from routing.farm.models import Site
from routing.season.due import Asked, Open, open_due
from routing.season.feed import Reading, Stores, carried_forward, last_reading
from routing.season.feeds import coming_feeds, supposed_reading

_DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class Feeding:
    """One feed that will be needed for a whole site: `amount` units of a material."""

    site: str
    date: dt.date
    """The latest day: from then on the weakest tenth has less than the level; never before the day asked for."""
    kind: str
    material: str
    amount: float
    helpings: int
    """How many times what the job kind takes for a hive."""


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
    """The next feed is due: from this day the weakest tenth has less than the level, or by this day a site that was not
    hefted is to be. None where it never has."""
    level_kg: float | None
    feedings: tuple[Feeding, ...]
    """Those of the next weeks, as if each is given on its day; of a site that was not hefted as is supposed."""


def feed_outlook(asked: Asked, weeks: int) -> tuple[SiteFeed, ...]:
    """Return how each site's stores go on over the next weeks, the one that must be fed first at the top.

    Sites of which nothing is known come next: they must be hefted.
    """
    found = [_site_feed(site, asked, asked.on + 7 * _DAY * weeks) for site in asked.farm.sites if site.colonies]
    return tuple(sorted(found, key=lambda feed: (feed.low_on or dt.date.max, feed.hefted_on is not None, feed.site)))


def reading_of(site: Site, asked: Asked) -> Reading | None:
    """Return what is known of a site's stores, or supposed where no heft tells; None where no feed is reckoned with.

    A heft of a season that is over tells nothing of the next one.
    """
    here = asked.here.get(site.id, ())
    reading = last_reading(asked.farm, here, site, asked.air)
    if reading is not None and asked.on <= reading.season.ends:
        return reading
    return supposed_reading(asked.farm, here, site, asked.on, asked.season, asked.air)


def _site_feed(site: Site, asked: Asked, last: dt.date) -> SiteFeed:
    known = last_reading(asked.farm, asked.here.get(site.id, ()), site, asked.air)
    low, level_kg = _low(site, asked, known, last)
    now = carried_forward(known, asked.on, asked.air)[-1:] if known else ()
    reading = reading_of(site, asked)
    feeds = coming_feeds(reading, asked.on, last, asked.farm, asked.season, asked.air) if reading else ()
    return SiteFeed(
        site=site.id,
        name=site.name,
        colonies=site.colonies,
        hefted_on=known.date if known else None,
        fed_on=known.feeds[-1][0] if known and known.feeds else None,
        now=now[0] if now and now[0].date == asked.on else None,
        low_on=low.due if low else None,
        level_kg=level_kg,
        feedings=tuple(
            Feeding(
                site.id,
                feed.date,
                feed.level.rule.job,
                feed.helping.material,
                feed.units * site.colonies,
                feed.helpings,
            )
            for feed in feeds
            if feed.helping
        ),
    )


def _low(site: Site, asked: Asked, known: Reading | None, last: dt.date) -> tuple[Open | None, float | None]:
    """Return the first due date by a level and that level, None where there is none.

    None of a later season counts, none past sense, and for an unhefted site none later than the weeks asked for.
    """
    found = []
    for rule in asked.season.due.values():
        low = open_due(rule, site, asked) if rule.stores_below_kg else None
        over = low is not None and low.ends is not None and asked.on > low.ends
        if (
            low
            and not over
            and rule.stores_below_kg
            and (low.due <= last if known is None else low.due in known.season)
        ):
            found.append((low.due, rule.stores_below_kg.value, low))
    _, level_kg, first = min(found, key=lambda one: one[:2], default=(None, None, None))
    return first, level_kg
