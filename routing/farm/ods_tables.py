"""The tables in the content of an OpenDocument spreadsheet, followed element by element and kept as short as written.

A cell or row that stands for a million is kept once with how many there are, so that nothing unfolds here.
Source: OpenDocument 1.3 part 3, 9.1 (tables, rows, cells and how often each is repeated), 6.1 (text).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from io import BytesIO
from xml.parsers import expat

from routing.farm.ods_cells import OFFICE, TABLE, error_of, value_text
from routing.farm.workbook_facts import LAST_COLUMN, LAST_ROW, NotASheetError

TEXT = "urn:oasis:names:tc:opendocument:xmlns:text:1.0"
ROW = f"{TABLE} table-row"
CELLS = frozenset({f"{TABLE} table-cell", f"{TABLE} covered-table-cell"})
AROUND_ROWS = frozenset({f"{TABLE} table-rows", f"{TABLE} table-header-rows", f"{TABLE} table-row-group"})
SIGNS = {f"{TEXT} tab": "\t", f"{TEXT} line-break": "\n"}
WITHIN_TEXT = frozenset({f"{TEXT} span", f"{TEXT} a", f"{TEXT} s", *SIGNS})
NOT_SHOWN = frozenset({"collapse", "filter"})
OUTERMOST = 3
"""The document, its body and the spreadsheet in it."""
DEEPEST = 100
MOST_SPACES = 100
"""So many spaces in a row are read as they are; a text of more is none that a person wrote."""
LONGEST_CELL = 40_000
"""Characters; programs that write sheets end at 32,767."""
_BREAKS = re.compile(r"[\t\r\n]+")
_TIMES = re.compile(r"[1-9][0-9]{0,6}")


@dataclass
class OdsRow:
    """A row that holds something, and how often it stands there."""

    first: int
    times: int
    hidden: bool
    cells: list[tuple[int, int, str]] = field(default_factory=list)
    """The first column of each text, in how many columns it stands, and the text."""
    errors: list[tuple[int, str]] = field(default_factory=list)
    """The column of each formula without a value, and the error that it shows, if any."""


@dataclass
class OdsTable:
    """One sheet."""

    title: str
    rows: list[OdsRow] = field(default_factory=list)
    linked: bool = False
    """Whether it is a copy of a sheet in another file, which no person sees."""

    @property
    def farthest(self) -> tuple[int, int]:
        """The last row and the last column that hold something."""
        last = max((row.first + row.times - 1 for row in self.rows), default=0)
        widest = max((first + times - 1 for row in self.rows for first, times, _ in row.cells), default=0)
        return last, widest


def ods_tables(content: bytes) -> list[OdsTable]:
    """Return the sheets of a spreadsheet. Raises NotASheetError where it is broken, or larger than any sheet."""
    reading = _Reading()
    try:
        reading.parser.ParseFile(BytesIO(content))
    except expat.ExpatError as error:
        raise NotASheetError(f"is broken: {expat.ErrorString(error.code)}") from error
    return [table for table in reading.tables if not table.linked]


class _Reading:
    """Follows the elements of the content."""

    def __init__(self) -> None:
        self.tables: list[OdsTable] = []
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self._begin
        self.parser.EndElementHandler = self._end
        self.parser.StartDoctypeDeclHandler = self._doctype
        self._names: list[str] = []
        self._passed_over = 0
        """How deep the element is within which nothing is read, 0 where there is none."""
        self._row = OdsRow(0, 0, hidden=False)
        self._column = self._times = 0
        self._told: dict[str, str] = {}
        self._shown: list[str] | None = None
        self._long = 0

    def _doctype(self, *_told: object) -> None:
        raise NotASheetError("declares a document type, which no sheet does")

    def _begin(self, name: str, told: dict[str, str]) -> None:
        around = self._names[-1] if self._names else ""
        self._names.append(name)
        if len(self._names) > DEEPEST:
            raise NotASheetError("is nested more deeply than any sheet")
        if not self._passed_over and not (self._text(name, around, told) or self._part(name, around, told)):
            self._passed_over = len(self._names)

    def _part(self, name: str, around: str, told: dict[str, str]) -> bool:
        """Begin a table, a row or a cell; return whether the element is one, or may hold one."""
        if name == f"{TABLE} table" and around == f"{OFFICE} spreadsheet":
            self.tables.append(OdsTable(told.get(f"{TABLE} name", "")))
            self._row = OdsRow(0, 1, hidden=False)
        elif name == ROW and (around == f"{TABLE} table" or around in AROUND_ROWS):
            self._begin_row(told)
        elif name in CELLS and around == ROW:
            self._column += self._times
            self._times, self._told, self._shown, self._long = _times(told, "number-columns-repeated"), told, None, 0
        elif name == f"{TABLE} table-source" and around == f"{TABLE} table":
            self.tables[-1].linked = True
        elif name in AROUND_ROWS:
            return around == f"{TABLE} table" or around in AROUND_ROWS
        else:
            return name.startswith(f"{OFFICE} ") and len(self._names) <= OUTERMOST
        return True

    def _begin_row(self, told: dict[str, str]) -> None:
        hidden = told.get(f"{TABLE} visibility") in NOT_SHOWN
        self._row = OdsRow(self._row.first + self._row.times, _times(told, "number-rows-repeated"), hidden)
        self._column, self._times = 1, 0

    def _text(self, name: str, around: str, told: dict[str, str]) -> bool:
        """Take what an element adds to the text of a cell; return whether it is a part of such a text."""
        if name == f"{TEXT} p" and around in CELLS:
            if self._shown is None:
                self._shown = []
            else:
                self._add("\n")
            self.parser.CharacterDataHandler = self._characters
            return True
        if self._shown is None or name not in WITHIN_TEXT:
            return False
        if name == f"{TEXT} s":
            self._add(" " * min(MOST_SPACES, _number(told.get(f"{TEXT} c", "1"))))
        else:
            self._add(SIGNS.get(name, ""))
        return True

    def _characters(self, text: str) -> None:
        if not self._passed_over:
            self._add(_BREAKS.sub(" ", text))

    def _add(self, text: str) -> None:
        self._long += len(text)
        if self._long > LONGEST_CELL:
            raise NotASheetError(f"has a cell of more than {LONGEST_CELL:,} characters")
        if self._shown is not None:
            self._shown.append(text)

    def _end(self, name: str) -> None:
        deep = len(self._names)
        self._names.pop()
        if self._passed_over:
            self._passed_over = 0 if self._passed_over == deep else self._passed_over
        elif name == f"{TEXT} p":
            self.parser.CharacterDataHandler = None
        elif name in CELLS:
            self._end_cell()
        elif name == ROW and (self._row.cells or self._row.errors):
            if self._row.first + self._row.times - 1 > LAST_ROW:
                raise NotASheetError("has more rows than any sheet")
            self.tables[-1].rows.append(self._row)

    def _end_cell(self) -> None:
        shown = None if self._shown is None else "".join(self._shown)
        self._shown = None
        error = error_of(self._told, shown)
        text = "" if error is not None else value_text(self._told, shown)
        if not text and error is None:
            return
        if self._column + self._times - 1 > LAST_COLUMN:
            raise NotASheetError("has more columns than any sheet")
        if error is not None:
            self._row.errors.append((self._column, error))
        else:
            self._row.cells.append((self._column, self._times, text))


def _times(told: dict[str, str], name: str) -> int:
    return _number(told.get(f"{TABLE} {name}", "1"))


def _number(text: str) -> int:
    """Return how often something stands there. Raises NotASheetError."""
    if not _TIMES.fullmatch(text):
        raise NotASheetError("repeats a cell or a row as often as no sheet does")
    return int(text)
