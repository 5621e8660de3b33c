"""The season's page: what was done, is due and is overdue around a date, with what visits took and stores."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from pathlib import Path

from routing.farm.models import Farm
from routing.output.places import may_be_written
from routing.output.single import write_files
from routing.season.asked import Asked
from routing.season.due import DueItem, due_items
from routing.season.due import State as DueState
from routing.season.entries import Record
from routing.season.feed import carried_forward, last_reading
from routing.season.levels import level_on, levels
from routing.season.past_visits import past_visits
from routing.season.records import VisitRecord
from routing.share.pages.season_page import season_page
from routing.share.wording.season import Entry as Shown
from routing.share.wording.season import FeedRow, MinutesRow, Season, State
from routing.stages.due import asked
from routing.stages.read import taught
from routing.stages.write import ground

WEEKS = 8
"""The season's page shows so many weeks before and after its date."""

STANDING = {
    DueState.OVERDUE: State.OVERDUE,
    DueState.SEASON_OVER: State.OVERDUE,
    DueState.UNKNOWN: State.UNKNOWN,
    DueState.DUE: State.DUE,
    DueState.COMING: State.DUE,
}


def page_of(farm: Farm, date: dt.date) -> str:
    """Return the season's page around a date as one HTML file, of a farm as it is written. Raises FarmError."""
    return season_page(season_of(farm, date, taught(farm)))


def write_page(farm: Farm, date: dt.date, path: Path, *, replace: bool = False, option: str = "") -> tuple[Path, ...]:
    """Write the season's page of a farm as it is written, and return the files; `option` asked for the place.

    Raises AskedError where it may not go there, WriteError, and what `page_of` raises.
    """
    where = ground(farm, replace=replace)
    may_be_written(path, where, option)
    return write_files({path: page_of(farm, date)}, where, options={path: option})


def season_of(farm: Farm, date: dt.date, learned: Farm) -> Season:
    """Return the rows of the season's page around a date; `learned` is the farm with what its record teaches."""
    now = asked(farm, date)
    record = now.record
    first, last = date - dt.timedelta(weeks=WEEKS), date + dt.timedelta(weeks=WEEKS)
    items = due_items(now) if farm.season is not None else ()
    entries = [
        *_done(farm, record),
        *(Shown(item.site_name, item.kind_name, _shown_on(item, first), STANDING[item.state]) for item in items),
    ]
    return Season(
        farm=farm.name,
        today=date,
        first=first,
        last=last,
        sites=tuple(site.name for site in farm.sites),
        entries=tuple(entry for entry in entries if first <= entry.date <= last),
        minutes=tuple(_minutes(farm, learned, past_visits(farm, record))),
        feed=tuple(_feed(now, last)) if farm.season is not None else (),
    )


def _shown_on(item: DueItem, first: dt.date) -> dt.date:
    """Return the day of a due date, or the first of the page where it is longer overdue than the page goes back."""
    return max(item.due, first)


def _done(farm: Farm, record: Record) -> Iterator[Shown]:
    names = {site.id: site.name for site in farm.sites}
    kinds = {kind.id: kind.name for kind in farm.job_kinds.values()}
    for entry in record.entries:
        if not entry.partly:
            yield Shown(names.get(entry.site, entry.site), kinds.get(entry.kind, entry.kind), entry.date, State.DONE)
    rules = farm.season.due if farm.season is not None else {}
    for gone in record.cancellations:
        kind = rules[gone.rule].job if gone.rule in rules else gone.rule
        yield Shown(names.get(gone.site, gone.site), kinds.get(kind, kind), gone.date, State.CANCELLED)


def _minutes(farm: Farm, learned: Farm, visits: Iterable[VisitRecord]) -> Iterator[MinutesRow]:
    """Yield for each kind done by itself its minutes a hive: as written, as learned, and each visit's."""
    by_kind: dict[str, list[tuple[dt.date, float]]] = {}
    for visit in visits:
        if len(visit.kinds) == 1 and visit.hives:
            set_up = farm.job_kinds[visit.kinds[0]].minutes_a_visit.value
            a_hive = max(0.0, visit.minutes - set_up) / visit.hives
            by_kind.setdefault(visit.kinds[0], []).append((visit.date, a_hive))
    for kind, points in by_kind.items():
        now, then = learned.job_kinds[kind].minutes_a_hive, farm.job_kinds[kind].minutes_a_hive
        yield MinutesRow(farm.job_kinds[kind].name, then.value, now.value if now != then else None, tuple(points))


def _feed(asked: Asked, last: dt.date) -> Iterator[FeedRow]:
    for site in asked.farm.sites:
        reading = last_reading(asked.farm, asked.here.get(site.id, ()), site, asked.air)
        held = levels(reading.season, asked.season, south=asked.south) if reading else ()
        if reading is None or not held:
            continue
        days = carried_forward(reading, last, asked.air)
        found = [level_on(day.date, held) for day in days]
        yield FeedRow(
            site=site.name,
            dates=tuple(day.date for day in days),
            middle_kg=tuple(day.mean_kg for day in days),
            low_kg=tuple(day.weakest_kg for day in days),
            high_kg=tuple(day.strongest_kg for day in days),
            feed_below_kg=tuple(level.kg if level else None for level in found),
        )
