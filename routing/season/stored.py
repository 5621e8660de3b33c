"""From rows as they stand in the file to entries; a row that cannot be is set aside by its number, the others hold.

This program lets no bad row into the file, but other programs, disks and memory change files too. Values are taken as
the file holds them, without the readers of any library, so that none stumbles over a bad one.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from pydantic import ValidationError

from routing.farm.faults import quoted
from routing.farm.models import Frozen
from routing.season.entries import Cancellation, Day, Entry, Medicine, SetAside

Cell = int | float | str | bytes | None
Row = Mapping[str, Cell]
Tables = Mapping[str, Sequence[Row]]
"""The rows of each table by the table's name."""

SHOWN = ("date", "time", "site", "kind", "minutes", "crew", "people", "hives", "partly", "stores_kg", "queen_cells")
COLUMNS = ("reference", *SHOWN, "note")
"""The fields of an entry that stand in its own row."""
OF_ENTRIES = ("materials_used", "things_seen", "seen_in", "medicines")
"""The tables whose rows belong to an entry."""

_DATES = frozenset({"date", "bought_on", "disposed_on", "due", "closes_on", "counts_from"})
_DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_TIME = re.compile(r"\d\d:\d\d(:\d\d(\.\d{1,6})?)?", re.ASCII)
_TOLD = {"entry": ("date", "site", "kind"), "cancellation": ("rule", "site", "due"), "beginning": ("counts_from",)}
"""What of a row that is set aside is told, so that it can be written again."""


@dataclass(frozen=True)
class Kept[Value]:
    """One row that is as it should be."""

    number: int
    """Its number in the table."""
    written_at: str
    value: Value


@dataclass(frozen=True)
class Stored:
    """What rows hold, in the order of the rows, and which of them were set aside."""

    entries: tuple[Kept[Entry], ...]
    cancellations: tuple[Kept[Cancellation], ...]
    beginnings: tuple[Kept[dt.date], ...]
    set_aside: tuple[SetAside, ...]


class UnreadableError(ValueError):
    """A cell holds what its column cannot; the message names both."""


class _Beginning(Frozen):
    counts_from: Day


def stored(rows: Tables) -> Stored:
    """Return what the rows hold. Tables that are not given have no rows."""
    aside: list[SetAside] = []
    belonging = {name: _by_entry(rows.get(name, ())) for name in OF_ENTRIES}
    return Stored(
        tuple(_kept("entry", rows.get("entries", ()), aside, lambda row: _entry(row, belonging))),
        tuple(_kept("cancellation", rows.get("cancellations", ()), aside, lambda row: _model(Cancellation, row))),
        tuple(_kept("beginning", rows.get("beginnings", ()), aside, lambda row: _model(_Beginning, row).counts_from)),
        tuple(aside),
    )


def _kept[Value](
    what: str, rows: Iterable[Row], aside: list[SetAside], read: Callable[[Row], Value]
) -> Iterator[Kept[Value]]:
    for row in rows:
        number = row.get("id")
        if not isinstance(number, int):
            continue  # no row of a table with numbers is without one
        try:
            yield Kept(number, encodable(row.get("written_at")), read(row))
        except UnreadableError as error:
            held = ", ".join(_shown(row.get(name)) for name in _TOLD[what])
            aside.append(SetAside(what=what, number=number, why=str(error), held=held))


def encodable(cell: Cell) -> str:
    """Return a moment of writing as the file can take it again."""
    return str(cell or "").encode(errors="replace").decode()


def _by_entry(rows: Iterable[Row]) -> dict[Cell, list[Row]]:
    found: dict[Cell, list[Row]] = {}
    for row in rows:
        found.setdefault(row.get("entry_id"), []).append(row)
    return found


def _entry(row: Row, belonging: Mapping[str, Mapping[Cell, Sequence[Row]]]) -> Entry:
    """Return the entry of a row with all that belongs to it. Raises UnreadableError."""
    materials, seen, counts, medicines = (belonging[name].get(row.get("id"), ()) for name in OF_ENTRIES)
    given: dict[str, object] = {name: _value(name, row.get(name)) for name in COLUMNS}
    given["materials"] = {one.get("material"): one.get("amount") for one in materials}
    given["seen"] = tuple(dict.fromkeys(one.get("what") for one in (*seen, *counts)))  # what has a number was seen
    given["seen_in"] = {one.get("what"): one.get("hives") for one in counts}
    given["medicine"] = _model(Medicine, medicines[0]) if medicines else None
    return _validated(Entry, given)


def _model[Model: Frozen](model: type[Model], row: Row) -> Model:
    return _validated(model, {name: _value(name, row.get(name)) for name in model.model_fields})


def _validated[Model: Frozen](model: type[Model], given: Mapping[str, object]) -> Model:
    """Return the value, taken strictly: nothing is guessed from a cell of another type. Raises UnreadableError."""
    try:
        return model.model_validate(given, strict=True)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = " ".join(quoted(str(part))[1:-1] for part in first["loc"])
        why = first["msg"].removeprefix("Value error, ")
        raise UnreadableError(f"{where} {_shown(first['input'])}: {quoted(why, len(why))[1:-1]}") from error


def _value(name: str, cell: Cell) -> object:
    """Return a cell as the field of its name has it. Raises UnreadableError for what no such cell can be."""
    if cell is None:
        return None
    if name == "partly" and cell in {0, 1}:
        return bool(cell)
    if name in _DATES or name == "time":
        form, read = (_TIME, dt.time.fromisoformat) if name == "time" else (_DATE, dt.date.fromisoformat)
        try:
            if isinstance(cell, str) and form.fullmatch(cell):
                return read(cell)
        except ValueError:
            pass
        raise UnreadableError(f"{name} {_shown(cell)} is no {'time' if name == 'time' else 'day of the calendar'}")
    return cell


def _shown(value: object) -> str:
    """Return a value from the file as it may be shown: on one line, nothing in it that acts."""
    return quoted(repr(value) if isinstance(value, bytes) else str(value))[1:-1]
