"""A farm's tables as a workbook to fill in: drop-downs, date cells, notes at the columns, a header that stays."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from routing.farm import drives, jobs, sites
from routing.farm.basics import Rank
from routing.farm.book_out import A4, LONGEST_TEXT, book_bytes
from routing.farm.kinds import load_catalogue
from routing.farm.models import BASE
from routing.farm.values import date

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

Cell = str | float | dt.date
_PLAIN = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,12})?")
Rows = Sequence[Mapping[str, Cell]]

DATES = frozenset({"not_before", "due_by", "promised"})
NUMBERS = frozenset({"latitude", "longitude", "hives", "nucs", "walking_minutes", "minutes"})
READY_ROWS = 1_000
"""So many rows below the header have their formats and drop-downs."""
WIDTHS = {
    "place": 24,
    "parking": 24,
    "notes": 36,
    "note": 36,
    "private_notes": 30,
    "name": 24,
    "kind": 22,
    "hours": 16,
    "vehicle_needed": 17,
    "walking_minutes": 17,
}
USUAL_WIDTH = 13
NOTES = {
    "id": "A short name that jobs and drives use. Each only once, without a comma.",
    "place": "Decimal degrees (52.1, -2.7), degrees and minutes, or a British or Irish grid reference. Or leave it "
    "blank and write latitude and longitude.",
    "hives": "How many hives are here. In Jobs: for how many, blank for all of the site.",
    "hours": "When one may come, as text: 08:00-16:00. Blank for any hour.",
    "closed": "Days on which nobody may come, as text: Sun 2026-12-24.",
    "vehicle_needed": "A need that a vehicle meets by its reaches in farm.toml, such as 4x4.",
    "parking": "Where the vehicle is left, written as a place, where that is not beside the hives.",
    "walking_minutes": "From there to the hives, one way.",
    "last_of_day": "yes for a suspect site, which no other may follow.",
    "gate_code": "Kept off every shared page unless you ask for it.",
    "phone": "Kept off every shared page unless you ask for it.",
    "private_notes": "Kept off every shared page unless you ask for them.",
    "site": "The id of a site.",
    "kind": "The work. outyard kinds lists them.",
    "to": "In Jobs: the site that hives are moved to. In Drives: where the drive ends.",
    "not_before": "A date: not before that day.",
    "due_by": "A date: that day at the latest.",
    "promised": "The one day agreed with the landowner, in place of both.",
    "rank": "must, want or passing, and now where a colony's life hangs on it. Blank is want.",
    "from": "base, or the id of a site.",
    "minutes": "How long the drive takes.",
}


@dataclass(frozen=True)
class FarmRows:
    """What stands in a farm's tables, a mapping of columns for each row."""

    sites: Rows = ()
    jobs: Rows = ()
    drives: Rows = ()


def rows_of_csv(text: str) -> list[dict[str, Cell]]:
    """Return the rows of a CSV text in the forms that this program writes, dates and numbers as such."""
    return [{name: typed(name, cell) for name, cell in row.items()} for row in csv.DictReader(io.StringIO(text))]


def typed(column: str, cell: str) -> Cell:
    """Return the text of a column as what its cells hold: a date, a number, or the text where it is neither."""
    if not cell:
        return ""
    if column in DATES:
        return date(cell)
    return float(cell) if column in NUMBERS and _PLAIN.fullmatch(cell) else cell


def farm_workbook(rows: FarmRows, kinds: Sequence[str] = ()) -> bytes:
    """Return farm.xlsx with the sheets Sites, Jobs and Drives; `kinds` are the job kinds to choose from."""
    choices = tuple(kinds) or tuple(load_catalogue().job_kinds)

    def build(book: Workbook) -> None:
        looks = _Looks(book)
        site_sheet = _sheet(book, "Sites", sites.COLUMNS.known, rows.sites, looks)
        job_sheet = _sheet(book, "Jobs", jobs.COLUMNS.known, rows.jobs, looks)
        drive_sheet = _sheet(book, "Drives", drives.COLUMNS.known, rows.drives, looks)
        lists = _lists(book, choices)
        ids = f"=Sites!$A$2:$A${READY_ROWS + 1}"
        _choose(site_sheet, sites.COLUMNS.known, "last_of_day", ["yes", "no"])
        for column in ("site", "to"):
            _choose(job_sheet, jobs.COLUMNS.known, column, ids)
        _choose(job_sheet, jobs.COLUMNS.known, "kind", lists)
        _choose(job_sheet, jobs.COLUMNS.known, "rank", list(Rank))
        for column in ("from", "to"):
            _choose(drive_sheet, drives.COLUMNS.known, column, ids, only=False)

    return book_bytes(build)


class _Looks:
    """The formats of one workbook."""

    def __init__(self, book: Workbook) -> None:
        self.header: Format = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "num_format": "@"})
        self.text: Format = book.add_format({"num_format": "@", "valign": "top"})
        self.date: Format = book.add_format({"num_format": "yyyy-mm-dd", "align": "left", "valign": "top"})
        self.number: Format = book.add_format({"valign": "top"})

    def of(self, column: str) -> Format:
        if column in DATES:
            return self.date
        return self.number if column in NUMBERS else self.text


def _sheet(book: Workbook, title: str, columns: Sequence[str], rows: Rows, looks: _Looks) -> Worksheet:
    sheet = book.add_worksheet(title)
    sheet.freeze_panes(1, 1)
    sheet.set_landscape()
    sheet.set_paper(A4)
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
    for at, column in enumerate(columns):
        sheet.set_column(at, at, WIDTHS.get(column, USUAL_WIDTH), looks.of(column))
        sheet.write_string(0, at, column, looks.header)
        if column in NOTES:
            sheet.write_comment(0, at, NOTES[column], {"author": ""})
    for number, row in enumerate(rows, start=1):
        for at, column in enumerate(columns):
            _write(sheet, number, at, row.get(column, ""), looks.of(column))
    return sheet


def _write(sheet: Worksheet, row: int, column: int, cell: Cell, look: Format) -> None:
    if isinstance(cell, str):
        if cell:
            sheet.write_string(row, column, cell[:LONGEST_TEXT], look)
    elif isinstance(cell, dt.date):
        sheet.write_datetime(row, column, cell, look)
    else:
        sheet.write_number(row, column, cell, look)


def _lists(book: Workbook, kinds: Sequence[str]) -> str:
    """Write the job kinds on a sheet that is not shown, and return where: in a drop-down itself there is no room."""
    sheet = book.add_worksheet("Kinds")
    for row, kind in enumerate(kinds):
        sheet.write_string(row, 0, kind)
    sheet.hide()
    return f"=Kinds!$A$1:$A${max(1, len(kinds))}"


def _choose(
    sheet: Worksheet, columns: Sequence[str], column: str, source: str | list[str], *, only: bool = True
) -> None:
    """Give a column's cells a drop-down; where not `only` something else may be written too."""
    at = columns.index(column)
    told = {"validate": "list", "source": source, "ignore_blank": True}
    if not only:
        told |= {"show_error": False, "input_message": f"{BASE}, or the id of a site"}
    sheet.data_validation(1, at, READY_ROWS, at, told)
