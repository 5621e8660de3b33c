"""What may be changed in a table, and what is said where it cannot be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from routing.errors import OutyardError


class NotEditedError(OutyardError, ValueError):
    """A change cannot be made without losing something; the message says why and what to do instead."""


@dataclass(frozen=True)
class NewRow:
    """A row to be added: its cells by column, and the line of the row that it follows, 0 for the end of the table."""

    cells: Mapping[str, str]
    after: int = 0


@dataclass(frozen=True)
class Change:
    """Changes of one table, all told by the lines that rows have before any of them is made."""

    cells: Mapping[int, Mapping[str, str]] = field(default_factory=dict)
    """New texts by line and column."""
    added: tuple[NewRow, ...] = ()
    dropped: frozenset[int] = frozenset()

    @property
    def rows(self) -> int:
        """How many rows are touched."""
        return len(self.cells.keys() | self.dropped) + len(self.added)

    def without(self, lines: frozenset[int], added: frozenset[int]) -> Change:
        """Return the change without some rows: those of these lines, and these of the added ones by their number."""
        return Change(
            {line: cells for line, cells in self.cells.items() if line not in lines},
            tuple(row for number, row in enumerate(self.added) if number not in added),
            self.dropped - lines,
        )
