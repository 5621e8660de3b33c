"""Changing cells of a sheet inside its workbook: every other part and every other cell keeps its bytes.

A workbook is not taken apart and written anew, which would lose its drawings, notes and what a library does not know.
Where a change would leave something in it untrue (formulas, which only a spreadsheet reckons), it is refused instead.
Source: ECMA-376 part 1, 18.3.1.4 (c), 18.18.11 (inlineStr), 18.8.30 (number formats).
"""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from xml.parsers import expat
from xml.sax.saxutils import escape

from routing.desk.files.changes import Change, NotEditedError
from routing.desk.files.xlsx_spans import RowSpan, SheetSpans, sheet_spans
from routing.farm.sheets import column_letters
from routing.farm.tables_out import DATES, NUMBERS
from routing.farm.workbook_cells import number_text
from routing.farm.workbook_facts import column_number

IN_SPREADSHEET = "edit it in your spreadsheet; this page reads it again as soon as it is saved"
_BUILT_IN_DATES = {str(code) for code in (*range(14, 23), 45, 46, 47)}
_PLAIN = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,12})?")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_XML_CANNOT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
_DAY_ZERO = dt.date(1899, 12, 30)
"""Day 0 of the serial days from March 1900 on."""


@dataclass(frozen=True)
class SheetTable:
    """A workbook with one sheet that is a farm's table."""

    content: bytes
    part: str
    """The name of the sheet's part."""
    letters: Mapping[str, str]
    """The letter of each known column."""
    header_line: int
    rows: tuple[int, ...]


def edited(table: SheetTable, change: Change) -> bytes:
    """Return the workbook with a change made. Raises NotEditedError where that would lose or spoil something."""
    archive = zipfile.ZipFile(io.BytesIO(table.content))
    _require_plain(archive)
    xml = archive.read(table.part)
    date_styles = _date_styles(archive)
    new = _Edit(table, xml, date_styles).xml_with(change)
    return _with_part(archive, table.part, new)


def why_not(table: SheetTable) -> str:
    """Return why a workbook's table is not edited here, an empty text where it is."""
    try:
        archive = zipfile.ZipFile(io.BytesIO(table.content))
        _require_plain(archive)
        sheet_spans(archive.read(table.part))
    except NotEditedError as error:
        return str(error)
    return ""


def _require_plain(archive: zipfile.ZipFile) -> None:
    names = [name.lower() for name in archive.namelist()]
    if any(name.startswith("_xmlsignatures/") for name in names):
        raise NotEditedError(f"is signed, and a change would break that: {IN_SPREADSHEET}")
    if any(name.startswith(("xl/pivottables/", "xl/pivotcache/")) for name in names):
        raise NotEditedError(f"holds a pivot table, which only a spreadsheet makes anew: {IN_SPREADSHEET}")
    for name in archive.namelist():
        is_sheet = name.lower().startswith("xl/worksheets/") and name.lower().endswith(".xml")
        if is_sheet and (formula := sheet_spans(archive.read(name)).formula):
            raise NotEditedError(f"holds formulas ({formula}), which only a spreadsheet reckons: {IN_SPREADSHEET}")


class _Edit:
    """One change of a sheet's XML on its way."""

    def __init__(self, table: SheetTable, xml: bytes, date_styles: frozenset[str]) -> None:
        self._table = table
        self._xml = xml
        self._dates = date_styles
        self._spans: SheetSpans = sheet_spans(xml)
        self._pieces: list[tuple[int, int, bytes]] = []
        self._wide = max((column_number(letter) for letter in table.letters.values()), default=1)

    def xml_with(self, change: Change) -> bytes:
        """Return the sheet with all of the change made.

        Raises NotEditedError where it cannot be written into.
        """
        if change.added and self._spans.merged:
            raise NotEditedError(f"has merged cells, so no row can be added: {IN_SPREADSHEET}")
        for line, cells in change.cells.items():
            if line not in change.dropped:
                self._set(line, {self._column(column): (column, text) for column, text in cells.items()})
        for line in change.dropped:
            row = self._spans.rows.get(line)
            self._set(line, dict.fromkeys(row.cells if row else (), ("", "")))
        last = max(self._table.rows, default=self._table.header_line)
        for number, new in enumerate(change.added, start=last + 1):
            self._require_free(number)
            self._set(number, {self._column(name): (name, text) for name, text in new.cells.items() if text})
        out, done = [], 0
        for start, end, piece in sorted(self._pieces, key=lambda piece: piece[:2]):
            out += [self._xml[done:start], piece]
            done = end
        return b"".join([*out, self._xml[done:]])

    def _column(self, name: str) -> int:
        if name not in self._table.letters:
            raise NotEditedError(f"has no column {name}: write its name above an empty column in your spreadsheet")
        return column_number(self._table.letters[name])

    def _require_free(self, number: int) -> None:
        row = self._spans.rows.get(number)
        if row is not None and any(b"<" in self._xml[cell.start + 1 : cell.end] for cell in row.cells.values()):
            raise NotEditedError(f"has no free row below its table (row {number}): {IN_SPREADSHEET}")

    def _set(self, line: int, cells: Mapping[int, tuple[str, str]]) -> None:
        for column in cells:
            if place := self._merged_at(line, column):
                raise NotEditedError(f"has the merged cells {place} there: {IN_SPREADSHEET}")
        row = self._spans.rows.get(line)
        if row is None:
            self._new_row(line, cells)
            return
        alone: dict[int, bytes] = {}
        for column, (name, text) in sorted(cells.items()):
            span = row.cells.get(column)
            written = self._written(line, column, name, text)
            if span is not None:
                self._pieces.append((span.start, span.end, written))
            elif text:
                alone[column] = written
        for column, written in alone.items():
            self._between(row, column, written)
        if alone and row.closed == row.opened and self._xml[row.opened - 2 : row.opened] == b"/>":
            self._open(row, alone)

    def _between(self, row: RowSpan, column: int, written: bytes) -> None:
        """Put a new cell before the first one that stands to its right."""
        if self._xml[row.opened - 2 : row.opened] == b"/>":
            return
        at = next((span.start for other, span in sorted(row.cells.items()) if other > column), row.closed)
        self._pieces.append((at, at, written))

    def _open(self, row: RowSpan, cells: Mapping[int, bytes]) -> None:
        """Write a row that closes itself as one with cells in it."""
        tag = self._xml[row.start : row.opened - 2].rstrip() + b">"
        closing = f"</{self._spans.prefix}row>".encode()
        self._pieces.append((row.start, row.end, tag + b"".join(cells[at] for at in sorted(cells)) + closing))

    def _new_row(self, line: int, cells: Mapping[int, tuple[str, str]]) -> None:
        written = b"".join(self._written(line, at, name, text) for at, (name, text) in sorted(cells.items()) if text)
        p = self._spans.prefix
        piece = f'<{p}row r="{line}">'.encode() + written + f"</{p}row>".encode()
        at = next((span.start for number, span in sorted(self._spans.rows.items()) if number > line), None)
        place = self._spans.rows_end if at is None else at
        self._pieces.append((place, place, piece))

    def _merged_at(self, line: int, column: int) -> str:
        for place in self._spans.merged:
            first, _, last = place.partition(":")
            (left, top), (right, bottom) = _corner(first), _corner(last or first)
            if top <= line <= bottom and left <= column <= right:
                return place
        return ""

    def _style(self, line: int, column: int) -> str:
        """Return the style of a cell: its own, else that of the row above, else that of its column."""
        for number in (line, line - 1):
            row = self._spans.rows.get(number)
            if row is not None and number != self._table.header_line and column in row.cells:
                return row.cells[column].style
        return next((style for low, high, style in self._spans.column_styles if low <= column <= high), "")

    def _written(self, line: int, column: int, name: str, text: str) -> bytes:
        p, style = self._spans.prefix, self._style(line, column)
        tag = f'<{p}c r="{column_letters(column)}{line}"' + (f' s="{style}"' if style else "")
        if not text:
            return f"{tag}/>".encode()
        if name in NUMBERS and _PLAIN.fullmatch(text) and number_text(float(text)) == text:
            return f"{tag}><{p}v>{text}</{p}v></{p}c>".encode()
        if name in DATES and style in self._dates and _DAY.fullmatch(text):
            days = (dt.date.fromisoformat(text) - _DAY_ZERO).days
            return f"{tag}><{p}v>{days}</{p}v></{p}c>".encode()
        if _XML_CANNOT.search(text):
            raise NotEditedError("cannot hold a control character: leave it out")
        shown = escape(text).replace("\r", "&#13;")
        shown = re.sub(r"_x(?=[0-9A-Fa-f]{4}_)", "_x005F_x", shown)
        return f'{tag} t="inlineStr"><{p}is><{p}t xml:space="preserve">{shown}</{p}t></{p}is></{p}c>'.encode()


def _corner(place: str) -> tuple[int, int]:
    found = re.fullmatch(r"([A-Z]{1,3})([0-9]{1,7})", place.replace("$", ""))
    return (column_number(found[1]), int(found[2])) if found else (0, 0)


def _date_styles(archive: zipfile.ZipFile) -> frozenset[str]:
    """Return the styles that show a number as a date; none where the workbook counts days from 1904."""
    if "xl/styles.xml" not in archive.namelist() or b"date1904" in archive.read("xl/workbook.xml"):
        return frozenset()
    own: dict[str, str] = {}
    looks: list[str] = []
    inside: list[str] = []

    def begin(name: str, told: dict[str, str]) -> None:
        short = name.rpartition(":")[2]
        if short == "numFmt":
            own[told.get("numFmtId", "")] = told.get("formatCode", "")
        elif short == "xf" and inside[-1:] == ["cellXfs"]:
            looks.append(told.get("numFmtId", "0"))
        inside.append(short)

    parser = expat.ParserCreate()
    parser.StartElementHandler = begin
    parser.EndElementHandler = lambda _name: inside.pop() and None
    parser.ParseFile(io.BytesIO(archive.read("xl/styles.xml")))
    shapes = {code: re.sub(r'"[^"]*"|\[[^\]]*\]|\\.', "", text) for code, text in own.items()}
    return frozenset(
        str(number)
        for number, code in enumerate(looks)
        if code in _BUILT_IN_DATES or re.search("[dy]", shapes.get(code, ""))
    )


def _with_part(archive: zipfile.ZipFile, part: str, content: bytes) -> bytes:
    """Return the archive with one part changed; the other parts, their order, names and dates stay."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as written:
        written.comment = archive.comment
        for info in archive.infolist():
            written.writestr(info, content if info.filename == part else archive.read(info))
    return out.getvalue()
