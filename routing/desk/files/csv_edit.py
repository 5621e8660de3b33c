"""Changing cells and rows of a CSV text: all that is not changed keeps every character."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from routing.desk.files.changes import Change, NewRow, NotEditedError
from routing.desk.files.csv_spans import SpannedRow, spanned_rows


@dataclass(frozen=True)
class CsvTable:
    """A CSV text with the columns that the reader of tables found in it."""

    text: str
    delimiter: str
    header: tuple[str | None, ...]
    """The column at each position, None for one that is not known, empty for none."""
    header_line: int
    rows: tuple[int, ...]
    """The lines of the table's rows, in order; notes and titles are not among them."""


def edited(table: CsvTable, change: Change) -> str:
    """Return the text with a change made. Raises NotEditedError where a quote is broken or a row is not there."""
    return _Edit(table).text_with(change)


class _Edit:
    """One change on its way: pieces to be put in the place of others."""

    def __init__(self, table: CsvTable) -> None:
        self._table = table
        self._rows = {row.line: row for row in spanned_rows(table.text, table.delimiter)}
        self._header = list(table.header)
        self._pieces: list[tuple[int, int, str]] = []

    def text_with(self, change: Change) -> str:
        """Return the text with all of the change made."""
        self._new_columns(change)
        for line, cells in change.cells.items():
            if line not in change.dropped:
                self._set(self._row(line), cells)
        for line in change.dropped:
            row = self._row(line)
            self._pieces.append((row.start, row.end, ""))
        following: dict[int, list[NewRow]] = {}
        last = self._table.rows[-1] if self._table.rows else self._table.header_line
        for new in change.added:
            following.setdefault(new.after or last, []).append(new)
        for after, together in following.items():
            self._add(self._row(after), together)
        return self._spliced()

    def _spliced(self) -> str:
        text, done, out = self._table.text, 0, []
        for start, end, piece in sorted(self._pieces, key=lambda piece: (piece[0], piece[1])):
            out += [text[done:start], piece]
            done = end
        return "".join([*out, text[done:]])

    def _row(self, line: int) -> SpannedRow:
        if line not in self._rows:
            raise NotEditedError(f"line {line} is not there any more")
        return self._rows[line]

    def _new_columns(self, change: Change) -> None:
        """Add the columns to the header that the change names and the file does not have yet."""
        named = [*change.cells.values(), *(row.cells for row in change.added)]
        wanted = dict.fromkeys(column for cells in named for column, text in cells.items() if text)
        missing = [column for column in wanted if column not in self._header]
        if not missing:
            return
        header = self._row(self._table.header_line)
        while len(self._header) < len(header.cells):
            self._header.append("")
        quote = self._all_quoted(header)
        added = self._table.delimiter * (len(self._header) - len(header.cells))  # under a name of the row above
        added += "".join(self._table.delimiter + self._written(name, quote=quote) for name in missing)
        end = header.cells[-1].end
        self._pieces.append((end, end, added))
        self._header += missing

    def _set(self, row: SpannedRow, cells: Mapping[str, str]) -> None:
        beyond: dict[int, str] = {}
        for column, text in cells.items():
            if column not in self._header:
                continue  # an empty text in a column that there is not
            at = self._header.index(column)
            if at >= len(row.cells):
                beyond[at] = text
                continue
            span = row.cells[at]
            was_quoted = self._table.text.startswith('"', span.start)
            self._pieces.append((span.start, span.end, self._written(text, quote=was_quoted)))
        filled = [at for at, text in beyond.items() if text]
        if filled:
            more = [self._written(beyond.get(at, "")) for at in range(len(row.cells), max(filled) + 1)]
            end = row.cells[-1].end
            self._pieces.append((end, end, self._table.delimiter + self._table.delimiter.join(more)))

    def _add(self, anchor: SpannedRow, rows: Sequence[NewRow]) -> None:
        """Put rows after another; the line end of a last line that has none goes before them."""
        quote = self._all_quoted(anchor)
        written = [
            self._table.delimiter.join(
                self._written(row.cells.get(name or "", ""), quote=quote) for name in self._header
            )
            for row in rows
        ]
        end = anchor.line_end or next((row.line_end for row in self._rows.values() if row.line_end), "\n")
        piece = "".join(line + end if anchor.line_end else end + line for line in written)
        self._pieces.append((anchor.end, anchor.end, piece))

    def _all_quoted(self, row: SpannedRow) -> bool:
        return all(self._table.text.startswith('"', span.start) for span in row.cells)

    def _written(self, text: str, *, quote: bool = False) -> str:
        """Return a cell as it is written, in quotes where its neighbour was or where it needs them."""
        if quote or any(mark in text for mark in (self._table.delimiter, '"', "\r", "\n")):
            return '"' + text.replace('"', '""') + '"'
        return text
