"""What a sheet's XML tells that the library does not: hidden rows, formulas without a value, how far its cells reach.

Source: ECMA-376 part 1, 18.3.1 (row, c, f and v of a worksheet).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import IO
from xml.parsers import expat

LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
"""The last row and column that a sheet has. Source: ECMA-376 part 1, 18.3.1.73, and the programs that write it."""
_PLACE = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6})")
_ROW = re.compile(r"[1-9][0-9]{0,6}")


class NotASheetError(ValueError):
    """A sheet's XML is not what it should be; the message says what, to stand after the sheet's name."""


@dataclass
class SheetFacts:
    """What was found in the XML of one sheet, as far as it was read."""

    hidden: list[int] = field(default_factory=list)
    """Hidden rows that hold something."""
    unreckoned: set[tuple[int, int]] = field(default_factory=set)
    """Row and column of formulas that hold no value."""
    filled: set[int] = field(default_factory=set)
    """Rows in which some cell holds a value."""
    farthest: tuple[int, int] = (0, 0)
    """The cell with a value that is in the last row of all, and in the last column of all."""


def sheet_facts(part: IO[bytes], most_columns: int) -> SheetFacts:
    """Return the facts of a sheet. Raises NotASheetError where it is broken or names a cell that no sheet has."""
    reading = _Reading(most_columns)
    try:
        reading.parser.ParseFile(part)
    except expat.ExpatError as error:
        raise NotASheetError(f"is broken: {expat.ErrorString(error.code)}") from error
    return reading.facts


class _Reading:
    """Follows the elements of one sheet."""

    def __init__(self, most_columns: int) -> None:
        self.facts = SheetFacts()
        self.parser = expat.ParserCreate()
        self.parser.StartElementHandler = self._begin
        self.parser.EndElementHandler = self._end
        self.parser.StartDoctypeDeclHandler = self._doctype
        self._row, self._column = 0, 0
        self._hidden = self._formula = self._value = self._text = False
        self._most_columns = most_columns

    def _doctype(self, *_told: object) -> None:
        raise NotASheetError("declares a document type, which no sheet does")

    def _begin(self, name: str, told: dict[str, str]) -> None:
        name = name.rpartition(":")[2]
        if name == "row":
            self._row, self._column = _number(told.get("r"), self._row), 0
            self._hidden = told.get("hidden") in ("1", "true")
        elif name == "c":
            self._cell(told.get("r"))
            self._text = told.get("t") == "str"
        elif name == "f":
            self._formula = True
        elif name == "is":
            self._value = True
        elif name == "v":
            self._value = self._text  # the text of a formula may be empty
            self.parser.CharacterDataHandler = self._characters

    def _cell(self, place: str | None) -> None:
        self._formula = self._value = False
        self._column += 1
        if place is None:
            return
        found = _PLACE.fullmatch(place)
        if not found:
            raise NotASheetError("names a cell that no sheet has")
        self._column = column_number(found[1])
        if self._column > LAST_COLUMN or int(found[2]) != self._row:
            raise NotASheetError("names a cell that no sheet has")

    def _characters(self, text: str) -> None:
        self._value = self._value or bool(text.strip())

    def _end(self, name: str) -> None:
        self.parser.CharacterDataHandler = None
        if name.rpartition(":")[2] != "c":
            return
        facts = self.facts
        if self._formula and not self._value:
            facts.unreckoned.add((self._row, self._column))
        if not (self._value or self._formula):
            return
        facts.filled.add(self._row)
        if self._hidden and (not facts.hidden or facts.hidden[-1] != self._row):
            facts.hidden.append(self._row)
        facts.farthest = max(facts.farthest[0], self._row), max(facts.farthest[1], self._column)


def _number(text: str | None, before: int) -> int:
    """Return the number of a row, the next one where none is told. Raises NotASheetError."""
    if text is None:
        return before + 1
    if not _ROW.fullmatch(text) or not before < int(text) <= LAST_ROW:
        raise NotASheetError("has rows out of order, or one that no sheet has")
    return int(text)


def column_number(letters: str) -> int:
    """Return 1 for A and 27 for AA."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number
