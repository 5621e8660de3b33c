"""What the next weeks take, against the stock: in packs to order, with the day each is needed by."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass

from routing.farm.models import JobKind, Material
from routing.season.due import Asked, open_due
from routing.season.outlook import feed_kinds, feed_outlook

_DAY = dt.timedelta(days=1)
_ALMOST = 1e-9


@dataclass(frozen=True)
class Need:
    """So many units of a material, needed by a date."""

    date: dt.date
    material: str
    amount: float


@dataclass(frozen=True)
class ToBuy:
    """One line of the shopping list."""

    material: str
    name: str
    unit: str
    needed: float
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
    by_material: dict[str, list[Need]] = {}
    for need in sorted(_needs(asked, weeks), key=lambda need: need.date):
        by_material.setdefault(need.material, []).append(need)
    lines = [_line(asked.farm.materials[material], needs, asked) for material, needs in by_material.items()]
    return tuple(sorted(lines, key=lambda line: (line.to_buy == 0, line.need_by, line.material)))


def _needs(asked: Asked, weeks: int) -> Iterator[Need]:
    """Yield all needs; a row of jobs.csv stands in for the rule of its kind and site, and for the site's first feed."""
    last = asked.on + 7 * _DAY * weeks
    kinds, feeds = asked.farm.job_kinds, feed_kinds(asked)
    written = {(job.site, job.kind) for job in asked.farm.jobs}
    for job in asked.farm.jobs:
        by = max(asked.on, job.due_by or job.not_before or asked.on)
        if by <= last:
            yield from _taken(kinds[job.kind], job.hives, by)
    for site in feed_outlook(asked, weeks):
        for number, feeding in enumerate(site.feedings):
            if number or (site.site, feeding.kind) not in written:
                yield Need(feeding.date, feeding.material, feeding.amount)
    for rule in asked.season.due.values():
        for place in asked.farm.sites:
            if rule.job in feeds or (place.id, rule.job) in written or not place.colonies:
                continue
            found = open_due(rule, place, asked)
            if found and found.due <= last and (found.ends is None or asked.on <= found.ends):
                yield from _taken(kinds[rule.job], place.colonies, max(asked.on, found.due))


def _taken(kind: JobKind, hives: int, date: dt.date) -> Iterator[Need]:
    for use in kind.takes:
        yield Need(date, use.material, use.a_hive.value * hives)


def _line(material: Material, needs: list[Need], asked: Asked) -> ToBuy:
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
