"""Rows of the log as they stand in the file, value by value, of all tables or of some entries."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy import Connection, Table

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
    names = [column.name for column in table.columns]
    # A statement built of columns is compiled anew for every log that is opened, which takes longer than the reading.
    wanted = f"SELECT {', '.join(names)} FROM {table.name}"  # noqa: S608 - names of our own
    order = " ORDER BY id" if "id" in names else ""
    if numbers is None:
        found = connection.exec_driver_sql(wanted + order)
    else:
        own, places = "id" if table is tables.entries else "entry_id", ", ".join("?" * len(numbers))
        found = connection.exec_driver_sql(f"{wanted} WHERE {own} IN ({places}){order}", tuple(numbers))
    return [dict(zip(names, row, strict=True)) for row in found.all()]


def belonging(number: int | None, entry: Entry) -> dict[str, list[dict[str, object]]]:
    """Return the rows that belong to an entry of a number, by their tables."""
    own = {"entry_id": number}
    return {
        "materials_used": [{**own, "material": name, "amount": amount} for name, amount in entry.materials.items()],
        "things_seen": [{**own, "what": what} for what in entry.seen],
        "seen_in": [{**own, "what": what, "hives": hives} for what, hives in entry.seen_in.items()],
        "medicines": [{**own, **entry.medicine.model_dump()}] if entry.medicine else [],
    }
