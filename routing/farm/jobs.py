"""jobs.csv: one row for each job wanted at a site. It may be missing or empty: then only the rules make jobs."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from routing.farm.apart import refuse_clashes
from routing.farm.faults import Faults, Names, one_of, quoted
from routing.farm.models import Job, JobKind, Rank, Site
from routing.farm.plain_files import read_plain
from routing.farm.sites import MOST_HIVES, Sites
from routing.farm.tables import Cells, Columns, Table
from routing.farm.values import LONGEST_NOTE, UnfitError, date, text_up_to, whole

FILE = "jobs.csv"
COLUMNS = Columns(
    known=("site", "kind", "hives", "to", "not_before", "due_by", "promised", "rank", "note"),
    required=("site", "kind"),
)


def read_jobs(
    folder: Path, sites: Sites, kinds: Names, catalogue: Mapping[str, JobKind], faults: Faults
) -> tuple[Job, ...]:
    """Return the jobs of the folder; faults are noted and their rows left out."""
    if not os.path.lexists(folder / FILE) or _nothing_in(folder / FILE):
        return ()
    jobs: list[Job] = []
    lines: dict[tuple[str, str, str], int] = {}
    for row in Table(folder / FILE, COLUMNS, faults):
        cells = Cells(row, faults)
        job = _job(cells, sites, kinds, catalogue)
        if job is None:
            continue
        first = lines.setdefault((job.site, job.kind, job.to), row.line)
        if first != row.line:
            cells.warn(f"{quoted(job.kind)} at site {quoted(job.site)} is also on line {first}", "both are planned")
        jobs.append(job)
    refuse_clashes(jobs, catalogue, {site.id: site for site in sites.sites}, FILE, faults)
    return tuple(jobs)


def _nothing_in(path: Path) -> bool:
    """Return whether a plain file holds no byte; its size is not asked, since that of made-up files is no size."""
    try:
        return not read_plain(path, 0)
    except OSError:
        return False


def _job(cells: Cells, sites: Sites, kinds: Names, catalogue: Mapping[str, JobKind]) -> Job | None:
    site = _site(cells, sites)
    kind = _kind(cells, kinds)
    hives = _hives(cells, site)
    to = _to(cells, sites, site, catalogue.get(kind), catalogue)
    not_before = cells.take("not_before", date, None)
    due_by = cells.take("due_by", date, None)
    if not_before and due_by and due_by < not_before:
        cells.fault(f"due_by {due_by} is before not_before {not_before}")
    promised = cells.take("promised", date, None)
    if promised and (not_before or due_by):
        cells.fault("promised stands alone: leave not_before and due_by blank, or leave promised blank")
    rank = cells.take("rank", _rank, Rank.WANT)
    note = cells.take("note", text_up_to(LONGEST_NOTE, many_lines=True), "")
    if site is None or not kind or not cells.ok:
        return None
    return Job(
        id=f"{FILE}:{cells.row.line}",
        site=site.id,
        kind=kind,
        hives=hives,
        not_before=promised or not_before,
        due_by=promised or due_by,
        promised=promised,
        rank=rank,
        note=note,
        to=to,
        line=cells.row.line,
    )


def _site(cells: Cells, sites: Sites) -> Site | None:
    """Return the site; None with a fault where it is unknown, and silently where its own row has faults."""
    name = cells.required("site", str)
    if name and sites.names.unknown(name):
        cells.fault(f"site {quoted(name)} is not in sites.csv", sites.names.hint(name))
    return sites.find(name)


def _to(cells: Cells, sites: Sites, site: Site | None, kind: JobKind | None, catalogue: Mapping[str, JobKind]) -> str:
    """Return the site that the hives are moved to, or an empty text; nothing is moved from or to a suspect site."""
    name = cells.raw("to")
    if not name:
        return ""
    if sites.names.unknown(name):
        cells.fault(f"to {quoted(name)} is not in sites.csv", sites.names.hint(name))
    if kind is not None and kind.set_down_minutes_a_hive is None:
        movers = one_of(key for key, one in catalogue.items() if one.set_down_minutes_a_hive is not None)
        cells.fault(
            f"kind {quoted(kind.id)} moves no hives, so it goes to no other site", f"leave to empty, or name {movers}"
        )
    there = sites.find(name)
    if there is not None and site is not None and there.id == site.id:
        cells.fault(f"to {quoted(name)} is the site itself", "name the site that the hives go to")
    for marked in dict.fromkeys(one.id for one in (site, there) if one is not None and one.last_of_day):
        cells.fault(
            f"site {quoted(marked)} is marked last_of_day: where disease is suspected nothing is moved from or to it",
            "leave the hives, and ask the bee inspector first",
        )
    return there.id if there is not None else ""


def _kind(cells: Cells, kinds: Names) -> str:
    name = cells.required("kind", str)
    if name and kinds.unknown(name):
        cells.fault(f"kind {quoted(name)} is not a job kind", kinds.hint(name))
    return kinds.find(name)


def _hives(cells: Cells, site: Site | None) -> int:
    """Return how many hives the job is for: all colonies of the site where the row does not say."""
    hives = cells.take("hives", whole(1, MOST_HIVES), site.colonies if site else 1)
    if site is None:
        return hives
    if site.colonies == 0:
        cells.fault(f"site {quoted(site.id)} has no hives to work on", "write how many it has in sites.csv")
    elif hives > site.colonies:
        cells.warn(f"hives {hives} is more than the {site.colonies} hives and nucs of site {quoted(site.id)}")
    return hives


def _rank(text: str) -> Rank:
    try:
        return Rank(text.casefold())
    except ValueError as error:
        raise UnfitError(f"is not {one_of(Rank)}") from error
