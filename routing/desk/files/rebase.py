"""A change made for one content of a file, moved onto a newer one: as far as the rows that it touches are the same."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher

from routing.desk.files.changes import Change, NewRow
from routing.desk.files.table_read import TableRead


@dataclass(frozen=True)
class Both:
    """One cell that was changed here and elsewhere: what it was, what it is to be here, and what stands there now."""

    line: int
    """Where its row was when the page read it."""
    column: str
    was: str
    mine: str
    theirs: str | None
    """None where the row is gone."""


@dataclass(frozen=True)
class Moved:
    """The change for the newer content; `both` holds what was changed in both, and then `change` is without it."""

    change: Change
    both: tuple[Both, ...]


def moved(old: TableRead, new: TableRead, change: Change) -> Moved:
    """Return a change made for `old` as one for `new`."""
    at = lines_now(old, new)
    before = {row.line: row.cells for row in old.rows}
    now = {row.line: row.cells for row in new.rows}
    cells: dict[int, dict[str, str]] = {}
    both: list[Both] = []
    for line, wanted in change.cells.items():
        for column, text in wanted.items():
            was = before.get(line, {}).get(column, "")
            there = now[at[line]].get(column, "") if line in at else None
            if there is not None and there in {was, text}:
                cells.setdefault(at[line], {})[column] = text
            else:
                both.append(Both(line, column, was, text, there))
    for line in change.dropped:
        if line in at and now[at[line]] != before[line]:
            first = next(iter(before[line]))
            both.append(Both(line, first, before[line][first], "", now[at[line]].get(first, "")))
    gone = {one.line for one in both}
    dropped = frozenset(at[line] for line in change.dropped if line in at and line not in gone)
    added = tuple(NewRow(row.cells, at.get(row.after, 0)) for row in change.added)
    return Moved(Change(cells, added, dropped), tuple(both))


def lines_now(old: TableRead, new: TableRead) -> dict[int, int]:
    """Return the line that each row has in a newer content: equal rows in order, changed ones between them by id."""
    one = [tuple(sorted(row.cells.items())) for row in old.rows]
    other = [tuple(sorted(row.cells.items())) for row in new.rows]
    found: dict[int, int] = {}
    for tag, a, b, c, d in SequenceMatcher(None, one, other, autojunk=False).get_opcodes():
        if tag == "equal" or (tag == "replace" and b - a == d - c):
            found |= {old.rows[i].line: new.rows[c + i - a].line for i in range(a, b)}
        elif tag == "replace":
            ids = {row.cells.get("id", ""): row.line for row in new.rows[c:d]}
            known = ((row.line, ids.get(row.cells.get("id", "") or "\0")) for row in old.rows[a:b])
            found |= {line: there for line, there in known if there is not None}
    return found
