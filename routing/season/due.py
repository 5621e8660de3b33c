"""What is due: for each rule and site, the one earliest due date that is still open.

A due date closes when its job is logged or when it is cancelled by name, and in no other way: it is never dropped for
being old, and the order in which entries were written does not matter. What fell due before the log's oldest entry is
not remembered; where it still makes sense it counts as due on that day. Low stores are told anew by each heft or feed.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property

from routing.farm.models import Farm, Rank, Site
from routing.farm.year import DueRule, SeasonRules
from routing.season.calendar import Span, day_after, southern, spans
from routing.season.entries import Entry, Record
from routing.season.feed import Air, Reading, Temperatures, air_of, last_reading
from routing.season.feeds import Feed, next_feed, supposed_reading
from routing.season.levels import in_force

SOON_DAYS = 7
"""What falls due within so many days counts as due: a week's rounds are planned together."""
COMING_DAYS = 28
"""What falls due within so many days is shown as coming."""

_DAY = dt.timedelta(days=1)
_RANKS = tuple(Rank)


class State(StrEnum):
    """How a due date stands on a date, worst first; the words are for the farmer."""

    OVERDUE = "overdue"
    SEASON_OVER = "not done, season over"
    """It was due and never done, and is past sense: shown until it is cancelled by name or done late."""
    DUE = "due"
    COMING = "coming"


@dataclass(frozen=True)
class Open:
    """An open due date of one rule at one site."""

    opens: dt.date
    """The earliest day on which it makes sense."""
    due: dt.date
    ends: dt.date | None
    """The last day on which it makes sense, None where it always does."""
    closes_on: dt.date
    """Cancelling it closes the due dates up to here."""
    why: str
    helpings: int = 1
    """Of a feed: how many times what its job kind takes for a hive."""


@dataclass(frozen=True)
class DueItem:
    """One line of what is due."""

    rule: str
    site: str
    site_name: str
    kind: str
    kind_name: str
    rank: Rank
    hives: int
    state: State
    opens: dt.date
    due: dt.date
    ends: dt.date | None
    closes_on: dt.date
    days_overdue: int
    why: str
    in_passing: bool = False
    """Not due yet, but it may be done already, and a visit is made there anyway."""
    helpings: int = 1
    """Of a feed: how many times what its job kind takes for a hive."""


@dataclass(frozen=True)
class Asked:
    """What the due dates are reckoned from."""

    farm: Farm
    record: Record
    on: dt.date
    frost_on: dt.date | None = None
    """The first frost of a forecast, where that is earlier than the usual one."""
    temperatures: Temperatures | None = None
    """Mean temperature of days; None takes those of the farm's forecast."""

    @cached_property
    def air(self) -> Air:
        """How warm it is, for what colonies use."""
        return air_of(self.farm, self.temperatures)

    @property
    def season(self) -> SeasonRules:
        """The rules of the year. Raises ValueError for a farm that was made without."""
        if self.farm.season is None:
            raise ValueError("the farm was made without the rules of the year")
        return self.farm.season

    @cached_property
    def here(self) -> Mapping[str, tuple[Entry, ...]]:
        """The entries of each site up to the date, oldest first."""
        found: dict[str, list[Entry]] = {}
        for entry in self.record.entries:
            if entry.date <= self.on:
                found.setdefault(entry.site, []).append(entry)
        return {site: tuple(entries) for site, entries in found.items()}

    @cached_property
    def last_done(self) -> Mapping[tuple[str, str], dt.date]:
        """The last day up to the date on which a job kind was done at a site, by site and kind."""
        found: dict[tuple[str, str], dt.date] = {}
        for site, entries in self.here.items():
            found |= {(site, entry.kind): entry.date for entry in entries if not entry.partly}
        return found

    @property
    def begun(self) -> dt.date:
        """What fell due before is not remembered; a log without entries begins on the day asked for."""
        return min(self.record.begun or self.on, self.on)

    @property
    def south(self) -> bool:
        """Whether the months are shifted by six."""
        return southern(self.farm)


def due_items(asked: Asked, visited: frozenset[str] = frozenset()) -> tuple[DueItem, ...]:
    """Return all that is overdue, due or coming, worst first.

    Worst: overdue before season over before due before coming; in each by rank and then the earliest due date.
    `visited` are sites to which a visit is planned anyway; a site with something overdue or due is one too.
    """
    found = [
        item
        for site in asked.farm.sites
        if site.colonies
        for rule in asked.season.due.values()
        if (item := _item(rule, site, asked))
    ]
    there = visited | {item.site for item in found if item.state in {State.OVERDUE, State.DUE}}
    marked = (_in_passing(item, asked.on, there) for item in found)
    return tuple(sorted(marked, key=_worst_first))


def open_due(rule: DueRule, site: Site, asked: Asked) -> Open | None:
    """Return the earliest due date of a rule at a site that is still open, however far ahead; None where there is none.

    A rule with days of the year always has one.
    """
    if rule.every_days:
        return _every(rule, site, asked)
    if rule.by:
        return _once(rule, site, asked)
    return _after(rule, site, asked) if rule.after else _stores(rule, site, asked)


def _item(rule: DueRule, site: Site, asked: Asked) -> DueItem | None:
    found = open_due(rule, site, asked)
    state = _state(found, asked.on) if found else None
    if found is None or state is None:
        return None
    return DueItem(
        rule=rule.id,
        site=site.id,
        site_name=site.name,
        kind=rule.job,
        kind_name=asked.farm.job_kinds[rule.job].name,
        rank=rule.rank,
        hives=site.colonies,
        state=state,
        opens=found.opens,
        due=found.due,
        ends=found.ends,
        closes_on=found.closes_on,
        days_overdue=max(0, (asked.on - found.due).days),
        why=found.why,
        helpings=found.helpings,
    )


def _state(found: Open, on: dt.date) -> State | None:
    """Return how a due date stands, None where it is too far ahead to be shown."""
    if found.due < on:
        return State.SEASON_OVER if found.ends and on > found.ends else State.OVERDUE
    if found.opens <= on and found.due <= on + _DAY * SOON_DAYS:
        return State.DUE
    return State.COMING if found.opens <= on or found.due <= on + _DAY * COMING_DAYS else None


def _in_passing(item: DueItem, on: dt.date, there: frozenset[str]) -> DueItem:
    if item.state is not State.COMING or item.opens > on or item.site not in there:
        return item
    return replace(item, in_passing=True)


def _worst_first(item: DueItem) -> tuple[int, int, dt.date, str, str]:
    return tuple(State).index(item.state), _RANKS.index(item.rank), item.due, item.site, item.rule


def _last(rule: DueRule, site: Site, asked: Asked) -> dt.date | None:
    """Return the last day up to the date asked for that the rule's job was done at, or that a cancelling closed."""
    days = [
        cancelled.closes_on
        for cancelled in asked.record.cancellations
        if cancelled.rule == rule.id and cancelled.site == site.id and cancelled.date <= asked.on
    ]
    done = asked.last_done.get((site.id, rule.job))
    return max([*days, *([done] if done else [])], default=None)


def _every(rule: DueRule, site: Site, asked: Asked) -> Open:
    """Return the next due date after the last time: so many days on, or the first day of the next season."""
    days = int(rule.every_days.value) if rule.every_days else 0
    last = _last(rule, site, asked)
    since = asked.begun if last is None else max(asked.begun, last + _DAY * days)
    season = next(spans(rule.starts, rule.ends, since, south=asked.south))
    due = max(since, season.starts)
    opens = max(season.starts, due - _DAY * rule.early_days)
    why = f"every {days} days" + (f", last on {last}" if last else ", never logged")
    return Open(min(opens, due), due, season.ends + _DAY * days, max(asked.on, due), why)


def _once(rule: DueRule, site: Site, asked: Asked) -> Open:
    """Return the due date of the first season in which it was not done."""
    last = _last(rule, site, asked)
    for season in spans(rule.starts, rule.ends, max(asked.begun, last or asked.begun), south=asked.south):
        if last is None or season.starts > last:
            due, why = _once_by(rule, site, season, asked)
            return Open(season.starts, max(due, min(asked.begun, season.ends)), season.ends, season.starts, why)
    raise AssertionError("the calendar has no end")


def _once_by(rule: DueRule, site: Site, season: Span, asked: Asked) -> tuple[dt.date, str]:
    by = day_after(rule.by or rule.ends, season.starts, south=asked.south)
    why = f"by {by}"
    if rule.before_frost:
        usual = day_after(asked.season.first_frost, season.starts, south=asked.south)
        frost = min([usual, *([asked.frost_on] if asked.frost_on and asked.frost_on in season else [])])
        if frost <= by:
            by, why = frost - _DAY, f"before the first frost about {frost}"
    if rule.low_sites_days_earlier and site.id in asked.season.low_sites:
        by, why = by - _DAY * rule.low_sites_days_earlier, why + ", earlier here: its hives stand low"
    return min(season.ends, max(season.starts, by)), why


def _after(rule: DueRule, site: Site, asked: Asked) -> Open | None:
    """Return the due date of the earliest event that nothing has followed yet."""
    least = int(rule.earliest_days.value) if rule.earliest_days else 0
    most = int(rule.latest_days.value) if rule.latest_days else least
    wait = _DAY * min(least, 1)
    last = _last(rule, site, asked) or dt.date.min
    for entry in asked.here.get(site.id, ()):
        if rule.after != entry.kind and rule.after not in entry.seen:
            continue
        if entry.date + wait > last:
            label = entry.medicine.days_in if entry.medicine else None
            first, latest = (label, label) if label else (least, most)
            why = f"{rule.after} on {entry.date}" + (f", {label} days by the label" if label else "")
            return Open(
                entry.date + _DAY * first, entry.date + _DAY * latest, None, max(entry.date + wait, entry.date), why
            )
    return None


def _stores(rule: DueRule, site: Site, asked: Asked) -> Open | None:
    """Return the day on which the weakest tenth runs low, or by which a site that no heft tells of must be fed."""
    here = asked.here.get(site.id, ())
    reading = last_reading(asked.farm, here, site, asked.air)
    return (_runs_low(rule, site, reading, asked) if reading else None) or _unheard(rule, site, here, asked)


def _runs_low(rule: DueRule, site: Site, reading: Reading, asked: Asked) -> Open | None:
    feed = next_feed(reading, reading.date, asked.farm, asked.season, asked.air, rule)
    cancelled = max(
        (
            cancelled.closes_on
            for cancelled in asked.record.cancellations
            if (cancelled.rule, cancelled.site) == (rule.id, site.id) and reading.newest <= cancelled.date <= asked.on
        ),
        default=dt.date.min,
    )
    if feed is None or feed.date <= cancelled:
        return None
    starts = next(spans(rule.starts, rule.ends, feed.level.holds.starts, south=asked.south)).starts
    opens = max(starts, reading.fed_again_from(asked.season.feed), feed.date - _DAY * rule.early_days)
    late = feed.date < asked.on
    now = (next_feed(reading, asked.on, asked.farm, asked.season, asked.air, rule) if late else None) or feed
    why = f"the weakest tenth falls below {feed.level.kg:g} kg{_amount(now, asked)}"
    return Open(min(feed.date, opens), feed.date, feed.level.holds.ends, feed.date, why, now.helpings)


def _unheard(rule: DueRule, site: Site, here: tuple[Entry, ...], asked: Asked) -> Open | None:
    """Return the day by which a site is to be hefted and fed in the first autumn of which no heft or feed tells."""
    if rule.fed_by is None or rule.stores_below_kg is None:
        return None
    heard = [entry.date for entry in here if entry.stores_kg is not None]
    closed = _last(rule, site, asked)
    last = max([*heard, *([closed] if closed else [])], default=None)
    feed = asked.season.feed
    for season in spans(feed.starts, feed.ends, max(asked.begun, last or asked.begun), south=asked.south):
        holds = in_force(rule, season.starts, south=asked.south)
        if (last is None or season.starts > last) and holds.starts in season and holds.ends >= asked.begun:
            due = max(holds.starts, min(asked.begun, holds.ends))
            opens = next(spans(rule.starts, rule.ends, holds.starts, south=asked.south)).starts
            day = max(due, asked.on)
            guess = supposed_reading(asked.farm, here, site, day, asked.season, asked.air)
            now = next_feed(guess, day, asked.farm, asked.season, asked.air, rule) if guess else None
            why = f"not hefted since forage ended: heft, and feed to {rule.stores_below_kg.value:g} kg"
            why += _amount(now, asked) + " to begin with" if now and now.helping else ""
            return Open(min(opens, due), due, holds.ends, holds.starts, why, now.helpings if now else 1)
    raise AssertionError("the calendar has no end")


def _amount(feed: Feed, asked: Asked) -> str:
    """Return `: give 5 kg of Fondant a colony`, or nothing where the job kind brings no feed."""
    if feed.helping is None:
        return ""
    material = asked.farm.materials[feed.helping.material]
    return f": give {feed.units:g} {material.unit} of {material.name} a colony"
