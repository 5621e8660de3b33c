"""jobs.csv: one row for each job wanted at a site. It may be missing or empty: then only the rules make jobs."""

from __future__ import annotations

from collections.abc import Mapping

from routing.farm.faults import Faults, Names, one_of, quoted
from routing.farm.incompatible import refuse_clashes
from routing.farm.models import Job, JobKind, Rank, Site
from routing.farm.sites import MOST_HIVES, Sites
from routing.farm.sources import Sources
from routing.farm.tables import Cells, Columns
from routing.farm.unfit import UnfitError
from routing.farm.values import LONGEST_NOTE, dates, text_up_to, whole
from routing.farm.ways import Ways

TABLE = "jobs"
COLUMNS = Columns(
    known=("site", "kind", "hives", "to", "not_before", "due_by", "promised", "rank", "note"),
    required=("site", "kind"),
)


def read_jobs(
    sources: Sources, sites: Sites, kinds: Names, catalogue: Mapping[str, JobKind], faults: Faults
) -> tuple[Job, ...]:
    """Return the jobs of the folder; faults are noted and their rows left out."""
    table = sources.table(TABLE, COLUMNS)
    if table is None:
        return ()
    jobs: list[Job] = []
    lines: dict[tuple[str, str, str], int] = {}
    for row in table:
        cells = Cells(row, faults)
        job = _job(cells, table.path_name, sources.ways, sites, kinds, catalogue)
        if job is None:
            continue
        first = lines.setdefault((job.site, job.kind, job.to), row.line)
        if first != row.line:
            cells.warn(f"{quoted(job.kind)} at site {quoted(job.site)} is also on line {first}", "both are planned")
        jobs.append(job)
    refuse_clashes(jobs, catalogue, {site.id: site for site in sites.sites}, table.file, faults, table.place)
    return tuple(jobs)


def _job(
    cells: Cells, file: str, ways: Ways, sites: Sites, kinds: Names, catalogue: Mapping[str, JobKind]
) -> Job | None:
    site = _site(cells, sites)
    kind = _kind(cells, kinds)
    hives = _hives(cells, site, ways, sites.file)
    to = _to(cells, sites, site, catalogue.get(kind), catalogue)
    not_before = cells.take("not_before", dates(ways), None)
    due_by = cells.take("due_by", dates(ways), None)
    if not_before and due_by and due_by < not_before:
        cells.fault(f"due_by {due_by} is before not_before {not_before}", column="due_by")
    promised = cells.take("promised", dates(ways), None)
    if promised and (not_before or due_by):
        cells.fault(
            "promised stands alone: leave not_before and due_by blank, or leave promised blank", column="promised"
        )
    rank = cells.take("rank", _rank, Rank.WANT)
    note = cells.take("note", text_up_to(LONGEST_NOTE, many_lines=True), "")
    if site is None or not kind or not cells.ok:
        return None
    return Job(
        id=f"{file}:{cells.row.line}",
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
        cells.fault(f"site {quoted(name)} is not in {sites.file}", sites.names.hint(name), "site")
    return sites.find(name)


def _to(cells: Cells, sites: Sites, site: Site | None, kind: JobKind | None, catalogue: Mapping[str, JobKind]) -> str:
    """Return the site that the hives are moved to, or an empty text; nothing is moved from or to a suspect site."""
    name = cells.raw("to")
    if not name:
        return ""
    if sites.names.unknown(name):
        cells.fault(f"to {quoted(name)} is not in {sites.file}", sites.names.hint(name), "to")
    if kind is not None and kind.set_down_minutes_a_hive is None:
        movers = one_of(key for key, one in catalogue.items() if one.set_down_minutes_a_hive is not None)
        cells.fault(
            f"kind {quoted(kind.id)} moves no hives, so it goes to no other site",
            f"leave to empty, or name {movers}",
            "to",
        )
    there = sites.find(name)
    if there is not None and site is not None and there.id == site.id:
        cells.fault(f"to {quoted(name)} is the site itself", "name the site that the hives go to", "to")
    for marked in dict.fromkeys(one.id for one in (site, there) if one is not None and one.last_of_day):
        cells.fault(
            f"site {quoted(marked)} is marked last_of_day: where disease is suspected nothing is moved from or to it",
            "leave the hives, and ask the bee inspector first",
            "to",
        )
    return there.id if there is not None else ""


def _kind(cells: Cells, kinds: Names) -> str:
    name = cells.required("kind", str)
    if name and kinds.unknown(name):
        cells.fault(f"kind {quoted(name)} is not a job kind", kinds.hint(name), "kind")
    return kinds.find(name)


def _hives(cells: Cells, site: Site | None, ways: Ways, file: str) -> int:
    """Return how many hives the job is for: all colonies of the site where the row does not say."""
    hives = cells.take("hives", whole(1, MOST_HIVES, ways), site.colonies if site else 1)
    if site is None:
        return hives
    if site.colonies == 0:
        cells.fault(f"site {quoted(site.id)} has no hives to work on", f"write how many it has in {file}", "hives")
    elif hives > site.colonies:
        cells.warn(
            f"hives {hives} is more than the {site.colonies} hives and nucs of site {quoted(site.id)}", column="hives"
        )
    return hives


def _rank(text: str) -> Rank:
    try:
        return Rank(text.casefold())
    except ValueError as error:
        raise UnfitError(f"is not {one_of(Rank)}") from error
