"""Where each cell of a CSV text stands, to the character, as the reader of tables cuts it.

Source: RFC 4180, sections 2.5 to 2.7 (quotes), with the line ends that Python's reader takes: CR, LF and both.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from routing.desk.files.changes import NotEditedError

_QUOTED = re.compile(r'"(?:[^"]|"")*"')
_LINE_END = re.compile(r"\r\n|\r|\n")


@dataclass(frozen=True)
class Span:
    """One cell: `text[start:end]` is it as it was written, quotes and spaces too."""

    start: int
    end: int


@dataclass(frozen=True)
class SpannedRow:
    """One row: the line that it starts on, its cells, and its line end, which is empty where the text ends."""

    line: int
    cells: tuple[Span, ...]
    line_end: str

    @property
    def start(self) -> int:
        """Where the row starts."""
        return self.cells[0].start

    @property
    def end(self) -> int:
        """Where the row and its line end are over."""
        return self.cells[-1].end + len(self.line_end)


def spanned_rows(text: str, delimiter: str) -> Iterator[SpannedRow]:
    """Yield all rows of a CSV text, blank ones too; together they are the whole text.

    Raises NotEditedError where a quote is broken.
    """
    unquoted = re.compile(f"[^{re.escape(delimiter)}\r\n]*")
    at, line = 0, 1
    while at < len(text):
        cells: list[Span] = []
        while True:
            found = (_QUOTED if text.startswith('"', at) else unquoted).match(text, at)
            end = found.end() if found else at
            if found is None or not (end == len(text) or text[end] in (delimiter, "\r", "\n")):
                raise NotEditedError(f"line {line} has a stray or missing quotation mark: mend it first")
            cells.append(Span(at, end))
            at = end
            if not text.startswith(delimiter, at):
                break
            at += 1
        broken = _LINE_END.match(text, at)
        row = SpannedRow(line, tuple(cells), broken[0] if broken else "")
        yield row
        line += sum(1 for _ in _LINE_END.finditer(text, row.start, row.end))
        at = row.end
