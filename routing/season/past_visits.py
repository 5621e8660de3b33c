"""Past visits out of the log: how long work took, to learn from."""

from __future__ import annotations

import datetime as dt

from routing.farm.models import Farm
from routing.farm.year_words import EVENTS
from routing.season.entries import Entry, Record
from routing.season.records import MOST_MINUTES, VisitRecord


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
