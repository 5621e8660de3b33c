"""What a change does to the faults of a farm: which are new, and where they stand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from routing.desk.files.changes import Change
from routing.desk.files.table_read import TableRead
from routing.errors import FarmError, Fault
from routing.farm.folder import read_farm
from routing.farm.plain_files import NOTHING, Instead

type Origin = tuple[str, int]
"""Where a row comes from: `("line", 5)` the row that was on line 5, `("new", 0)` the first of those added."""


@dataclass(frozen=True)
class RowFault:
    """A fault at a row; without a column it is of the row as a whole."""

    origin: Origin
    column: str
    fault: Fault


def faults_of(folder: Path, instead: Instead = NOTHING) -> tuple[Fault, ...]:
    """Return all faults and warnings of a farm folder, as it is or as it would be."""
    try:
        return read_farm(folder, instead).warnings
    except FarmError as error:
        return error.faults


def new_faults(before: Sequence[Fault], after: Sequence[Fault]) -> list[Fault]:
    """Return the faults that stop the reading and were not there before; lines may have moved."""
    known = Counter(_what(fault) for fault in before if not fault.warning)
    found = []
    for fault in after:
        if fault.warning:
            continue
        if known[_what(fault)] > 0:
            known[_what(fault)] -= 1
        else:
            found.append(fault)
    return found


def _what(fault: Fault) -> tuple[str, str, str]:
    return fault.file, fault.what, fault.column


def origins(table: TableRead, change: Change) -> list[tuple[Origin, dict[str, str]]]:
    """Return the rows that the table is to have after a change, each with where it comes from; blank ones are none."""
    wanted: list[tuple[Origin, dict[str, str]]] = []
    added = list(enumerate(change.added))
    last = table.rows[-1].line if table.rows else 0
    at_end = [(("new", n), dict(row.cells)) for n, row in added if row.after in {0, last}]
    for row in table.rows:
        if row.line not in change.dropped:
            wanted.append((("line", row.line), {**row.cells, **change.cells.get(row.line, {})}))
        if row.line != last:
            wanted += [(("new", n), dict(new.cells)) for n, new in added if new.after == row.line]
    return [(origin, cells) for origin, cells in (*wanted, *at_end) if any(cells.values())]


def is_as_wanted(wanted: Sequence[tuple[Origin, dict[str, str]]], table: TableRead) -> bool:
    """Return whether a table that was read again says what it is to say, cell by cell."""
    rows = [row.cells for row in table.rows if any(row.cells.values())]
    if len(rows) != len(wanted):
        return False
    return all(_filled(cells) == _filled(row) for (_, cells), row in zip(wanted, rows, strict=True))


def _filled(cells: Mapping[str, str]) -> dict[str, str]:
    return {name: text for name, text in cells.items() if text}
