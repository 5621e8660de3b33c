"""What due dates are reckoned from: the farm, its record, the date, and what a forecast says of frost."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from routing import season
from routing.farm.models import Farm, Site
from routing.farm.year import DueRule, SeasonRules
from routing.season.calendar import southern
from routing.season.entries import Entry, Record
from routing.season.feed import Air, Temperatures, air_of


@dataclass(frozen=True)
class Answer:
    """Work that may close a due date: on a day, at so many hives."""

    date: dt.date
    hives: int


@dataclass(frozen=True)
class Asked:
    """What the due dates are reckoned from; `stages.due.asked` makes it for every command."""

    farm: Farm
    record: Record
    on: dt.date
    frost_on: dt.date | None = None
    """The first frost of a forecast, where that is earlier than the usual one."""
    temperatures: Temperatures | None = None
    """Mean temperature of days; None takes those of the farm's forecast."""

    @cached_property
    def air(self) -> Air:
        """How warm it is, for what colonies use, and what this winter's hefts teach of that."""
        return season.taught.as_taught(air_of(self.farm, self.temperatures), self.farm, self.here, self.on)

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
    def work(self) -> Mapping[tuple[str, str], tuple[Entry, ...]]:
        """The entries of each site and kind up to the date, oldest first."""
        found: dict[tuple[str, str], list[Entry]] = {}
        for site, entries in self.here.items():
            for entry in entries:
                found.setdefault((site, entry.kind), []).append(entry)
        return {key: tuple(entries) for key, entries in found.items()}

    @cached_property
    def last_logged(self) -> Mapping[str, dt.date]:
        """The last day up to the date on which a job kind was logged at any site."""
        return {entry.kind: entry.date for entry in self.record.entries if entry.date <= self.on}

    @property
    def begun(self) -> dt.date:
        """What fell due before is not remembered; a log without entries begins on the day asked for."""
        return min(self.record.begun or self.on, self.on)

    @property
    def south(self) -> bool:
        """Whether the months are shifted by six."""
        return southern(self.farm)

    def answers(self, rule: DueRule, site: Site) -> tuple[Answer, ...]:
        """Return the work up to the date that closes due dates of a rule at a site, oldest first."""
        entries = [entry for kind in {rule.job, *rule.closed_by} for entry in self.work.get((site.id, kind), ())]
        counted = (
            Answer(entry.date, hives_done(entry, site.colonies))
            for entry in entries
            if entry.stores_kg is not None or not rule.needs_stores_kg
        )
        return tuple(sorted((answer for answer in counted if answer.hives), key=lambda answer: answer.date))

    def cancelled(self, rule: DueRule, site: Site, since: dt.date = dt.date.min) -> dt.date | None:
        """Return the day up to which cancellations made since a date close a rule at a site; None without any."""
        days = (
            gone.closes_on
            for gone in self.record.cancellations
            if (gone.rule, gone.site) == (rule.id, site.id) and since <= gone.date <= self.on
        )
        return max(days, default=None)

    def ever_logged(self, rule: DueRule, since: dt.date = dt.date.min) -> bool:
        """Return whether what closes a rule was logged at any site of the farm, on a date or later."""
        kinds = {rule.job, *rule.closed_by} & self.last_logged.keys()
        return any(self.last_logged[kind] >= since for kind in kinds)


def hives_done(entry: Entry, colonies: int) -> int:
    """Return for how many of so many hives an entry counts: all where it says none, none where it was only begun."""
    if entry.hives is None:
        return 0 if entry.partly else colonies
    return min(entry.hives, colonies)
