"""What may not be at one site together is not planned together: medicine strips and supers for honey.

Two job kinds clash where one names the other under `not_with` (see routing/farm/incompatible.py). Neither is planned
while the log says that what the other left on the hives is still there, nor beside the other in one round.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping

from routing.errors import AskedError, Fault
from routing.farm.incompatible import clashes, label_decides, why_apart
from routing.farm.models import Farm, Job, Rank
from routing.season.entries import Entry, Record
from routing.season.log_file import FILE

DUE = "due:"
"""How the ids of jobs begin that the rules of the year make; all others are the farmer's own."""

_RANKS = tuple(Rank)


def kept_apart(farm: Farm, record: Record, on: dt.date) -> Farm:
    """Return the farm without the due jobs that may not be done on a date beside others; each is a warning.

    Raises AskedError where a row of jobs.csv asks for one while the log says that what it clashes with is still there.
    """
    clashing, inside = clashes(farm.job_kinds), still_there(farm, record, on)
    colonies = {site.id: site.colonies for site in farm.sites}
    kept: list[Job] = []
    refused: list[str] = []
    warnings: list[Fault] = []
    for job in sorted(farm.jobs, key=_own_first):
        open_now = job.not_before is None or job.not_before <= on
        found = list(_against(job, farm, clashing, inside, colonies, kept, on)) if open_now else []
        if not found:
            kept.append(job)
        elif job.id.startswith(DUE):
            warnings += [Fault(FILE, 0, f"{what}, so it is not planned", fix, warning=True) for what, fix in found]
        else:
            refused += [f"{farm.row_of(job)}: {what}; {fix}" for what, fix in found]
    if refused:
        raise AskedError("\n".join(refused))
    gone = {job.id for job in farm.jobs} - {job.id for job in kept}
    jobs = tuple(job for job in farm.jobs if job.id not in gone)
    return farm.model_copy(update={"jobs": jobs, "warnings": (*farm.warnings, *warnings)})


def _own_first(job: Job) -> tuple[bool, int]:
    """Sort the farmer's own rows first, then what is due by rank; of one rank it stays as it is, the worst first."""
    return job.id.startswith(DUE), _RANKS.index(job.rank)


def still_there(farm: Farm, record: Record, on: dt.date) -> Mapping[tuple[str, str], Entry]:
    """Return the last entry of each site and kind of which something is still on the hives on a date.

    What was put on partly is there too; what was taken off partly is not all off.
    """
    found: dict[tuple[str, str], Entry] = {}
    for entry in record.entries:
        if entry.date > on:
            continue
        kind = farm.job_kinds.get(entry.kind)
        if not entry.partly:
            ended = [key for key, one in farm.job_kinds.items() if one.stays_until == entry.kind]
            for key in ended:
                found.pop((entry.site, key), None)
        if kind is not None and kind.stays_until:
            found[entry.site, entry.kind] = entry
    return found


def in_the_way(entry: Entry | None, hives: int, colonies: int) -> bool:
    """Return whether what an entry left on its hives leaves fewer than so many of a site's colonies free."""
    return entry is not None and hives + (entry.hives or hives) > colonies


def _against(
    job: Job,
    farm: Farm,
    clashing: Mapping[str, frozenset[str]],
    inside: Mapping[tuple[str, str], Entry],
    colonies: Mapping[str, int],
    kept: list[Job],
    on: dt.date,
) -> Iterator[tuple[str, str]]:
    """Yield, for each thing that a job may not be done beside on a date, what is wrong and what to do."""
    others = clashing.get(job.kind, frozenset())
    own = farm.job_kinds[job.kind]
    where = f"{own.name} at {farm.site(job.site).name}"
    for key in sorted(others):
        other, entry = farm.job_kinds[key], inside.get((job.site, key))
        if entry is not None and in_the_way(entry, job.hives, colonies[job.site]):
            ended = farm.job_kinds.get(other.stays_until)
            until = ended.name if ended else other.stays_until
            what = (
                f"{where} may not be beside {other.name}, logged on {entry.date} with no {until} since "
                f"({why_apart(own, other)})"
            )
            yield what, f"log {other.stays_until} if it was done; {label_decides(own, other)}"
    for near in kept:
        open_now = near.not_before is None or near.not_before <= on
        if near.site == job.site and near.kind in others and open_now and job.id.startswith(DUE):
            other = farm.job_kinds[near.kind]
            what = f"{where} may not be beside {other.name}, which is wanted there too ({why_apart(own, other)})"
            yield what, f"do one of them and log it; {label_decides(own, other)}"
