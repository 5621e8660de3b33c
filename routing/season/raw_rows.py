"""Rows of the log as they stand in the file, value by value, of all tables or of some entries."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy import Connection, Table, bindparam, select, type_coerce
from sqlalchemy.types import NullType

from routing.season import tables
from routing.season.entries import Entry
from routing.season.stored import OF_ENTRIES, Cell


def rows_of(connection: Connection) -> dict[str, list[Mapping[str, Cell]]]:
    """Return all rows of all tables of the log, numbered ones by their number.

    Raises what SQLAlchemy raises where a table is missing or damaged.
    """
    return {name: _rows(connection, table) for name, table in tables.metadata.tables.items()}


def rows_of_entries(connection: Connection, numbers: Sequence[int]) -> dict[str, list[Mapping[str, Cell]]]:
    """Return the rows of entries of these numbers, and all that belongs to them."""
    return {name: _rows(connection, tables.metadata.tables[name], numbers) for name in ("entries", *OF_ENTRIES)}


def _rows(connection: Connection, table: Table, numbers: Sequence[int] | None = None) -> list[Mapping[str, Cell]]:
    plain = [type_coerce(column, NullType()).label(column.name) for column in table.columns]
    wanted = select(*plain)
    if "id" in table.c:
        wanted = wanted.order_by(table.c.id)
    if numbers is None:
        return [dict(row) for row in connection.execute(wanted).mappings()]
    own = table.c.id if table is tables.entries else table.c.entry_id
    some = wanted.where(own.in_(bindparam("numbers", expanding=True)))
    return [dict(row) for row in connection.execute(some, {"numbers": list(numbers)}).mappings()]


def belonging(number: int | None, entry: Entry) -> dict[str, list[dict[str, object]]]:
    """Return the rows that belong to an entry of a number, by their tables."""
    own = {"entry_id": number}
    return {
        "materials_used": [{**own, "material": name, "amount": amount} for name, amount in entry.materials.items()],
        "things_seen": [{**own, "what": what} for what in entry.seen],
        "seen_in": [{**own, "what": what, "hives": hives} for what, hives in entry.seen_in.items()],
        "medicines": [{**own, **entry.medicine.model_dump()}] if entry.medicine else [],
    }
