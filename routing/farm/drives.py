"""drives.csv: drive minutes that the farmer knows. The file may be missing."""

from __future__ import annotations

from dataclasses import replace

from routing.farm.faults import Faults, Names, quoted
from routing.farm.models import BASE, KnownDrive
from routing.farm.sites import Sites
from routing.farm.sources import Sources
from routing.farm.tables import Cells, Columns
from routing.farm.values import number
from routing.farm.ways import Ways

TABLE = "drives"
COLUMNS = Columns(
    known=("from", "to", "minutes"), required=("from", "to", "minutes"), also={"start": "from", "end": "to"}
)
MOST_MINUTES = 1440


def read_drives(sources: Sources, sites: Sites, faults: Faults) -> tuple[KnownDrive, ...]:
    """Return the known drives of the folder, none where it has no such table; faults are noted."""
    table = sources.table(TABLE, COLUMNS)
    if table is None:
        return ()
    ends = replace(sites.names, ids={**sites.names.ids, BASE: BASE})
    drives: dict[tuple[str, str], KnownDrive] = {}
    for row in table:
        cells = Cells(row, faults)
        drive = _drive(cells, ends, sites.file, sources.ways)
        if drive is None:
            continue
        first = drives.setdefault((drive.start, drive.end), drive)
        if first.line != drive.line:
            cells.fault(f"the drive from {quoted(drive.start)} to {quoted(drive.end)} is already on line {first.line}")
    return tuple(drives.values())


def _drive(cells: Cells, known: Names, file: str, ways: Ways) -> KnownDrive | None:
    start, end = _end(cells, "from", known, file), _end(cells, "to", known, file)
    if not cells.raw("minutes"):
        cells.fault("minutes is missing", column="minutes")
    minutes = cells.take("minutes", number(0, MOST_MINUTES, ways), 0.0)
    if start and start == end:
        cells.fault(f"from and to are both {quoted(start)}")
    if not start or not end or not cells.ok:
        return None
    return KnownDrive(start=start, end=end, minutes=minutes, line=cells.row.line)


def _end(cells: Cells, column: str, known: Names, file: str) -> str:
    """Return the id of one end of a drive, or an empty text."""
    name = cells.required(column, str)
    if name and known.unknown(name):
        cells.fault(f"{column} {quoted(name)} is neither base nor a site in {file}", known.hint(name), column)
    return known.find(name)
