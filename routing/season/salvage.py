"""What can still be read of a damaged log: rows, by way of pages that are whole, whatever its header and schema say.

The database is copied into memory, its header is written anew, and its schema is replaced by bare tables that begin at
the pages where the old one, or a fresh log of the same version, has them. Checks, triggers and indexes are left out, so
none of them can stand in the way. A table is read from both ends up to the damage, then row by row between.

Source: sqlite.org/fileformat2.html (the database header; section 2.6, the schema; 2.1, records: a column that was added
later is missing at their end).
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass

from routing.season.snapshot import HEADER, in_memory, is_page_size
from routing.season.stored import Cell, Row

TABLES: Mapping[str, tuple[str, ...]] = {
    "alembic_version": ("version_num",),
    "entries": (
        *("id", "date", "time", "site", "kind", "minutes", "crew", "people", "hives", "partly", "stores_kg"),
        *("queen_cells", "note", "written_at", "reference"),
    ),
    "materials_used": ("entry_id", "material", "amount"),
    "things_seen": ("entry_id", "what"),
    "medicines": (
        *("entry_id", "product", "batch", "dose", "amount", "withdrawal_days", "days_in", "colonies", "given_by"),
        *("bought_on", "supplier", "disposed_on", "disposal"),
    ),
    "undone": ("entry_id", "written_at"),
    "cancellations": ("id", "rule", "site", "due", "closes_on", "date", "why", "written_at"),
    "undone_cancellations": ("cancellation_id", "written_at"),
    "seen_in": ("entry_id", "what", "hives"),
    "beginnings": ("id", "counts_from", "written_at"),
}
"""The columns of each table in the order in which the file holds them: one that was added later comes last."""
NUMBERED = frozenset({"entries", "medicines", "undone", "cancellations", "undone_cancellations", "beginnings"})
"""The tables whose first column is the row's number itself, and is not kept a second time."""
USUAL_PAGES: Mapping[str, int] = {
    "alembic_version": 2,
    "entries": 4,
    "materials_used": 6,
    "things_seen": 8,
    "medicines": 10,
    "undone": 11,
    "cancellations": 14,
    "undone_cancellations": 17,
    "seen_in": 18,
    "beginnings": 20,
}
"""The first page of each table in a log that the newest version began."""
IN_SCHEMA: Mapping[int, str] = {
    1: "alembic_version",
    3: "entries",
    5: "materials_used",
    7: "things_seen",
    9: "medicines",
    10: "undone",
    17: "cancellations",
    18: "undone_cancellations",
    19: "seen_in",
    21: "beginnings",
}
"""The tables by their place in the schema, which is the same in every log, however old."""
MOST_MISSING = 20_000
"""After so many numbers in a row that cannot be read the search between the two ends of the damage is over."""

USUAL_PAGE_SIZE = 4096
_MAGIC = b"SQLite format 3\0"


@dataclass(frozen=True)
class Salvaged:
    """The rows of every table that could be read."""

    rows: Mapping[str, Sequence[Row]]
    damaged: tuple[str, ...]
    """Tables of which rows may be missing."""


def salvaged(content: bytes) -> Salvaged:
    """Return the rows of every table that can be read; what cannot is not there. Never raises for damage.

    Where the header has a wrong size of pages, more is read with the usual one; where all is, no other is tried.
    """
    said = int.from_bytes(content[16:18], "big")
    usual = _salvaged(content, USUAL_PAGE_SIZE)
    if not usual.damaged or said == USUAL_PAGE_SIZE or not is_page_size(said):
        return usual
    return max(_salvaged(content, said), usual, key=lambda one: sum(map(len, one.rows.values())))


def _salvaged(content: bytes, size: int) -> Salvaged:
    pages = max(1, len(content) // size)
    whole = content[: pages * size].ljust(size, b"\0")
    starts = {name: page for name, page in first_pages(_with_header(whole, size, pages)).items() if 1 < page <= pages}
    if not starts:
        return Salvaged({}, tuple(TABLES))
    carrier = _with_header(_bare_schema(starts, size) + whole[size:], size, pages)
    with closing(in_memory(carrier)) as connection:
        connection.text_factory = lambda raw: raw.decode(errors="surrogateescape")
        read = {name: _each(connection, name, TABLES[name]) for name in starts}
    rows = {name: [dict(zip(TABLES[name], row[1:], strict=True)) for row in one.rows] for name, one in read.items()}
    return Salvaged(rows, tuple(name for name in TABLES if name not in read or not read[name].whole))


def first_pages(content: bytes) -> Mapping[str, int]:
    """Return the first page of each table as the schema of a database has it, the usual ones where it has none.

    A name that is damaged is known by its place.
    """
    try:
        with closing(in_memory(content)) as connection:
            connection.text_factory = lambda raw: raw.decode(errors="replace")
            connection.execute("PRAGMA writable_schema = ON")  # a statement that cannot be parsed is then passed over
            schema = _each(connection, "sqlite_master", ("type", "name", "rootpage"))
    except sqlite3.Error:
        schema = _Read((), whole=False)
    found: dict[str, int] = {}
    for number, type_, name, page in schema.rows:
        placed = IN_SCHEMA.get(number, "") if isinstance(number, int) else ""
        known = str(name) if name in TABLES else placed
        if known and isinstance(page, int) and type_ != "index":
            found.setdefault(known, page)
    begun_new = all(USUAL_PAGES[name] == page for name, page in found.items())
    return found if schema.whole or not begun_new else {**USUAL_PAGES, **found}


def _bare_schema(starts: Mapping[str, int], size: int) -> bytes:
    """Return a first page whose schema has the tables without any rule, each beginning at its page."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        connection.execute(f"PRAGMA page_size = {size}")
        for name in starts:
            number = " INTEGER PRIMARY KEY" if name in NUMBERED else ""
            columns = ", ".join(TABLES[name])
            connection.execute(f"CREATE TABLE {name} ({columns.replace(',', number + ',', 1)})")
        connection.execute("PRAGMA writable_schema = ON")
        for name, page in starts.items():
            connection.execute("UPDATE sqlite_master SET rootpage = ? WHERE name = ?", (page, name))
        return connection.serialize()[:size]


@dataclass(frozen=True)
class _Read:
    rows: tuple[tuple[Cell, ...], ...]
    """Each with its number before it, in the order of the numbers."""
    whole: bool


def _each(connection: sqlite3.Connection, table: str, columns: Sequence[str]) -> _Read:
    """Return the rows that can be read."""
    wanted = f"SELECT rowid, {', '.join(columns)} FROM {table}"  # noqa: S608 - names of our own
    up, whole = _until_damaged(connection, f"{wanted} ORDER BY rowid")
    if whole:
        return _Read(tuple(up.values()), whole=True)
    down, _ = _until_damaged(connection, f"{wanted} ORDER BY rowid DESC")
    found = down | up
    number = last_found = max(up, default=0)
    end = min((number for number in down if number not in up), default=None)
    while number - last_found < MOST_MISSING and (end is None or number < end - 1):
        number += 1
        row = _until_damaged(connection, f"{wanted} WHERE rowid = ?", (number,))[0]
        found |= row
        last_found = number if row else last_found
    return _Read(tuple(found[number] for number in sorted(found)), whole=False)


def _until_damaged(
    connection: sqlite3.Connection, statement: str, values: tuple[int, ...] = ()
) -> tuple[dict[int, tuple[Cell, ...]], bool]:
    """Return rows by their numbers up to the first that cannot be read, and whether that was none.

    A number that comes twice is a page that stands in the table twice, which may have no end.
    """
    found: dict[int, tuple[Cell, ...]] = {}
    try:
        for row in connection.execute(statement, values):
            if row[0] in found:
                return found, False
            found[row[0]] = row
    except sqlite3.Error:
        return found, False
    return found, True


def _with_header(content: bytes, size: int, pages: int) -> bytes:
    """Return the database with a header that says nothing of it but its size: no free pages, UTF-8."""
    header = bytearray(HEADER)
    header[:16] = _MAGIC
    header[16:18] = size.to_bytes(2, "big")
    header[18:24] = bytes((1, 1, 0, 64, 32, 32))
    header[24:28] = header[92:96] = (1).to_bytes(4, "big")
    header[28:32] = pages.to_bytes(4, "big")
    header[44:48] = (4).to_bytes(4, "big")
    header[56:60] = (1).to_bytes(4, "big")
    return bytes(header) + content[HEADER:]
