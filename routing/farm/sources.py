"""Where each table of a farm folder stands: in a CSV file, a workbook of its own, or a sheet of farm.xlsx."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from routing.farm.faults import Faults, quoted
from routing.farm.plain_files import read_plain
from routing.farm.tables import Columns, Table
from routing.farm.ways import ANY, Ways
from routing.farm.workbooks import Book, Sheet, open_book

TABLES = ("sites", "jobs", "drives")
FARM_BOOK = "farm.xlsx"
BOOKS = (FARM_BOOK, *(f"{name}.xlsx" for name in TABLES))
"""The workbooks that a farm folder may have."""
NOT_READ = (".xls", ".xlsm", ".xlsb", ".ods", ".numbers", ".tsv")
SAVE_AS = "save it as .xlsx, or as CSV UTF-8"
"""Endings of spreadsheets that are not read, but told of where a table is missed."""


class Sources:
    """The tables of one farm folder, found and opened as they are asked for; faults are noted on the way."""

    def __init__(self, folder: Path, faults: Faults, ways: Ways = ANY) -> None:
        """Look into the folder; nothing is opened but the workbook of the farm, where there is one."""
        self.folder = folder
        self.ways = ways
        """How the farm's country writes dates and numbers."""
        self._faults = faults
        self._farm_book = open_book(folder / FARM_BOOK, faults) if self._is_there(FARM_BOOK) else None
        self._files = {name: f"{name}.csv" for name in TABLES}

    @property
    def files(self) -> tuple[str, ...]:
        """What the faults of the tables name, in the order of the tables."""
        return tuple(self._files.values())

    def table(self, name: str, columns: Columns, missing: str = "") -> Table | None:
        """Return the table of a name, or None where the folder has none and need have none.

        `missing` says what to do where there is none; where it is empty there need not be one, and it may be empty.
        """
        found = self._standing(name)
        self._tell_odd(name, found)
        source = self._source(name, found)
        if source is None and missing:
            source = self.folder / f"{name}.csv"
        if source is None or (not missing and _nothing_in(source)):
            return None
        table = Table(source, columns, self._faults, self._not_read(name) or missing)
        self._files[name] = table.file
        return table

    def _tell_odd(self, name: str, found: Sequence[str]) -> None:
        """Note a fault where a table stands twice, a warning where it may be in a file that is not read."""
        if len(found) > 1:
            what = f"{' and '.join(found)} are both there, and may say different things"
            self._faults.add(found[0], 0, what, f"keep one table of {name}")
        elif not found and (other := self._not_read(name)):
            self._faults.warn(other.partition(" is")[0], 0, "is not read", SAVE_AS)

    def _is_there(self, file: str) -> bool:
        return os.path.lexists(self.folder / file)

    def _standing(self, name: str) -> list[str]:
        """Return where the table stands, each as the farmer knows it."""
        found = [file for file in (f"{name}.csv", f"{name}.xlsx") if self._is_there(file)]
        if self._farm_book is not None and name in self._farm_book.names:
            found.append(f"{FARM_BOOK}, {self._farm_book.names[name]}")
        return found

    def _source(self, name: str, found: Sequence[str]) -> Path | Sheet | None:
        """Return what the table is read from: the first place where it stands."""
        if not found:
            broken = self._farm_book is not None and not self._farm_book.whole  # told, and it may have held the table
            return Sheet(FARM_BOOK, FARM_BOOK, whole=False) if broken else None
        if found[0] == f"{name}.csv":
            return self.folder / found[0]
        if found[0] == f"{name}.xlsx":
            return self._only_sheet(name, open_book(self.folder / found[0], self._faults))
        return self._farm_book.sheet(name) if self._farm_book is not None else None

    def _only_sheet(self, name: str, book: Book) -> Sheet:
        """Return the sheet of a workbook that has one table: the one of the table's name, or its only one."""
        wanted = name if name in book.names else next(iter(book.names), "") if len(book.names) == 1 else ""
        sheet = book.sheet(wanted) if wanted else None
        if sheet is None and book.whole:
            titles = ", ".join(quoted(title) for title in book.names.values())
            what = f"has {len(book.names)} sheets ({titles}), none of which is called {name.title()}"
            self._faults.add(book.path.name, 0, what, f"call the one with the table {name.title()}")
        return sheet or Sheet(book.path.name, book.path.name, whole=False)

    def _not_read(self, name: str) -> str:
        """Return what to say of a spreadsheet of another form that may hold the table, or an empty text."""
        names = (f"{stem}{ending}" for stem in (name, "farm") for ending in NOT_READ)
        other = next((file for file in names if self._is_there(file)), "")
        return f"{other} is not read: {SAVE_AS}" if other else ""


def _nothing_in(source: Path | Sheet) -> bool:
    """Return whether there is no byte in a plain file, or no cell in a sheet; what size it tells is not asked."""
    if isinstance(source, Sheet):
        return source.whole and not source.rows
    try:
        return not read_plain(source, 0)
    except OSError:
        return False
