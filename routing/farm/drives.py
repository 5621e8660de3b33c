"""drives.csv: drive minutes that the farmer knows. The file may be missing."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

from routing.farm.faults import Faults, Names, quoted
from routing.farm.models import BASE, KnownDrive
from routing.farm.sites import Sites
from routing.farm.tables import Cells, Columns, Table
from routing.farm.values import number

FILE = "drives.csv"
COLUMNS = Columns(
    known=("from", "to", "minutes"), required=("from", "to", "minutes"), also={"start": "from", "end": "to"}
)
MOST_MINUTES = 1440


def read_drives(folder: Path, sites: Sites, faults: Faults) -> tuple[KnownDrive, ...]:
    """Return the known drives of the folder, none where it has no such file; faults are noted."""
    if not os.path.lexists(folder / FILE):
        return ()
    ends = replace(sites.names, ids={**sites.names.ids, BASE: BASE})
    drives: dict[tuple[str, str], KnownDrive] = {}
    for row in Table(folder / FILE, COLUMNS, faults):
        cells = Cells(row, faults)
        drive = _drive(cells, ends)
        if drive is None:
            continue
        first = drives.setdefault((drive.start, drive.end), drive)
        if first.line != drive.line:
            cells.fault(f"the drive from {quoted(drive.start)} to {quoted(drive.end)} is already on line {first.line}")
    return tuple(drives.values())


def _drive(cells: Cells, known: Names) -> KnownDrive | None:
    start, end = _end(cells, "from", known), _end(cells, "to", known)
    if not cells.raw("minutes"):
        cells.fault("minutes is missing")
    minutes = cells.take("minutes", number(0, MOST_MINUTES), 0.0)
    if start and start == end:
        cells.fault(f"from and to are both {quoted(start)}")
    if not start or not end or not cells.ok:
        return None
    return KnownDrive(start=start, end=end, minutes=minutes, line=cells.row.line)


def _end(cells: Cells, column: str, known: Names) -> str:
    """Return the id of one end of a drive, or an empty text."""
    name = cells.required(column, str)
    if name and known.unknown(name):
        cells.fault(f"{column} {quoted(name)} is neither base nor a site in sites.csv", known.hint(name))
    return known.find(name)
