"""Workbooks read as tables of text: bounded, never calculated, every problem a fault by sheet and cell."""

from __future__ import annotations

import warnings
import zipfile
import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from routing import farm
from routing.farm.faults import Faults, plain, quoted
from routing.farm.workbook_cells import cell_text
from routing.farm.workbook_facts import NotASheetError, SheetFacts, column_letters, sheet_facts
from routing.farm.workbook_zip import NotOpenedError, workbook_parts

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell, MergedCell
    from openpyxl.workbook.workbook import Workbook
    from openpyxl.worksheet._read_only import ReadOnlyWorksheet

MOST_ROWS, MOST_COLUMNS = 25_000, 200
"""Cells beyond are named and not read; a table of a farm stays below both."""
MOST_NAMED = 12
"""So many hidden rows are named one by one."""

BROKEN = (
    *(ArithmeticError, AttributeError, EOFError, LookupError, MemoryError, OSError, RuntimeError, SyntaxError),
    *(TypeError, ValueError, zipfile.BadZipFile, zlib.error),
)
"""What the library and the XML readers raise on parts that are broken or made to break them."""


@dataclass(frozen=True)
class Sheet:
    """One sheet as rows of text. `file` names the file and the sheet as faults do: `farm.xlsx, Jobs`."""

    file: str
    path_name: str
    rows: Sequence[tuple[int, list[str]]] = ()
    """The number of each row that is not blank, and its cells."""
    whole: bool = True
    """False where some of it could not be read."""


@dataclass(frozen=True)
class Book:
    """The sheets of a workbook by their plain names; `whole` is False where it could not be opened."""

    path: Path
    names: Mapping[str, str] = field(default_factory=dict)
    """The sheets' names as written, by the names that are compared; sheets of charts are not in it."""
    whole: bool = True
    _read: Callable[[str], Sheet] | None = None

    def sheet(self, name: str) -> Sheet | None:
        """Return the sheet of a plain name, read now, or None where there is none."""
        return self._read(self.names[name]) if self._read and name in self.names else None


def open_book(path: Path, faults: Faults) -> Book:
    """Return the workbook at a path; where it cannot be read a fault is noted, and it has no sheets."""
    try:
        parts = workbook_parts(path)
        for name in parts.namelist():
            if name.lower().endswith((".xml", ".rels")):
                _no_document_type(parts.read(name))
        book = farm.workbook_open.loaded(parts)
    except NotOpenedError as error:
        faults.add(path.name, 0, str(error), error.fix)
        return Book(path, whole=False)
    except BROKEN:
        faults.add(
            path.name, 0, "is broken: it cannot be read as a workbook", "open it in a spreadsheet and save it again"
        )
        return Book(path, whole=False)
    names = {plain(sheet.title): sheet.title for sheet in book.worksheets}
    return Book(path, names, _read=lambda title: _sheet(path, parts, book, title, faults))


def _no_document_type(content: bytes) -> None:
    """Raise NotOpenedError where a part declares a document type or entities, as no part of a workbook does."""
    if (
        b"<!DOCTYPE" in content
        or b"<!ENTITY" in content
        or content.startswith((b"\xff\xfe", b"\xfe\xff", b"<\x00", b"\x00<"))
    ):
        raise NotOpenedError("holds a part that is no XML of a workbook")


def _sheet(path: Path, parts: zipfile.ZipFile, book: Workbook, title: str, faults: Faults) -> Sheet:
    """Return one sheet; what is not read of it is told."""
    file = f"{path.name}, {quoted(title)[1:-1]}"
    try:
        sheet: ReadOnlyWorksheet = book[title]
        with parts.open(_part_of(sheet)) as part:
            facts = sheet_facts(part, MOST_COLUMNS)
        rows = _rows(sheet, facts, file, faults)
    except NotASheetError as error:
        faults.add(file, 0, str(error), "copy its table into a new workbook")
        return Sheet(file, path.name, whole=False)
    except BROKEN:
        faults.add(file, 0, "is broken: it cannot be read", "open it in a spreadsheet and save it again")
        return Sheet(file, path.name, whole=False)
    _tell_beyond(facts, file, faults)
    if facts.hidden:
        named = ", ".join(map(str, facts.hidden[:MOST_NAMED]))
        more = f" and {len(facts.hidden) - MOST_NAMED} more" if len(facts.hidden) > MOST_NAMED else ""
        word = "row is" if len(facts.hidden) == 1 else "rows are"
        faults.warn(file, 0, f"hidden {word} read like any other: {named}{more}", "delete what is not meant")
    return Sheet(file, path.name, rows, whole=facts.farthest[0] <= MOST_ROWS)


def _part_of(sheet: ReadOnlyWorksheet) -> str:
    """Return the name of a sheet's part, which the library tells nowhere else."""
    return str(sheet._worksheet_path)  # type: ignore[attr-defined]  # noqa: SLF001


def _rows(sheet: ReadOnlyWorksheet, facts: SheetFacts, file: str, faults: Faults) -> list[tuple[int, list[str]]]:
    """Return the rows that hold something, their numbers with them, up to the last row and column that are read."""
    last = max((row for row in facts.filled if row <= MOST_ROWS), default=0)
    if not last:
        return []
    widest = min(facts.farthest[1], MOST_COLUMNS)
    rows = []
    sheet.reset_dimensions()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        read = sheet.iter_rows(max_row=last, max_col=widest)  # type: ignore[misc]  # the stub's self is another class
        for number, cells in enumerate(read, start=1):
            if number not in facts.filled:
                continue
            texts = [_text(cell, number, at, facts, file, faults) for at, cell in enumerate(cells, start=1)]
            while texts and not texts[-1]:
                texts.pop()
            if texts:
                rows.append((number, texts))
    return rows


def _text(cell: Cell | MergedCell, row: int, column: int, facts: SheetFacts, file: str, faults: Faults) -> str:
    """Return a cell's text; a formula without a value, or with an error for one, is a fault."""
    if (row, column) in facts.unreckoned:
        fix = "open it in a spreadsheet and save it, or write the value"
        faults.add_unread(file, row, "is a formula without a value", fix, f"{column_letters(column)}{row}")
        return ""
    if getattr(cell, "data_type", "") == "e":
        what = f"is an error of a formula: {quoted(str(cell.value))}"
        faults.add_unread(file, row, what, "mend the formula, or write the value", f"{column_letters(column)}{row}")
        return ""
    return cell_text(cell)


def _tell_beyond(facts: SheetFacts, file: str, faults: Faults) -> None:
    row, column = facts.farthest
    if row > MOST_ROWS:
        what = f"has a cell in row {row:,}, and rows after {MOST_ROWS:,} are not read"
        faults.add(file, 0, what, "delete what stands below the table")
    if column > MOST_COLUMNS:
        far, last = column_letters(column), column_letters(MOST_COLUMNS)
        what = f"has a cell in column {far}, and columns after {last} are not read"
        faults.add(file, 0, what, "delete what stands beside the table")
