"""Workbooks read as tables of text: bounded, never calculated, every problem a fault by sheet and cell."""

from __future__ import annotations

import warnings
import zipfile
import zlib
from pathlib import Path
from typing import TYPE_CHECKING

from routing import farm
from routing.farm.faults import Faults
from routing.farm.ods_books import ods_book
from routing.farm.plain_files import NOTHING, Instead
from routing.farm.sheets import (
    MOST_COLUMNS,
    MOST_ROWS,
    Book,
    Sheet,
    by_plain_name,
    sheet_file,
    tell_beyond,
    tell_hidden,
    tell_no_value,
)
from routing.farm.workbook_cells import cell_text
from routing.farm.workbook_facts import NotASheetError, SheetFacts, sheet_facts
from routing.farm.workbook_zip import ODS_ENDING, NotOpenedError, workbook_parts

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell, MergedCell
    from openpyxl.workbook.workbook import Workbook
    from openpyxl.worksheet._read_only import ReadOnlyWorksheet

BROKEN = (
    *(ArithmeticError, AttributeError, EOFError, LookupError, MemoryError, OSError, RuntimeError, SyntaxError),
    *(TypeError, ValueError, zipfile.BadZipFile, zlib.error),
)
"""What the library and the XML readers raise on parts that are broken or made to break them."""
COPY = "copy its table into a new workbook"


def open_book(path: Path, faults: Faults, instead: Instead = NOTHING) -> Book:
    """Return the workbook at a path; where it cannot be read a fault is noted, and it has no sheets."""
    try:
        parts = workbook_parts(path, instead)
        if path.suffix.lower() == ODS_ENDING:
            return ods_book(path, parts, faults)
        for name in parts.namelist():
            if name.lower().endswith((".xml", ".rels")):
                _no_document_type(parts.read(name))
        book = farm.workbook_open.loaded(parts)
    except NotOpenedError as error:
        faults.add(path.name, 0, str(error), error.fix)
        return Book(path, whole=False)
    except NotASheetError as error:
        faults.add(path.name, 0, str(error), COPY)
        return Book(path, whole=False)
    except BROKEN:
        faults.add(
            path.name, 0, "is broken: it cannot be read as a workbook", "open it in a spreadsheet and save it again"
        )
        return Book(path, whole=False)
    titles = by_plain_name([sheet.title for sheet in book.worksheets])
    return Book(path, titles, _read=lambda title: _sheet(path, parts, book, title, faults))


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
    file = sheet_file(path, title)
    try:
        sheet: ReadOnlyWorksheet = book[title]
        with parts.open(_part_of(sheet)) as part:
            facts = sheet_facts(part, MOST_COLUMNS)
        rows = _rows(sheet, facts, file, faults)
    except NotASheetError as error:
        faults.add(file, 0, str(error), COPY)
        return Sheet(file, path.name, whole=False)
    except BROKEN:
        faults.add(file, 0, "is broken: it cannot be read", "open it in a spreadsheet and save it again")
        return Sheet(file, path.name, whole=False)
    tell_beyond(facts.farthest, file, faults)
    tell_hidden(facts.hidden, file, faults)
    return Sheet(file, path.name, rows, whole=facts.farthest[0] <= MOST_ROWS, part=_part_of(sheet))


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
        tell_no_value(file, row, column, faults)
        return ""
    if getattr(cell, "data_type", "") == "e":
        tell_no_value(file, row, column, faults, str(cell.value))
        return ""
    return cell_text(cell)
