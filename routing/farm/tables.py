"""Rows of CSV files and of sheets that remember where they stand.

The delimiter (comma, semicolon or tab) is the one that makes the most known column names out of the header. Columns
may stand in any order and their names in any case, with spaces, hyphens or underscores. Blank rows are skipped. The
header may stand below titles, and notes below the table. A sheet of a workbook gives the same rows.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from routing.farm.faults import Faults, nearest, plain, quoted
from routing.farm.headers import LOOKED_AT, is_note
from routing.farm.plain_files import NOTHING, Instead
from routing.farm.records import (
    Record,
    UnreadableError,
    delimiter_of,
    header_among,
    sheet_records,
    text_records,
)
from routing.farm.sheets import Sheet, column_letters
from routing.farm.texts import read_text
from routing.farm.unfit import UnfitError

MOST_ROWS = 20_000
MOST_COLUMNS = 200
"""A spreadsheet's stray columns stay below it."""


@dataclass(frozen=True)
class Columns:
    """The columns that a file may have, the ones it must have, and other names for some."""

    known: tuple[str, ...]
    required: tuple[str, ...] = ()
    also: Mapping[str, str] | None = None
    fewest: int = 0
    """How many cells a row needs, so that a single one below a blank row is a note; where 0, all that are required."""
    alone: frozenset[str] = frozenset()
    """Columns of which a cell may stand alone in a row."""

    @cached_property
    def _by_word(self) -> Mapping[str, str]:
        return {**(self.also or {}), **{plain(name): name for name in self.known}}

    def named(self, header: str) -> str | None:
        """Return the column that a header cell means, or None where there is no such."""
        return self._by_word.get(plain(header.lstrip("\ufeff")))  # a byte order mark, where files were joined

    def is_note(self, cells: list[str], names: tuple[str | None, ...]) -> bool:
        """Return whether a row may be a note below the table."""
        return is_note(cells, names, self.fewest or len(self.required)) and not any(
            cell and name in self.alone for cell, name in zip(cells, names, strict=False)
        )


@dataclass(frozen=True)
class Row:
    """One row: `cells` holds every known column that the file has, stripped of spaces around."""

    file: str
    line: int
    """Where the row starts, the first line of the file being 1; true also after cells of several lines."""
    cells: Mapping[str, str]
    letters: Mapping[str, str] = field(default_factory=dict)
    """The letter of each known column in a sheet of a workbook; none in a CSV file."""

    def place(self, column: str = "") -> str:
        """Return the cell of a column, such as C7, that of the first known column where none is named."""
        letter = self.letters.get(column) or next(iter(self.letters.values()), "")
        return f"{letter}{self.line}" if letter else ""


class Cells:
    """Takes typed values out of one row and notes a fault for each that is wrong."""

    def __init__(self, row: Row, faults: Faults) -> None:
        self.row = row
        self._faults = faults
        self._before = faults.stopping

    @property
    def ok(self) -> bool:
        """Whether no fault was noted since this row was begun."""
        return self._faults.stopping == self._before

    def raw(self, column: str) -> str:
        """Return the cell as it was written; empty where blank or where the file lacks the column."""
        return self.row.cells.get(column, "")

    def take[Value](self, column: str, parse: Callable[[str], Value], default: Value) -> Value:
        """Return the parsed cell; the default where it is blank or wrong, and wrong is noted."""
        cell = self.raw(column)
        if not cell:
            return default
        try:
            return parse(cell)
        except UnfitError as error:
            self.fault(f"{column} {quoted(cell)} {error}", column=column)
            return default

    def secret(self, column: str, parse: Callable[[str], str]) -> str:
        """Return the parsed cell as `take` does, but never show it in a fault."""
        try:
            return parse(self.raw(column))
        except UnfitError as error:
            self.fault(f"{column} {error}", column=column)
            return ""

    def required(self, column: str, parse: Callable[[str], str]) -> str:
        """Return the parsed cell; blank is a fault too."""
        if not self.raw(column):
            self.fault(f"{column} is missing", column=column)
        return self.take(column, parse, "")

    def fault(self, what: str, fix: str = "", column: str = "") -> None:
        """Note a fault on this row, in a column's cell where it is named."""
        self._faults.add(self.row.file, self.row.line, what, fix, self.row.place(column), column)

    def warn(self, what: str, fix: str = "", column: str = "") -> None:
        """Note a warning on this row, in a column's cell where it is named."""
        self._faults.warn(self.row.file, self.row.line, what, fix, self.row.place(column), column)


class Table:
    """The rows of one CSV file or sheet, read as they are asked for; faults are noted on the way."""

    def __init__(
        self,
        source: Path | Sheet,
        columns: Columns,
        faults: Faults,
        missing: str = "",
        instead: Instead = NOTHING,
    ) -> None:
        """Read the file, or what is to be read instead; `missing` says what to do where there is no such file."""
        self.file = source.file if isinstance(source, Sheet) else source.name
        self.path_name = source.path_name if isinstance(source, Sheet) else source.name
        """The name of the file, without that of the sheet."""
        self.broken = False
        """Whether some rows could not be read at all, so that what they hold is not known. True only after reading."""
        self.header: tuple[str | None, ...] = ()
        """The column at each position, None for one that is not known, empty for none. True only after reading."""
        self.header_line = 0
        self._columns = columns
        self._faults = faults
        self._in_notes = False
        self._letter = ""
        self.sheet_part = source.part if isinstance(source, Sheet) else ""
        """Where a sheet stands in its workbook; empty for a CSV file and where that is not known."""
        self._sheet = source if isinstance(source, Sheet) else None
        self._text = None if isinstance(source, Sheet) else read_text(source, faults, missing, instead)
        self.delimiter = "" if self._text is None else delimiter_of(self._text, columns.named)
        """What stands between the cells of a CSV file; empty for a sheet."""

    def __iter__(self) -> Iterator[Row]:
        """Yield each row that is not blank; stop with a fault where the rest cannot be read."""
        records = self._records()
        header = next(records, Record(0, [], after_blank=False))
        if not header.line and not self.broken:
            self._stop(0, "is empty", "the first row names the columns: " + ", ".join(self._columns.known))
        names = None if self.broken else self._names(header.cells, header.line)
        if names is None:
            self.broken = True
            return
        self.header, self.header_line = names, header.line
        for count, record in enumerate(records):
            if count == MOST_ROWS or self._faults.enough(self.file):
                self._stop(record.line, "has too many rows or faults: the rest was not read")
                return
            if not self._passed_over(record, names):
                yield self._row(record.cells, names, record.line)

    def place(self, line: int) -> str:
        """Return the cell of a row that was read that stands for it, such as A7; empty where there is no sheet."""
        return f"{self._letter}{line}" if self._letter else ""

    def _passed_over(self, record: Record, names: tuple[str | None, ...]) -> bool:
        """Return whether a row is a note below the table, the first or one more, which is then told."""
        follows = record.after_blank or self._in_notes
        self._in_notes = follows and self._columns.is_note(record.cells, names)
        if self._in_notes:
            self._not_read(record, "below the table was taken for a note and not read")
        return self._in_notes

    def _not_read(self, record: Record, why: str) -> None:
        """Note a warning at the first cell of a row that is not read."""
        at, text = next((at, cell) for at, cell in enumerate(record.cells, start=1) if cell)
        cell = f"{column_letters(at)}{record.line}" if self._sheet is not None else ""
        self._faults.warn(self.file, record.line, f"{quoted(text)} {why}", cell=cell)

    def _stop(self, line: int, what: str, fix: str = "") -> None:
        self.broken = True
        self._faults.add(self.file, line, what, fix)

    def _records(self) -> Iterator[Record]:
        """Yield the header, then each row that is not blank; a broken quote ends the reading."""
        if self._sheet is not None:
            yield from self._from_header(sheet_records(self._sheet))
            self.broken = self.broken or not self._sheet.whole
        elif self._text is None:
            self.broken = True
        else:
            try:
                yield from self._from_header(text_records(self._text, self.delimiter))
            except UnreadableError as error:
                self._stop(error.line, f"cannot be read from here on: {error}", 'look for a stray or missing " sign')

    def _from_header(self, records: Iterator[Record]) -> Iterator[Record]:
        """Yield the header, which may stand below titles, and then the rows after it."""
        first: list[Record] = []
        cut: UnreadableError | None = None
        try:
            first.extend(itertools.islice(records, LOOKED_AT))
        except UnreadableError as error:
            cut = error  # told after the rows before it
        at, header = header_among(first, self._columns.named)
        if first:
            for record in first[:at]:
                filled = [cell for cell in record.cells if cell]
                if len(filled) > 1 and not any(map(self._columns.named, filled)):
                    self._not_read(record, "and what else is in this row above the header was not read")
            yield Record(first[at].line, header, after_blank=False)
            yield from first[at + 1 :]
        if cut is not None:
            raise cut
        yield from records

    def _names(self, header: list[str], line: int) -> tuple[str | None, ...] | None:
        """Return the column of each position, None where it is passed over, or None where the header has faults.

        A position without a name is the empty text.
        """
        names: list[str | None] = []
        before = self._faults.stopping
        if len(header) > MOST_COLUMNS:
            self._faults.add(self.file, line, f"has {len(header):,} columns", f"at most {MOST_COLUMNS} are read")
            return None
        unknown = [cell for cell in header if cell and self._columns.named(cell) is None]
        for cell in header:
            name = self._columns.named(cell)
            if name is not None and name in names:
                self._faults.add(self.file, line, f"has the column {quoted(name)} twice")
            names.append(name if cell else "")
        for cell in unknown:
            hint = nearest(cell, [known for known in self._columns.known if known not in names])
            self._faults.warn(self.file, line, f"the column {quoted(cell)} is not known and was not read", hint)
        for required in self._columns.required:
            if required not in names:
                self._faults.add(self.file, line, f"has no column {quoted(required)}", nearest(required, unknown))
        return tuple(names) if self._faults.stopping == before else None

    def _row(self, cells: list[str], names: tuple[str | None, ...], line: int) -> Row:
        """Return the row; cells beyond the header or under a position without a name must be blank."""
        padded = [*names, *[""] * (len(cells) - len(names))]
        if self._sheet is not None:
            return self._sheet_row(cells, padded, line)
        stray = [cell for name, cell in zip(padded, cells, strict=False) if name == "" and cell]
        if stray:
            columns = sum(name != "" for name in names)
            what = f"has {len(cells)} cells for {columns} columns: {quoted(stray[0])} stands in no column"
            self._faults.add(self.file, line, what, "put a text that holds the separator in quotes")
        return Row(self.file, line, {name: cell for name, cell in zip(padded, cells, strict=False) if name})

    def _sheet_row(self, cells: list[str], padded: list[str | None], line: int) -> Row:
        """Return the row of a sheet; what stands beside the table is told and not read."""
        for at, (name, cell) in enumerate(zip(padded, cells, strict=False), start=1):
            if name == "" and cell:
                what = f"{quoted(cell)} stands in no column and was not read"
                self._faults.warn(self.file, line, what, cell=f"{column_letters(at)}{line}")
        self._letter = next((column_letters(at) for at, name in enumerate(padded, 1) if name), "")
        values = {name: cell for name, cell in zip(padded, cells, strict=False) if name}
        return Row(self.file, line, values, {name: column_letters(at) for at, name in enumerate(padded, 1) if name})
