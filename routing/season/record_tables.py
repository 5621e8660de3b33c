"""visits.csv and driven.csv: how long past visits and drives took, from a spreadsheet. Both may be missing."""

from __future__ import annotations

import os
from pathlib import Path

from routing.errors import FarmError
from routing.farm.faults import Faults
from routing.farm.tables import Cells, Columns, Table
from routing.farm.unfit import UnfitError
from routing.farm.values import dates, identity, number, whole
from routing.farm.ways import ANY, Ways
from routing.season.records import DriveRecord, VisitRecord

VISITS, DRIVEN = "visits.csv", "driven.csv"
VISIT_COLUMNS = Columns(
    known=("date", "site", "kinds", "crew", "people", "hives", "minutes"),
    required=("date", "site", "kinds", "crew", "hives", "minutes"),
    also={"kind": "kinds"},
)
DRIVEN_COLUMNS = Columns(
    known=("from", "to", "planned_minutes", "minutes"), required=("from", "to", "planned_minutes", "minutes")
)
MOST_MINUTES = 2880.0
LEAST_MINUTES = 0.1
NEEDED = ("site", "kinds", "crew", "date", "hives", "minutes")


def has_records(folder: Path) -> bool:
    """Return whether the folder holds any record of past visits or drives."""
    return os.path.lexists(folder / VISITS) or os.path.lexists(folder / DRIVEN)


def read_records(folder: Path, ways: Ways = ANY) -> tuple[tuple[VisitRecord, ...], tuple[DriveRecord, ...]]:
    """Return the recorded visits and drives of a farm folder, read by the ways of its country.

    Raises FarmError with every fault of both files.
    """
    faults = Faults()
    visits = [
        _visit(Cells(row, faults), ways)
        for row in (Table(folder / VISITS, VISIT_COLUMNS, faults) if os.path.lexists(folder / VISITS) else ())
    ]
    drives = [
        _drive(Cells(row, faults), ways)
        for row in (Table(folder / DRIVEN, DRIVEN_COLUMNS, faults) if os.path.lexists(folder / DRIVEN) else ())
    ]
    if faults.stopping:
        raise FarmError(faults.in_order((VISITS, DRIVEN)))
    return tuple(visit for visit in visits if visit), tuple(drive for drive in drives if drive)


def _visit(cells: Cells, ways: Ways) -> VisitRecord | None:
    """Return a row's visit; several kinds done in one visit stand in one cell with + between them."""
    for column in NEEDED:
        if not cells.raw(column):
            cells.fault(f"{column} is missing")
    nothing: tuple[str, ...] = ()
    found = {
        "date": cells.take("date", dates(ways), None),
        "site": cells.take("site", identity, ""),
        "crew": cells.take("crew", identity, ""),
        "people": cells.take("people", whole(1, 20, ways), 1),
        "hives": cells.take("hives", whole(0, 100_000, ways), 0),
        "minutes": cells.take("minutes", number(LEAST_MINUTES, MOST_MINUTES, ways), 1.0),
        "kinds": cells.take("kinds", _kinds, nothing),
    }
    return VisitRecord.model_validate(found) if cells.ok else None


def _kinds(text: str) -> tuple[str, ...]:
    kinds = tuple(identity(word.strip()) for word in text.split("+") if word.strip())
    if not kinds:
        raise UnfitError("names no job kind")
    return kinds


def _drive(cells: Cells, ways: Ways) -> DriveRecord | None:
    for column in DRIVEN_COLUMNS.required:
        if not cells.raw(column):
            cells.fault(f"{column} is missing")
    planned = cells.take("planned_minutes", number(LEAST_MINUTES, MOST_MINUTES, ways), 1.0)
    actual = cells.take("minutes", number(LEAST_MINUTES, MOST_MINUTES, ways), 1.0)
    start, end = cells.take("from", identity, ""), cells.take("to", identity, "")
    if not cells.ok:
        return None
    return DriveRecord(start=start, end=end, planned_seconds=60 * planned, actual_seconds=60 * actual)
