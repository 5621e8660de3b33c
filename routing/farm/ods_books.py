"""OpenDocument spreadsheets read as tables of text: bounded, never calculated, every problem a fault by sheet and cell.

The library of pure Python that is kept up (odfdo) makes an object of every cell and had not read 5,000 rows after 100
seconds of a busy machine, where this takes 0.6 s of the processor. Others are not kept up, or end the process where a
cell is far away.
"""

from __future__ import annotations

import zipfile
from pathlib import Path

from routing.farm.faults import Faults
from routing.farm.ods_tables import OdsRow, OdsTable, ods_tables
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

CONTENT = "content.xml"


def ods_book(path: Path, parts: zipfile.ZipFile, faults: Faults) -> Book:
    """Return the workbook in the parts of a file. Raises NotASheetError, and what the zip reader raises."""
    tables: dict[str, OdsTable] = {}
    for table in ods_tables(parts.read(CONTENT)):
        tables.setdefault(table.title, table)
    return Book(path, by_plain_name(list(tables)), _read=lambda title: _sheet(path, tables[title], faults))


def _sheet(path: Path, table: OdsTable, faults: Faults) -> Sheet:
    """Return one sheet; what is not read of it is told."""
    file = sheet_file(path, table.title)
    rows: list[tuple[int, list[str]]] = []
    hidden: list[int] = []
    for row in table.rows:
        if row.first > MOST_ROWS:
            break
        for column, shown in row.errors:
            if column <= MOST_COLUMNS:
                tell_no_value(file, row.first, column, faults, shown)
        numbers = range(row.first, min(row.first + row.times, MOST_ROWS + 1))
        if texts := _texts(row):
            rows += [(number, texts) for number in numbers]
        hidden += numbers if row.hidden else ()
    tell_beyond(table.farthest, file, faults)
    tell_hidden(hidden, file, faults)
    return Sheet(file, path.name, rows, whole=table.farthest[0] <= MOST_ROWS)


def _texts(row: OdsRow) -> list[str]:
    """Return the texts of a row from the first column to the last that holds one."""
    texts: list[str] = []
    for first, times, text in row.cells:
        if first > MOST_COLUMNS:
            break
        texts += [""] * (first - 1 - len(texts))
        texts += [text] * min(times, MOST_COLUMNS + 1 - first)
    return texts
