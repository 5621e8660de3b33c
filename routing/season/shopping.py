"""What the next weeks take, against the stock: in packs to order, with the day each is needed by."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from routing import season
from routing.farm.models import JobKind, Material, Site
from routing.season.due import SOON_DAYS, Asked, open_due
from routing.season.due_dates import STORES_LOW
from routing.season.feeds import helping_of
from routing.season.outlook import SiteFeed, feed_outlook, reading_of
from routing.season.pinned import Pinned, given_by, pinned, rest

_DAY = dt.timedelta(days=1)
_ALMOST = 1e-9


@dataclass(frozen=True)
class Need:
    """So many units of a material, needed by a date."""

    date: dt.date
    material: str
    amount: float
    forecast: bool = False
    """Whether it is a feed that is reckoned, and no job as it is written or due by the calendar."""
    supposed: bool = False
    """Whether no heft tells the stores that it is reckoned from."""


@dataclass(frozen=True)
class ToBuy:
    """One line of the shopping list."""

    material: str
    name: str
    unit: str
    likely: float
    """Units that the next weeks are likely to take."""
    needed: float
    """Of feed, what they do not take more of in nine winters of ten; of all else the same as `likely`."""
    unhefted: float
    """So much of `likely` is for sites of which no heft tells: their stores are supposed."""
    stock: float | None
    """None where the farm does not count it: then it is not short, and to be looked at."""
    to_buy: float
    """Units, in whole packs where it is sold in packs; 0 where the stock is enough or not counted."""
    packs: int | None
    """Whole packs to buy, or where the stock is not counted those that the need comes to; None where not packed."""
    pack: str
    """`box of 12.5 kg`, or empty."""
    need_by: dt.date
    """The day from which the stock no longer reaches, or the first need where it does or is not counted."""
    order_by: dt.date | None
    """None where there is nothing to buy."""


def shopping_list(asked: Asked, weeks: int) -> tuple[ToBuy, ...]:
    """Return what feeds, due jobs and jobs.csv take over the next weeks, what is to be bought first at the top."""
    last, feeds = asked.on + 7 * _DAY * weeks, feed_outlook(asked, weeks)
    known = pinned(asked, last, feeds)
    by_material: dict[str, list[Need]] = {}
    for need in sorted(_needs(asked, last, feeds, known), key=lambda need: need.date):
        by_material.setdefault(need.material, []).append(need)
    most = _nine_in_ten(asked, last, known)
    for material in most:
        by_material.setdefault(material, [])
    lines = []
    for material, needs in by_material.items():
        written = [need for need in needs if not need.forecast]
        worst = _at_least(needs, _added(most.get(material, ()), written))
        if worst:
            lines.append(_line(asked.farm.materials[material], needs, worst, asked))
    return tuple(sorted(lines, key=lambda line: (line.to_buy == 0, line.need_by, line.material)))


def _needs(asked: Asked, last: dt.date, feeds: Iterable[SiteFeed], known: Iterable[Pinned]) -> Iterator[Need]:
    """Yield all likely needs: what is pinned, the feeds that are reckoned, and what falls due by the other rules.

    What is pinned is the first of what is due of its kind at its site: only the rest of that is needed besides.
    """
    kinds = asked.farm.job_kinds
    given = given_by(known)
    for one in known:
        yield from _taken(kinds[one.kind], one.times, one.date)
    for site in feeds:
        for feeding in site.feedings:
            whole = feeding.helpings * site.colonies
            amount = feeding.amount * rest(given, site.site, feeding.kind, whole) / whole
            if amount > _ALMOST:
                yield Need(feeding.date, feeding.material, amount, forecast=True, supposed=site.hefted_on is None)
    logged_soon = {one.kind for one in known}  # then it is known of the other sites that it was not done
    for rule in asked.season.due.values():
        for place in asked.farm.sites:
            if rule.stores_below_kg or rule.after == STORES_LOW or not place.colonies:
                continue
            found = open_due(rule, place, asked)
            soon = last + _DAY * SOON_DAYS  # a plan takes in what is due so soon after its day
            sure = found and (found.known or rule.every_days or rule.job in logged_soon)
            if (
                found
                and sure
                and found.opens <= last
                and found.due <= soon
                and (found.ends is None or asked.on <= found.ends)
            ):
                times = rest(given, place.id, rule.job, found.hives)
                yield from _taken(kinds[rule.job], times, max(asked.on, found.due))


def _nine_in_ten(
    asked: Asked, last: dt.date, known: Iterable[Pinned]
) -> Mapping[str, tuple[tuple[dt.date, float], ...]]:
    """Return what the feeds of all sites reach up to in nine winters of ten, beside what is pinned."""
    by_site: dict[str, list[Pinned]] = {}
    for one in known:
        by_site.setdefault(one.site, []).append(one)
    sites = []
    for site in asked.farm.sites:
        reading = reading_of(site, asked) if site.colonies else None
        if reading:
            sites.append((site, reading, _fed(by_site.get(site.id, ()), site, asked)))
    return season.demand.demand(asked, last, sites)


def _fed(known: Sequence[Pinned], site: Site, asked: Asked) -> season.demand.Fed | None:
    """Return the feeds that are given whatever the stores as one, on the day of the first."""
    found = [
        (one.date, helping.stores_kg * one.times / site.colonies)
        for one in known
        if (helping := helping_of(asked.farm.job_kinds[one.kind], asked.season.feed))
    ]
    return season.demand.Fed(min(date for date, _ in found), sum(kg for _, kg in found)) if found else None


def _added(most: Sequence[tuple[dt.date, float]], written: Sequence[Need]) -> list[Need]:
    """Return the needs by which the most rises, and those of written jobs."""
    before, rises = 0.0, []
    for date, reach in most:
        rises.append((date, reach - before))
        before = reach
    return sorted([*written, *(Need(date, "", amount) for date, amount in rises)], key=lambda need: need.date)


def _at_least(needs: Sequence[Need], most: Sequence[Need]) -> list[Need]:
    """Return needs that reach, up to each day, as far as the farther of the two, both in order of date."""
    dates = sorted({need.date for need in (*needs, *most)})
    before, found = 0.0, []
    for date in dates:
        reach = max(sum(need.amount for need in part if need.date <= date) for part in (needs, most))
        if reach > before + _ALMOST:
            found.append(Need(date, "", reach - before))
            before = reach
    return found


def _taken(kind: JobKind, times: float, date: dt.date) -> Iterator[Need]:
    for use in kind.takes if times > _ALMOST else ():
        yield Need(date, use.material, use.a_hive.value * times)


def _line(material: Material, likely: list[Need], needs: list[Need], asked: Asked) -> ToBuy:
    """Return one line from what is likely needed, and from what is to be there."""
    needed = sum(need.amount for need in needs)
    stock = asked.farm.stock.get(material.id)
    short = max(0.0, needed - stock) if stock is not None else 0.0
    packs = None
    if material.sold_by:
        packs = math.ceil((needed if stock is None else short) / material.sold_by.value - _ALMOST)
        short = 0.0 if stock is None else packs * material.sold_by.value
    need_by = _runs_out(needs, stock) or needs[0].date
    lead = _DAY * math.ceil(asked.season.feed.order_days.value)
    return ToBuy(
        material=material.id,
        name=material.name,
        unit=material.unit,
        likely=sum(need.amount for need in likely),
        unhefted=sum(need.amount for need in likely if need.supposed),
        needed=needed,
        stock=stock,
        to_buy=short,
        packs=packs,
        pack=f"{material.pack} of {material.sold_by.value:g} {material.unit}" if material.sold_by else "",
        need_by=need_by,
        order_by=need_by - lead if short else None,
    )


def _runs_out(needs: list[Need], stock: float | None) -> dt.date | None:
    """Return the day on which the stock does not reach for that day's need, needs in order of date."""
    if stock is None:
        return None
    total = 0.0
    for need in needs:
        total += need.amount
        if total > stock + _ALMOST:
            return need.date
    return None
