"""What comes out of the log: past visits to learn from, and the season's page."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from pathlib import Path

from routing.farm.models import Farm
from routing.farm.year_words import EVENTS
from routing.season.asked import Asked
from routing.season.due import DueItem, due_items
from routing.season.due import State as DueState
from routing.season.entries import Entry, Record
from routing.season.feed import carried_forward, last_reading
from routing.season.levels import level_on, levels
from routing.season.records import MOST_MINUTES, VisitRecord
from routing.share.wording.season import Entry as Shown
from routing.share.wording.season import FeedRow, MinutesRow, Season, State
from routing.stages import day as pipeline

WEEKS = 8
"""The season's page shows so many weeks before and after its date."""

STANDING = {
    DueState.OVERDUE: State.OVERDUE,
    DueState.SEASON_OVER: State.OVERDUE,
    DueState.UNKNOWN: State.UNKNOWN,
    DueState.DUE: State.DUE,
    DueState.COMING: State.DUE,
}


def past_visits(farm: Farm, record: Record) -> tuple[VisitRecord, ...]:
    """Return the visits of the log whose minutes are known, to learn from.

    Entries of one site, date and crew are one visit, and their minutes add up. A visit with a job that was only begun
    or has no minutes teaches nothing; an event takes none.
    """
    visits: dict[tuple[str, dt.date, str], list[Entry]] = {}
    for entry in record.entries:
        visits.setdefault((entry.site, entry.date, entry.crew), []).append(entry)
    sites = {site.id: site for site in farm.sites}
    found = []
    for (site, date, crew), entries in visits.items():
        worked = [entry for entry in entries if entry.kind not in EVENTS]
        known = site in sites and all(entry.kind in farm.job_kinds for entry in worked)
        if not worked or not known or any(entry.partly or not entry.minutes for entry in worked):
            continue
        hives: dict[str, int] = {}
        for entry in worked:
            done = sites[site].colonies if entry.hives is None else entry.hives
            hives[entry.kind] = hives.get(entry.kind, 0) + done
        found.append(
            VisitRecord(
                site=site,
                kinds=tuple(hives),
                crew=crew,
                people=max((entry.people for entry in worked if entry.people), default=1),
                date=date,
                hives=max(hives.values()),
                hives_of=hives,
                minutes=min(MOST_MINUTES, sum(entry.minutes or 0 for entry in worked)),
            )
        )
    return tuple(found)


def season_of(farm: Farm, date: dt.date, learned: Farm) -> Season:
    """Return the rows of the season's page around a date; `learned` is the farm with what its record teaches."""
    asked = pipeline.asked(farm, date)
    record = asked.record
    first, last = date - dt.timedelta(weeks=WEEKS), date + dt.timedelta(weeks=WEEKS)
    items = due_items(asked) if farm.season is not None else ()
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
        feed=tuple(_feed(asked, last)) if farm.season is not None else (),
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


def has_log(folder: Path) -> bool:
    """Return whether the farm folder has a log."""
    return (folder / pipeline.LOG).exists()
