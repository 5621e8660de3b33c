"""The open due dates of feed: when the stores of a site run low, or by when one that was not hefted is to be fed."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import accumulate

from routing.farm.models import Site
from routing.farm.year import DueRule
from routing.season.asked import Asked
from routing.season.calendar import Span, spans
from routing.season.entries import Entry
from routing.season.feed import Reading, carried_forward, last_reading, supposed
from routing.season.feeds import Feed, Helping, helping_of, next_feed, supposed_reading
from routing.season.levels import in_force, level_on, levels
from routing.season.opened import Open, together

COMING_DAYS = 28
"""Hives that were not fed with the others are told of so many days before they run low. Common practice, no source."""

_DAY = dt.timedelta(days=1)
_ALMOST = 1e-9


def stores_due(rule: DueRule, site: Site, asked: Asked) -> tuple[Open, ...]:
    """Return the day on which the weakest tenth runs low, or by which a site that no heft tells of must be fed.

    Where some hives were fed and the rest not, the day of the rest, for so many.
    """
    here = asked.here.get(site.id, ())
    parts, fed = _parts(here, rule, site)
    if fed:
        nothing = {"materials": {}, "partly": True}
        found = _runs_low(rule, site, _with(here, parts, nothing), site.colonies - fed, asked)
        if found is not None and found.due <= asked.on + _DAY * COMING_DAYS:
            return (_with_those_fed_too_little(found, rule, site, _as_fed(here, parts, fed, site), asked),)
    found = _runs_low(rule, site, here, site.colonies, asked)
    return _unheard(rule, site, here, asked) if found is None else (found,)


def _parts(here: Sequence[Entry], rule: DueRule, site: Site) -> tuple[frozenset[int], int]:
    """Return which entries fed some hives since the last heft, and how many hives beyond whole rounds of the site."""
    heft = max((number for number, entry in enumerate(here) if entry.stores_kg is not None), default=0)
    kinds = {rule.job, *rule.closed_by}
    parts = [number for number in range(heft, len(here)) if here[number].kind in kinds and _is_part(here[number], site)]
    return frozenset(parts), sum(here[number].hives or 0 for number in parts) % site.colonies


def _with(here: Sequence[Entry], parts: frozenset[int], update: Mapping[str, object]) -> tuple[Entry, ...]:
    return tuple(entry.model_copy(update=update) if number in parts else entry for number, entry in enumerate(here))


def _as_fed(here: Sequence[Entry], parts: frozenset[int], fed: int, site: Site) -> tuple[Entry, ...]:
    """Return the entries as the hives know them that were fed: what some were given counts as if all had been."""
    share = site.colonies / fed
    return tuple(
        entry.model_copy(update={"materials": {name: share * amount for name, amount in entry.materials.items()}})
        if number in parts
        else entry
        for number, entry in enumerate(here)
    )


def _with_those_fed_too_little(found: Open, rule: DueRule, site: Site, as_fed: Sequence[Entry], asked: Asked) -> Open:
    """Return what is due for the hives that were not fed, for all hives where those that were are due again by now."""
    again = _runs_low(rule, site, as_fed, site.colonies, asked)
    if again is None or again.due > asked.on:
        return found
    return replace(found, hives=site.colonies, now=found.now or again.now)


def _is_part(entry: Entry, site: Site) -> bool:
    return entry.hives is not None and 0 < entry.hives < site.colonies


def _runs_low(rule: DueRule, site: Site, here: Sequence[Entry], hives: int, asked: Asked) -> Open | None:
    reading = last_reading(asked.farm, here, site, asked.air)
    if reading is None:
        return None
    feed = next_feed(reading, reading.date, asked.farm, asked.season, asked.air, rule)
    cancelled = asked.cancelled(rule, site, since=reading.newest) or dt.date.min
    if feed is None or feed.date <= cancelled:
        return None
    starts = next(spans(rule.starts, rule.ends, feed.level.holds.starts, south=asked.south)).starts
    opens = max(starts, reading.fed_again_from(asked.season.feed), feed.date - _DAY * rule.early_days)
    late = feed.date < asked.on
    now = (next_feed(reading, asked.on, asked.farm, asked.season, asked.air, rule) if late else None) or feed
    ends = feed.level.holds.ends
    return Open(
        opens=min(feed.date, opens),
        due=feed.date,
        ends=ends,
        closes_on=feed.date,
        why=f"the weakest tenth falls below {feed.level.kg:g} kg{_amount(now, asked)}",
        hives=hives,
        missed=asked.on > ends,
        now=_starving(rule, reading, asked),
        helpings=now.helpings,
    )


def _starving(rule: DueRule, reading: Reading, asked: Asked) -> bool:
    """Return whether the weakest tenth is reckoned to hold less today than what a colony's life hangs on."""
    if rule.now_below_kg is None:
        return False
    days = carried_forward(reading, asked.on, asked.air)
    return bool(days) and days[-1].weakest_kg < rule.now_below_kg.value


def _unheard(rule: DueRule, site: Site, here: Sequence[Entry], asked: Asked) -> tuple[Open, ...]:
    """Return the days by which a site is to be hefted and fed in the autumns of which no heft or feed tells.

    What was missed in autumns that are over is one, and the autumn that is on or next another.
    """
    if rule.fed_by is None or rule.stores_below_kg is None:
        return ()
    heard = [entry.date for entry in here if entry.stores_kg is not None]
    heard += [answer.date for answer in asked.answers(rule, site) if answer.hives >= site.colonies]
    last = max([*heard, asked.cancelled(rule, site) or dt.date.min], default=dt.date.min)
    missed: list[Open] = []
    feed = asked.season.feed
    for season in spans(feed.starts, feed.ends, max(asked.begun, last), south=asked.south):
        holds = in_force(rule, season.starts, south=asked.south)
        if season.starts > last and holds.starts in season and holds.ends >= asked.begun:
            found = _unheard_in(rule, site, here, holds, asked)
            if not found.missed:
                return (*together(missed), found)
            missed.append(found)
    raise AssertionError("the calendar has no end")


def _unheard_in(rule: DueRule, site: Site, here: Sequence[Entry], holds: Span, asked: Asked) -> Open:
    due = max(holds.starts, min(asked.begun, holds.ends))
    opens = next(spans(rule.starts, rule.ends, holds.starts, south=asked.south)).starts
    day = max(due, asked.on)
    guess = supposed_reading(asked.farm, here, site, day, asked.season, asked.air)
    now = next_feed(guess, day, asked.farm, asked.season, asked.air, rule) if guess else None
    level = rule.stores_below_kg.value if rule.stores_below_kg else 0.0
    why = f"not hefted since forage ended: heft, and feed to {level:g} kg"
    why += _amount(now, asked) + " to begin with" if now and now.helping else ""
    return Open(
        opens=min(opens, due),
        due=due,
        ends=holds.ends,
        closes_on=holds.starts,
        why=why,
        hives=site.colonies,
        missed=asked.on > holds.ends,
        helpings=now.helpings if now else 1,
    )


def _amount(feed: Feed, asked: Asked) -> str:
    """Return `: give 5 kg of Fondant a colony`, or nothing where the job kind brings no feed."""
    return _given(feed.helping, feed.helpings, asked) if feed.helping else ""


def _given(helping: Helping, helpings: int, asked: Asked) -> str:
    material = asked.farm.materials[helping.material]
    return f": give {helpings * helping.units:g} {material.unit} of {material.name} a colony"


def fed_when_low(rule: DueRule, site: Site, asked: Asked) -> tuple[int, str]:
    """Return how many helpings a colony seen low is given by a rule, and that in words; 1 and none where it is no feed.

    It is taken to hold what the weakest tenth is reckoned to hold, and no more than what a life hangs on
    (`now_below_kg`); it is given what keeps it at the level until the next planned visit. In the months of forage no
    level holds, and it is given what it uses until another feed can be taken down.
    """
    rules = asked.air.rules
    helping = helping_of(asked.farm.job_kinds[rule.job], rules)
    if helping is None:
        return 1, ""
    here = asked.here.get(site.id, ())
    reading = last_reading(asked.farm, here, site, asked.air)
    if reading is None or asked.on > reading.season.ends:
        reading = supposed(asked.farm, here, site, asked.on, asked.air)
    lacks = _lacks(reading, asked) if reading else _used(asked, math.ceil(rules.days_between_feeds.value))[-1]
    helpings = max(1, min(math.ceil(lacks / helping.stores_kg - _ALMOST), helping.most))
    return helpings, _given(helping, helpings, asked)


def _lacks(reading: Reading, asked: Asked) -> float:
    """Return what a colony seen low lacks to keep to the level until the next planned visit, kilograms."""
    used = _used(asked, math.ceil(asked.season.feed.feed_lasts_days.value))
    held = levels(reading.season, asked.season, south=asked.south)
    days = [(level_on(asked.on + _DAY * number, held), kg) for number, kg in enumerate(used)]
    needs = [(level, level.kg + kg) for level, kg in days if level]
    if not needs:
        return used[-1]
    holds = carried_forward(reading, asked.on, asked.air)[-1].weakest_kg
    least = needs[0][0].rule.now_below_kg
    return max(kg for _, kg in needs) - (min(holds, least.value) if least else holds)


def _used(asked: Asked, days: int) -> list[float]:
    """Return what a colony uses from the date until each of so many days after it, kilograms."""
    return [0.0, *accumulate(asked.air.use_kg(asked.on + _DAY * number) for number in range(days))]
