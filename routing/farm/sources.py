"""Where each table of a farm folder stands: in a CSV file, a workbook of its own, or a sheet of the farm's workbook."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from routing.farm.faults import Faults, quoted
from routing.farm.models import TableNames
from routing.farm.plain_files import NOTHING, Instead, read_plain
from routing.farm.sheets import Book, Sheet, sheet_file
from routing.farm.tables import Columns, Table
from routing.farm.ways import ANY, Ways
from routing.farm.workbooks import open_book

TABLES = ("sites", "jobs", "drives")
FARM_BOOK = "farm.xlsx"
BOOK_ENDINGS = (".xlsx", ".ods")
FARM_BOOKS = tuple(f"farm{ending}" for ending in BOOK_ENDINGS)
BOOKS = (*FARM_BOOKS, *(f"{name}{ending}" for name in TABLES for ending in BOOK_ENDINGS))
"""The workbooks that a farm folder may have."""
NOT_READ = (".xls", ".xlsm", ".xlsb", ".fods", ".numbers", ".tsv")
"""Endings of spreadsheets that are not read, but told of where a table is missed."""
SAVE_AS = "save it as .xlsx or .ods, or as CSV UTF-8"
BOTH = 2


class Sources:
    """The tables of one farm folder, found and opened as they are asked for; faults are noted on the way."""

    def __init__(self, folder: Path, faults: Faults, ways: Ways = ANY, instead: Instead = NOTHING) -> None:
        """Look into the folder; nothing is opened but workbooks of the whole farm, where there are any."""
        self._instead = instead
        self.folder = folder
        self.ways = ways
        """How the farm's country writes dates and numbers."""
        self._faults = faults
        self._farm_books = [open_book(folder / name, faults, instead) for name in FARM_BOOKS if self._is_there(name)]
        self._files = {name: f"{name}.csv" for name in TABLES}
        self._names = {name: self._usual(name) for name in TABLES}

    @property
    def files(self) -> tuple[str, ...]:
        """What the faults of the tables name, in the order of the tables."""
        return tuple(self._files.values())

    @property
    def names(self) -> TableNames:
        """What sentences call the tables: where each stands, or would be looked for first by who wrote the others."""
        return TableNames(**self._names)

    def table(self, name: str, columns: Columns, missing: str = "") -> Table | None:
        """Return the table of a name, or None where the folder has none and need have none.

        `missing` says what to do where there is none; where it is empty there need not be one, and it may be empty.
        """
        found = self._standing(name)
        self._tell_odd(name, found)
        source = self._source(name, found)
        if source is None and missing:
            source = self.folder / f"{name}.csv"
        if source is None or (not missing and _nothing_in(source, self._instead)):
            return None
        table = Table(source, columns, self._faults, self._not_read(name) or missing, self._instead)
        self._files[name] = table.file
        self._names[name] = table.file if table.path_name in FARM_BOOKS else table.path_name
        return table

    def _tell_odd(self, name: str, found: Sequence[tuple[str, Path | Book]]) -> None:
        """Note a fault where a table stands twice, a warning where it may be in a file that is not read."""
        if len(found) > 1:
            places = [place for place, _ in found]
            listed = f"{', '.join(places[:-1])} and {places[-1]}"
            all_there = "both" if len(places) == BOTH else "all"
            what = f"{listed} are {all_there} there, and may say different things"
            self._faults.add(places[0], 0, what, f"keep one table of {name}")
        elif not found and (other := self._not_read(name)):
            self._faults.warn(other.partition(" is")[0], 0, "is not read", SAVE_AS)

    def _is_there(self, file: str) -> bool:
        return self.folder / file in self._instead or os.path.lexists(self.folder / file)

    def _usual(self, name: str) -> str:
        """Return where a table is to be written down that the folder does not have."""
        book = next(iter(self._farm_books), None)
        return f"{name}.csv" if book is None else f"{book.path.name}, {name.title()}"

    def _standing(self, name: str) -> list[tuple[str, Path | Book]]:
        """Return where the table stands: what the farmer knows it as, and the file or the workbook of the farm."""
        found: list[tuple[str, Path | Book]] = [
            (file, self.folder / file)
            for file in (f"{name}{ending}" for ending in (".csv", *BOOK_ENDINGS))
            if self._is_there(file)
        ]
        for book in self._farm_books:
            found += [(sheet_file(book.path, title), book) for title in book.titles.get(name, ())]
        return found

    def _source(self, name: str, found: Sequence[tuple[str, Path | Book]]) -> Path | Sheet | None:
        """Return what the table is read from: the first place where it stands."""
        if not found:
            broken = next(
                (book for book in self._farm_books if not book.whole), None
            )  # told; it may have held the table
            return None if broken is None else Sheet(broken.path.name, broken.path.name, whole=False)
        place = found[0][1]
        if isinstance(place, Book):
            return place.sheet(name)
        return (
            place if place.suffix == ".csv" else self._only_sheet(name, open_book(place, self._faults, self._instead))
        )

    def _only_sheet(self, name: str, book: Book) -> Sheet:
        """Return the sheet of a workbook that has one table: the one of the table's name, or its only one."""
        titles = book.every_title
        wanted = name if name in book.titles else next(iter(book.titles)) if len(titles) == 1 else ""
        sheet = book.sheet(wanted) if wanted else None
        if book.whole and (sheet is None or len(book.titles[wanted]) > 1):
            which = "more than one" if sheet else "none"
            listed = ", ".join(map(quoted, titles))
            what = f"has {len(titles)} sheets ({listed}), {which} of which is called {name.title()}"
            self._faults.add(book.path.name, 0, what, f"call the one with the table {name.title()}")
        return sheet or Sheet(book.path.name, book.path.name, whole=False)

    def _not_read(self, name: str) -> str:
        """Return what to say of a spreadsheet of another form that may hold the table, or an empty text."""
        names = (f"{stem}{ending}" for stem in (name, "farm") for ending in NOT_READ)
        other = next((file for file in names if self._is_there(file)), "")
        return f"{other} is not read: {SAVE_AS}" if other else ""


def _nothing_in(source: Path | Sheet, instead: Instead) -> bool:
    """Return whether there is no byte in a plain file, or no cell in a sheet; what size it tells is not asked."""
    if isinstance(source, Sheet):
        return source.whole and not source.rows
    try:
        return not read_plain(source, 0, instead)
    except OSError:
        return False
