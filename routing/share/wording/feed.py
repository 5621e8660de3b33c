"""Stores and feed in words, block by block, and what to order: the same on the terminal and at the desk."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

from routing.farm.models import Farm
from routing.plain_words import count
from routing.season.outlook import SiteFeed
from routing.season.shopping import ToBuy
from routing.share.safety.safe import plain_name
from routing.share.wording.due import Block

FEED_ESTIMATE = (
    "Feed is an estimate: stores are carried forward from the last heft with published winter use, more in mild "
    "weather and with brood. Some colonies are lighter than any figure here: heft each hive when you feed, and give "
    "more to the light ones."
)


def feed_blocks(
    feeds: Sequence[SiteFeed], shopping: Sequence[ToBuy], farm: Farm, on: dt.date, weeks: int
) -> tuple[Block, ...]:
    """Return which sites must be fed first, what to order, and then each site's stores; a block may have no line."""
    first = tuple(_first_line(feed, farm, on) for feed in feeds if feed.low_on)
    return (
        ("Feed first", first or ("No site that was hefted runs low before forage comes in.",)),
        ("Heft first: nothing is known", tuple(_unhefted(feeds, on))),
        (f"What the next {count(weeks, 'week')} take", tuple(_buy_line(line, on) for line in shopping)),
        ("Site by site", tuple(_site_line(feed) for feed in feeds if feed.hefted_on)),
    )


def _first_line(feed: SiteFeed, farm: Farm, on: dt.date) -> str:
    """Return by when a site must be fed, why, and with how much where that is within the weeks asked for."""
    head = f"{plain_name(feed.name)}: feed {_by(feed, on)}"
    level = f"{feed.level_kg:g} kg" if feed.level_kg is not None else "the level"
    if feed.hefted_on is None:
        return f"{head}: heft, and feed to {level}; not hefted since forage ended"
    why = f"from then on at least one colony in ten has less than {level}"
    if not feed.feedings:
        return f"{head}: {why}"
    given = feed.feedings[0]
    material = farm.materials[given.material]
    name = plain_name(material.name)
    amount = f"{given.amount / feed.colonies:g} {material.unit} of {name[:1].lower()}{name[1:]} a colony"
    return f"{head}: {amount}, {given.amount:g} {material.unit} in all; {why}"


def _by(feed: SiteFeed, on: dt.date) -> str:
    late = f" ({count((on - feed.low_on).days, 'day')} over)" if feed.low_on and feed.low_on < on else ""
    return f"by {feed.low_on}{late}"


def _unhefted(feeds: Iterable[SiteFeed], on: dt.date) -> list[str]:
    """Return a line for each site of which nothing is known: those by a day first, then by colonies."""
    unknown = sorted((feed for feed in feeds if feed.hefted_on is None), key=_urgency)
    return [
        f"{plain_name(feed.name)}, {_colonies(feed.colonies)}{f': {_by(feed, on)}' if feed.low_on else ''}"
        for feed in unknown
    ]


def _urgency(feed: SiteFeed) -> tuple[dt.date, dt.date, int]:
    supposed = min((feeding.date for feeding in feed.feedings), default=dt.date.max)
    return feed.low_on or dt.date.max, supposed, -feed.colonies


def _site_line(feed: SiteFeed) -> str:
    fed = f", fed {feed.fed_on}" if feed.fed_on else ""
    head = f"{plain_name(feed.name)}, {_colonies(feed.colonies)}: hefted {feed.hefted_on}{fed}"
    if not feed.now:
        return f"{head}; forage may have come in since: only a new heft tells"
    now = feed.now
    return (
        f"{head}; now about {now.mean_kg:.1f} kg a colony, "
        f"eight in ten between {now.weakest_kg:.1f} and {now.strongest_kg:.1f} kg"
    )


def _colonies(number: int) -> str:
    return count(number, "colony").replace("colonys", "colonies")


def _buy_line(line: ToBuy, on: dt.date) -> str:
    """Return what to order by when, in packs first, and what it is reckoned from."""
    name, unit = plain_name(line.name), line.unit
    need = f"{line.likely:.4g} {unit} likely" if line.likely < line.needed else f"{line.needed:.4g} {unit}"
    if line.likely < line.needed:
        need += f", {line.needed:.4g} {unit} is enough in nine winters of ten"
    if line.unhefted:
        need += f" ({line.unhefted:.4g} {unit} of it for sites not hefted, supposed to hold little: heft them first)"
    if line.stock is None:
        packs = f", {_packs(line)}" if line.packs else ""
        return f"{name}: {need}{packs}, from {line.need_by}; the stock is not counted in farm.toml: look"
    if line.order_by is None:
        return f"{name}: {need}; {line.stock:g} in stock: enough"
    by = f"by {line.order_by}" if line.order_by > on else "now"
    what = f"{_packs(line)} ({line.to_buy:g} {unit})" if line.packs else f"{line.to_buy:.4g} {unit}"
    return f"{name}: order {what} {by}, needed by {line.need_by}: {need}, {line.stock:g} in stock"


def _packs(line: ToBuy) -> str:
    return f"{line.packs} x {plain_name(line.pack)}" if line.packs != 1 else f"1 {plain_name(line.pack)}"
