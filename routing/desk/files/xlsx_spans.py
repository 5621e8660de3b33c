"""Where the rows and cells of a sheet stand in its XML, to the byte.

Source: ECMA-376 part 1, 18.3.1 (worksheet, sheetData, row, c, f, mergeCell).
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field
from xml.parsers import expat

from routing.desk.files.changes import NotEditedError
from routing.farm.workbook_facts import column_number

_PLACE = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6})")


@dataclass
class CellSpan:
    """One cell: its bytes, and the number of its style, empty where it has none."""

    start: int
    style: str
    end: int


@dataclass
class RowSpan:
    """One row: the start of its element, where its tag is over, where its cells are, its end, and the cells by column.

    A row that closes itself has no room for cells: `closed` is its `end`.
    """

    start: int
    opened: int
    closed: int = 0
    end: int = 0
    cells: dict[int, CellSpan] = field(default_factory=dict)


@dataclass
class SheetSpans:
    """The rows of a sheet by number, where its rows end, and what stands in the way of an edit."""

    rows: dict[int, RowSpan] = field(default_factory=dict)
    rows_end: int = 0
    merged: list[str] = field(default_factory=list)
    formula: str = ""
    """The first cell with a formula."""
    prefix: str = ""
    """The prefix of the elements' names, with its colon."""
    column_styles: list[tuple[int, int, str]] = field(default_factory=list)


def sheet_spans(xml: bytes) -> SheetSpans:
    """Return where everything stands. Raises NotEditedError where the XML is not the usual one in UTF-8."""
    if xml[:200].lower().find(b'encoding="utf-8"') < 0 and b"encoding=" in xml[:200]:
        raise NotEditedError("its sheet is not in UTF-8")
    reading = _Reading(xml)
    try:
        reading.parser.ParseFile(io.BytesIO(xml))
    except expat.ExpatError as error:
        raise NotEditedError(f"its sheet is broken: {expat.ErrorString(error.code)}") from error
    if not reading.spans.rows_end:
        raise NotEditedError("its sheet has no rows")
    return reading.spans


class _Reading:
    """Follows the elements of a sheet."""

    def __init__(self, xml: bytes) -> None:
        self.spans = SheetSpans()
        self.parser = expat.ParserCreate()
        self.parser.StartElementHandler = self._begin
        self.parser.EndElementHandler = self._end
        self._xml = xml
        self._row: RowSpan | None = None
        self._number, self._column = 0, 0

    def _tag_end(self) -> int:
        """Return where the tag that is read is over; no attribute of a row or a cell holds a greater-than sign."""
        return self._xml.index(b">", self.parser.CurrentByteIndex) + 1

    def _begin(self, name: str, told: dict[str, str]) -> None:
        prefix, _, short = name.rpartition(":")
        spans, at = self.spans, self.parser.CurrentByteIndex
        if short == "sheetData":
            spans.prefix = f"{prefix}:" if prefix else ""
            if self._closes_itself(self._tag_end()):
                raise NotEditedError("its sheet has no rows")
        elif short == "row":
            self._number = int(told.get("r", self._number + 1))
            self._column = 0
            self._row = RowSpan(at, self._tag_end())
            spans.rows[self._number] = self._row
        elif short == "c" and self._row is not None:
            found = _PLACE.fullmatch(told.get("r", ""))
            self._column = column_number(found[1]) if found else self._column + 1
            self._row.cells[self._column] = CellSpan(at, told.get("s", ""), self._tag_end())
        elif short == "f" and not spans.formula:
            spans.formula = f"row {self._number}"
        elif short == "mergeCell":
            spans.merged.append(told.get("ref", ""))
        elif short == "col":
            spans.column_styles.append((int(told["min"]), int(told["max"]), told.get("style", "")))

    def _end(self, name: str) -> None:
        short = name.rpartition(":")[2]
        at = self.parser.CurrentByteIndex
        if short == "c" and self._row is not None:
            cell = self._row.cells[self._column]
            cell.end = at if self._closes_itself(cell.end) else self._xml.index(b">", at) + 1
        elif short == "row" and self._row is not None:
            row, alone = self._row, self._closes_itself(self._row.opened)
            row.closed, row.end = at, at if alone else self._xml.index(b">", at) + 1
            self._row = None
        elif short == "sheetData":
            self.spans.rows_end = at

    def _closes_itself(self, tag_end: int) -> bool:
        return self._xml[tag_end - 2 : tag_end] == b"/>"
