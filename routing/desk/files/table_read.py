"""A table of the farm as it stands: its rows as they were written, and what is needed to change it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from routing.desk.files.changes import Change, NewRow, NotEditedError
from routing.desk.files.csv_bytes import Encoded, encoded
from routing.desk.files.csv_edit import CsvTable
from routing.desk.files.csv_edit import edited as csv_edited
from routing.desk.files.saving import content_of, digest_of
from routing.desk.files.xlsx_edit import IN_SPREADSHEET, SheetTable, why_not
from routing.desk.files.xlsx_edit import edited as sheet_edited
from routing.farm import drives, jobs, sites
from routing.farm.faults import Faults
from routing.farm.formulas import guarded
from routing.farm.plain_files import NOTHING, Instead
from routing.farm.sources import Sources
from routing.farm.tables import Columns, Row, Table
from routing.farm.tables_out import NUMBERS

COLUMNS: Mapping[str, Columns] = {"sites": sites.COLUMNS, "jobs": jobs.COLUMNS, "drives": drives.COLUMNS}
PLAIN_SIGNS = frozenset("0123456789 ()./-+")
"""What begins with a sign and is made of these alone is a number of some sort, and no formula."""


@dataclass(frozen=True)
class TableRead:
    """A table as it was read from one content of its file."""

    name: str
    file: str
    """What faults call it: `sites.csv`, or `farm.xlsx, Sites`."""
    path: Path
    content: bytes | None
    rows: tuple[Row, ...]
    header: tuple[str | None, ...]
    header_line: int
    delimiter: str
    part: str
    closed: str
    """Why it cannot be changed here, an empty text where it can."""

    @property
    def digest(self) -> str:
        """Return the digest of the file that it was read from."""
        return digest_of(self.content)

    @property
    def columns(self) -> tuple[str, ...]:
        """The known columns that the file has, in its order."""
        return tuple(name for name in self.header if name)

    @property
    def kept_columns(self) -> int:
        """How many columns of the farmer's own there are, which are kept and not read."""
        return sum(name is None for name in self.header)

    def edited(self, change: Change) -> bytes:
        """Return the file with a change made. Raises NotEditedError where that would lose something."""
        if self.closed:
            raise NotEditedError(f"{self.path.name} {self.closed}")
        if self.part:
            letters = self.rows[0].letters if self.rows else {}
            lines = tuple(row.line for row in self.rows)
            return sheet_edited(SheetTable(self.content or b"", self.part, letters, self.header_line, lines), change)
        text, header, header_line = self._text()
        table = CsvTable(text.text, self.delimiter or ",", header, header_line, tuple(row.line for row in self.rows))
        return text.bytes_of(csv_edited(table, change))

    def ready(self, change: Change) -> Change:
        """Return a change as it can be written here: no blank rows, no spaces around, nothing a formula.

        In a workbook new rows go to the end of the table, where there is room for them.
        """
        cells = {line: self._tidy(row) for line, row in change.cells.items()}
        added = (NewRow(self._tidy(row.cells), 0 if self.part else row.after) for row in change.added)
        return Change(cells, tuple(row for row in added if any(row.cells.values())), change.dropped)

    def _tidy(self, cells: Mapping[str, str]) -> dict[str, str]:
        return {name: text.strip() if self.part else _safe(name, text.strip()) for name, text in cells.items()}

    def _text(self) -> tuple[Encoded, tuple[str | None, ...], int]:
        if self.content:
            return encoded(self.content, self.path.name), self.header, self.header_line
        known = COLUMNS[self.name].known
        return Encoded((self.delimiter or ",").join(known) + "\n"), known, 1


def read_table(folder: Path, name: str, instead: Instead = NOTHING) -> TableRead:
    """Return a table of a farm folder as it stands, or as it would be with what is to be read instead."""
    faults = Faults()
    found = Sources(folder, faults, instead=instead).table(name, COLUMNS[name])
    if found is None:
        path = folder / f"{name}.csv"
        content = _content(path, instead)
        return TableRead(name, path.name, path, content, (), COLUMNS[name].known, 1, "", "", "")
    rows = tuple(found)
    path = folder / found.path_name
    closed = ""
    content = None
    try:
        content = _content(path, instead)
    except OSError as error:
        closed = f"cannot be read: {error.strerror or error}"
    if not closed:
        closed = _closed(found, path, content, faults, rows)
    return TableRead(
        name,
        found.file,
        path,
        content,
        rows,
        found.header,
        found.header_line,
        found.delimiter,
        found.sheet_part,
        closed,
    )


def _content(path: Path, instead: Instead) -> bytes | None:
    return instead[path] if path in instead else content_of(path)


def _closed(found: Table, path: Path, content: bytes | None, faults: Faults, rows: tuple[Row, ...]) -> str:
    if found.broken or faults.enough(found.file):
        told = next((fault for fault in faults.in_order(()) if not fault.warning), None)
        return f"cannot be read as a table ({told.what if told else 'it is broken'}): mend the file first"
    if path.suffix == ".csv":
        return ""
    if not found.sheet_part:
        return f"is an OpenDocument workbook, which is read but not written here: {IN_SPREADSHEET}"
    letters = rows[0].letters if rows else {}
    return why_not(SheetTable(content or b"", found.sheet_part, letters, found.header_line, ()))


def _safe(column: str, text: str) -> str:
    """Return a cell's text that no spreadsheet takes for a formula."""
    return text if column in {*NUMBERS, "place", "parking"} or set(text) <= PLAIN_SIGNS else guarded(text)
