"""A table of the farm as the page's grid shows it, and what the grid sends back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress

from routing.desk.edits import Edits, Outcome
from routing.desk.files.changes import Change, NewRow
from routing.desk.files.table_read import COLUMNS, TableRead
from routing.desk.given import Given
from routing.errors import AskedError, Fault, PlaceError
from routing.farm.basics import Rank
from routing.farm.column_words import ELSEWHERE
from routing.farm.faults import Faults
from routing.farm.location import located
from routing.farm.models import JobKind
from routing.farm.settings import Settings, read_settings
from routing.farm.site_ids import id_made_of
from routing.farm.tables_out import NOTES, WIDTHS
from routing.share.safety.safe import plain_name, plain_text

PRIVATE = frozenset({"gate_code", "phone", "private_notes"})
"""Columns that are shown only when asked for."""
LONGEST_CELL = 5_000
MOST_ROWS = 20_000
MOST_TOLD = 100
PAIR = ("latitude", "longitude")
TITLES = {"sites": "Sites", "jobs": "Jobs"}


def grid(edits: Edits, name: str, *, private: bool) -> dict[str, object]:
    """Return a table as the page's script takes it; private cells only where they are asked for."""
    table = edits.table(name)
    found = edits.faults()
    here = [fault for fault in found if fault.file == table.file and fault.line]
    lines = {row.line for row in table.rows}
    settings = read_settings(edits.folder, Faults())
    return {
        "name": name,
        "file": table.file,
        "digest": table.digest,
        "closed": table.closed and f"{table.path.name} {table.closed}",
        "columns": [_column(column, table, settings, edits) for column in shown_columns(table)],
        "rows": [{"line": row.line, "cells": _cells(row.cells, private=private)} for row in table.rows],
        "faults": [_fault(fault) for fault in here if fault.line in lines],
        "elsewhere": [_told(one) for one in found if not one.warning and (one not in here or one.line not in lines)],
        "kept": table.kept_columns,
        "private": private,
        "can": list(edits.can),
        "places": _places(table) if name == "sites" else [],
        "base": _base(settings) if name == "sites" else None,
    }


def shown_columns(table: TableRead) -> list[str]:
    """Return the file's columns in its order, then those that it could have; one of the two ways to say a place."""
    known = COLUMNS[table.name].known
    has = table.columns
    unused = {"place"} if set(PAIR) <= set(has) and "place" not in has else set() if set(PAIR) & set(has) else set(PAIR)
    return [*has, *(column for column in known if column not in has and column not in unused)]


def _places(table: TableRead) -> list[tuple[int, float, float]]:
    """Return the line and the place of each row that says where it is."""
    found = []
    for row in table.rows:
        with suppress(PlaceError):
            place = located(*(row.cells.get(column, "") for column in ("place", *PAIR)))
            found.append((row.line, place.latitude, place.longitude))
    return found


def _base(settings: Settings) -> tuple[float, float, str] | None:
    base = settings.base
    return (base.place.latitude, base.place.longitude, plain_name(base.name)) if base else None


def _column(column: str, table: TableRead, settings: Settings, edits: Edits) -> dict[str, object]:
    return {
        "name": column,
        "label": column.replace("_", " "),
        "also": _also(column, table.name),
        "pair": _pair(table) if column == "place" else [],
        "note": NOTES.get(column, ""),
        "wide": WIDTHS.get(column, 13),
        "private": column in PRIVATE,
        "in_file": column in table.columns,
        "choices": _choices(column, table.name, settings, edits),
    }


def _also(column: str, table: str) -> list[str]:
    """Return what else the column may be called in a block that is pasted."""
    own = COLUMNS[table].also or {}
    words = {**ELSEWHERE, **own} if table == "sites" else own
    return [word for word, meant in words.items() if meant == column]


def _pair(table: TableRead) -> list[list[str]]:
    """Return what latitude and longitude may be called in a block, where the table has one cell for both."""
    one_cell = not set(PAIR) & set(table.columns)
    return [[name, *_also(name, table.name)] for name in PAIR] if one_cell else []


def _choices(column: str, table: str, settings: Settings, edits: Edits) -> list[list[str]]:
    """Return what a cell may be, each with its words; empty where anything may be written."""
    if table == "jobs":
        if column == "kind":
            return [[kind.id, _kind(kind)] for kind in sorted(settings.job_kinds.values(), key=lambda one: one.name)]
        if column in {"site", "to"}:
            rows = edits.table("sites").rows
            return [[row.cells["id"], _called(row.cells)] for row in rows if row.cells.get("id")]
        if column == "rank":
            return [[rank.value, rank.value] for rank in Rank]
    if column == "last_of_day":
        return [["yes", "yes"], ["no", "no"]]
    return []


def _kind(kind: JobKind) -> str:
    return plain_text(f"{kind.name} ({kind.id})", 200)


def _called(cells: Mapping[str, str]) -> str:
    name = cells.get("name", "")
    return plain_text(f"{cells['id']} ({name})" if name and name != cells["id"] else cells["id"], 200)


def _cells(cells: Mapping[str, str], *, private: bool) -> dict[str, str | None]:
    """Return a row's cells; what is private and not asked for is null where there is something."""
    return {name: None if name in PRIVATE and text and not private else text for name, text in cells.items() if text}


def _fault(fault: Fault) -> dict[str, object]:
    words = plain_text(fault.told)
    return {"line": fault.line, "column": fault.column, "text": words, "warning": fault.warning}


def _told(fault: Fault) -> str:
    return plain_text(f"{'Note: ' if fault.warning else ''}{fault}")


def told(outcome: Outcome) -> dict[str, object]:
    """Return what became of a change as the page's script takes it."""
    return {
        "kept": outcome.kept,
        "said": outcome.said,
        "merged": outcome.merged,
        "drafts": [
            {"from": list(one.origin), **_fault(one.fault), "column": one.column, "line": 0} for one in outcome.drafts
        ],
        "broken": [_told(fault) for fault in outcome.faults][:MOST_TOLD],
        "both": [
            {"line": one.line, "column": one.column, "was": one.was, "mine": one.mine, "theirs": one.theirs}
            for one in outcome.both
        ],
        "lines": [[old, new] for old, new in outcome.lines.items()],
        "added": [[number, line] for number, line in outcome.added.items()],
    }


def change_of(given: Given, name: str) -> Change:
    """Return the change that the page sent. Raises AskedError where it is none."""
    cells: dict[int, dict[str, str]] = {}
    for line, column, text in _threes(given.fields.get("cells"), name):
        cells.setdefault(line, {})[column] = text
    dropped = given.fields.get("dropped") or []
    added = given.fields.get("added") or []
    if not isinstance(dropped, list) or not isinstance(added, list) or max(len(dropped), len(added)) > MOST_ROWS:
        raise _unclear()
    return Change(cells, tuple(_new_row(one, name) for one in added), frozenset(_line(one) for one in dropped))


def with_ids(change: Change, table: TableRead) -> Change:
    """Return a change of the sites in which each new row that names no id has one, made of its name."""
    taken = {cells.get("id", "").strip().casefold() for cells in (*_stay(change, table), *_new(change))}
    count = len(table.rows)
    added = []
    for number, row in enumerate(change.added, start=count + 1):
        cells = dict(row.cells)
        if not cells.get("id", "").strip() and any(text.strip() for text in cells.values()):
            cells["id"] = id_made_of(cells.get("name", ""), number, taken)
        added.append(NewRow(cells, row.after))
    return Change(change.cells, tuple(added), change.dropped)


def _stay(change: Change, table: TableRead) -> Iterable[Mapping[str, str]]:
    return ({**row.cells, **change.cells.get(row.line, {})} for row in table.rows)


def _new(change: Change) -> Iterable[Mapping[str, str]]:
    return (row.cells for row in change.added)


def _new_row(sent: object, name: str) -> NewRow:
    if not isinstance(sent, dict) or not isinstance(sent.get("cells"), dict):
        raise _unclear()
    return NewRow({_known(key, name): _text(text) for key, text in sent["cells"].items()}, _line(sent.get("after", 0)))


def _threes(sent: object, name: str) -> Iterable[tuple[int, str, str]]:
    if sent is None:
        return
    if not isinstance(sent, list) or len(sent) > MOST_ROWS * 10:
        raise _unclear()
    for one in sent:
        if not isinstance(one, list) or len(one) != len(("line", "column", "text")):
            raise _unclear()
        yield _line(one[0]), _known(one[1], name), _text(one[2])


def _line(sent: object) -> int:
    if isinstance(sent, bool) or not isinstance(sent, int) or not 0 <= sent <= 10 * MOST_ROWS:
        raise _unclear()
    return sent


def _known(sent: object, name: str) -> str:
    if not isinstance(sent, str) or sent not in COLUMNS[name].known:
        raise AskedError("a column that this table does not have; load the page again")
    return sent


def _text(sent: object) -> str:
    if not isinstance(sent, str) or "\0" in sent:
        raise _unclear()
    try:
        sent.encode()
    except UnicodeEncodeError:
        raise AskedError("half of a character cannot be written; type it anew") from None
    if len(sent) > LONGEST_CELL:
        raise AskedError(f"a cell holds at most {LONGEST_CELL:,} characters; shorten it")
    return sent


def _unclear() -> AskedError:
    return AskedError("the desk could not read what this page sent; load the page again")


def words_of(name: str, table: TableRead, change: Change) -> str:
    """Return a change in words, for undo and redo; nothing private is in them."""
    parts: Sequence[str] = [
        part
        for part, count in (
            (f"{len(change.dropped)} rows taken out", len(change.dropped)),
            (f"{len(change.added)} rows added", len(change.added)),
            (f"{sum(map(len, change.cells.values()))} cells changed", len(change.cells)),
        )
        if count
    ]
    if len(change.cells) == 1 and len(parts) == 1:
        ((line, cells),) = change.cells.items()
        row = next((row.cells for row in table.rows if row.line == line), {})
        if len(cells) == 1:
            column = next(iter(cells))
            return plain_text(
                f"{TITLES[name]}: {column.replace('_', ' ')} of {row.get('id') or row.get('site') or 'a row'}", 200
            )
    return f"{TITLES[name]}: {', '.join(parts).replace('1 rows', '1 row').replace('1 cells', '1 cell')}"
