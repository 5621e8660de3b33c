"""What is due and cannot be done yet, because of what is on the hives or is to be done there first: due after that.

Planning refuses the same pairs (see apart.py); here they are told as one after the other instead of both as due.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence

from routing.farm.incompatible import clashes
from routing.farm.models import Farm, JobKind, Rank
from routing.season.asked import Asked
from routing.season.entries import Entry
from routing.season.keep_apart import in_the_way, still_there

Wanted = tuple[str, str, Rank, int]
"""Site, job kind, rank and hives of something that is due."""
OffBy = Callable[[str, str], tuple[dt.date, dt.date] | None]
"""From when and by when a job kind is due at a site, None where it is not."""

_RANKS = tuple(Rank)


def waits(asked: Asked, due: Sequence[Wanted], now: Sequence[bool], off_by: OffBy) -> tuple[str, ...]:
    """Return for each thing due after what it can be done, empty where it can be done now.

    `now` says which of them are asked for on the date; only these stand in each other's way, the lower rank after the
    higher, and one of a rank after those that stand before it.
    """
    farm, clashing = asked.farm, clashes(asked.farm.job_kinds)
    if not any(kind in clashing for _, kind, _, _ in due):
        return ("",) * len(due)
    inside, colonies = still_there(farm, asked.record, asked.on), {site.id: site.colonies for site in farm.sites}
    first = [(job.site, job.kind, True) for job in farm.jobs if job.not_before is None or job.not_before <= asked.on]
    told = [""] * len(due)
    for number in sorted(range(len(due)), key=lambda one: (not now[one], _RANKS.index(due[one][2]), one)):
        site, kind, _, hives = due[number]
        others = clashing.get(kind, frozenset())
        there = [key for key in sorted(others) if in_the_way(inside.get((site, key)), hives, colonies[site])]
        wanted = [one for one in first if one[0] == site and one[1] in others]
        if there:
            told[number] = _after_what_is_there(farm, inside, site, there[0], off_by)
        elif wanted and now[number]:
            told[number] = _after(farm.job_kinds[wanted[0][1]], farm, row=wanted[0][2])
        elif now[number]:
            first.append((site, kind, False))
    return tuple(told)


def _after_what_is_there(
    farm: Farm, inside: Mapping[tuple[str, str], Entry], site: str, key: str, off_by: OffBy
) -> str:
    other = farm.job_kinds[key]
    ended = farm.job_kinds.get(other.stays_until)
    days = off_by(site, other.stays_until)
    when = f" (due {days[0]} to {days[1]})" if days and days[0] < days[1] else f" (due {days[1]})" if days else ""
    name = ended.name if ended else other.stays_until
    return f"after {name}{when}: {other.name} was logged on {inside[site, key].date}"


def _after(other: JobKind, farm: Farm, *, row: bool) -> str:
    """Return that another thing is wanted first, and what must be off again before, where that stays on the hives."""
    ended = farm.job_kinds.get(other.stays_until)
    first = f"after {ended.name}" if ended else f"after {other.name}"
    return f"{first}: {other.name} is " + (
        f"asked for by {farm.tables.jobs}" if row else "due here too and comes first"
    )
