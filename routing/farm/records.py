"""The rows of a CSV text or a sheet before their columns are known, and which of them is the header."""

from __future__ import annotations

import contextlib
import csv
import io
import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from routing.farm.headers import LOOKED_AT, header_of
from routing.farm.sheets import Sheet

DELIMITERS = ",;\t"
LOOKED_INTO = 200_000
"""The header is looked for in so many characters of a text."""

Named = Callable[[str], str | None]


@dataclass(frozen=True)
class Record:
    """A row that is not blank: the line it starts on, its cells, and whether a blank row stands before it."""

    line: int
    cells: list[str]
    after_blank: bool


class UnreadableError(ValueError):
    """A text cannot be read on from a line; the message says why."""

    def __init__(self, line: int, why: str) -> None:
        super().__init__(why)
        self.line = line


def text_records(text: str, delimiter: str) -> Iterator[Record]:
    """Yield the rows of a CSV text. Raises UnreadableError where a quote is broken."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    ended = 0
    while True:
        line = reader.line_num + 1
        try:
            cells = [cell.strip() for cell in next(reader)]
        except StopIteration:
            return
        except csv.Error as error:
            raise UnreadableError(line, str(error)) from error
        if any(cells):
            yield Record(line, cells, line - ended > 1)
            ended = reader.line_num


def sheet_records(sheet: Sheet) -> Iterator[Record]:
    """Yield the rows of a sheet."""
    last = 0
    for line, cells in sheet.rows:
        yield Record(line, cells, line - last > 1)
        last = line


def header_among(first: Sequence[Record], named: Named) -> tuple[int, list[str]]:
    """Return which of the first rows is the header, and its cells; no cells where there is no row."""
    if not first:
        return 0, []
    return header_of([(record.line, record.cells) for record in first], named)


def first_records(text: str, delimiter: str) -> list[Record]:
    """Return the rows of a text among which its header is; where none can be read, its first line cut in parts."""
    found: list[Record] = []
    with contextlib.suppress(UnreadableError):
        found.extend(itertools.islice(text_records(text[:LOOKED_INTO], delimiter), LOOKED_AT))
    if found:
        return found
    line = next((line for line in io.StringIO(text[:LOOKED_INTO], newline="") if line.strip()), "")
    return [Record(1, [part.strip(' "\r\n') for part in line.split(delimiter)], after_blank=False)] if line else []


def delimiter_of(text: str, named: Named) -> str:
    """Return the delimiter that makes the most known columns out of one of the first rows, and then the most parts."""

    def score(delimiter: str) -> tuple[int, int]:
        first = first_records(text, delimiter)
        at, header = header_among(first, named)
        return sum(named(cell) is not None for cell in header), len(first[at].cells) if first else 0

    return max(DELIMITERS, key=score)
