"""A clean log in the place of a damaged one: all that can still be read goes into it, and the old files are kept."""

from __future__ import annotations

import datetime as dt
import os
import shutil
import sqlite3
import tempfile
import uuid
from collections.abc import Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, insert

from routing.errors import LogError
from routing.season import tables
from routing.season.database import NEWEST, WAIT_SECONDS, engine_of, open_engine, reading, told, writing
from routing.season.entries import SetAside
from routing.season.log_file import FILE
from routing.season.raw_rows import belonging, rows_of
from routing.season.salvage import Salvaged, salvaged
from routing.season.snapshot import snapshot
from routing.season.stored import COLUMNS, Row, Stored, encodable, stored

WAL = f"{FILE}-wal"
_NAMES = {
    "entries": "entries",
    "materials_used": "materials used",
    "things_seen": "things seen",
    "seen_in": "numbers of colonies",
    "medicines": "medicines",
    "undone": "marks of what was undone",
    "cancellations": "cancelled due dates",
    "undone_cancellations": "marks of what was undone",
    "beginnings": "days from which the log counts",
}


@dataclass(frozen=True)
class Mended:
    """What became of a log."""

    entries: int
    """How many are in the new one."""
    undone: int
    """So many of these are marked as undone."""
    set_aside: tuple[SetAside, ...]
    """Rows that are in the old file alone."""
    incomplete: tuple[str, ...]
    """Of what some may be lost, in words: pages that could not be read."""
    kept: Path
    """The old file."""


def mend(folder: Path, today: dt.date) -> Mended | None:
    """Put a clean log in the place of a damaged one and return what became of it; None where nothing is wrong.

    The old file is copied beside it first, its write-ahead log too. Raises LogError, and nothing was changed, where
    there is nothing to be read, or no room for both.
    """
    try:
        content = snapshot(folder / FILE)
        if _sound(content, folder):
            return None
        found = salvaged(content)
        held = _held(found, folder)
        with tempfile.TemporaryDirectory(prefix=".log-", dir=folder, ignore_cleanup_errors=True) as beside:
            clean = _written(held, found, Path(beside))
            kept = _keep(folder, today)
            if snapshot(folder / FILE) != content:
                raise LogError(f"{folder / FILE}: somebody wrote to it meanwhile: mend it again")
            _put(clean, folder)
    except OSError as error:
        if isinstance(error, LogError):
            raise
        why = error.strerror or str(error)
        raise LogError(f"{folder / FILE} cannot be mended: {why}; nothing was changed") from error
    incomplete = tuple(dict.fromkeys(_NAMES[name] for name in found.damaged if name in _NAMES))
    undone = len(_marks(found, "undone", "entry_id", (one.number for one in held.entries)))
    return Mended(len(held.entries), undone, held.set_aside, incomplete, kept)


def mended_lines(mended: Mended | None) -> tuple[str, ...]:
    """Return what became of a log, a line each."""
    if mended is None:
        return ("Nothing is wrong with the log: it was left as it is.",)
    undone = f", {mended.undone} of them undone" if mended.undone else ""
    return (
        f"The log is mended: {mended.entries} {'entry' if mended.entries == 1 else 'entries'} in it{undone}.",
        f"The old file is kept as {mended.kept.name}; what is named here is in that one alone.",
        *(f"Set aside: {one}. Write it again with outyard log add where it was so." for one in mended.set_aside),
        *(f"Some pages could not be read: {words} may be missing." for words in mended.incomplete),
    )


def _sound(content: bytes, folder: Path) -> bool:
    """Return whether a log can be read as a whole, indexes and all, and nothing of it is set aside."""
    try:
        engine = engine_of(content, folder)
        with reading(engine, folder) as connection:
            whole = connection.exec_driver_sql("PRAGMA integrity_check").scalars().all() == ["ok"]
            whole = whole and not connection.exec_driver_sql("PRAGMA foreign_key_check").all()
            return whole and not stored(rows_of(connection)).set_aside
    except LogError:
        return False


def _held(found: Salvaged, folder: Path) -> Stored:
    """Return what the rows hold. Raises LogError for what is no log, a newer one, or one of which nothing is left."""
    versions = [str(row["version_num"]) for row in found.rows.get("alembic_version", ())]
    if any(version.isdecimal() and int(version) > int(NEWEST) for version in versions):
        raise LogError(f"{folder / FILE} was written by a newer program (version {versions[0]}): use that one")
    if not any(found.rows.get(name) for name in ("entries", "cancellations", "beginnings")):
        raise LogError(
            f"{folder / FILE}: nothing of it can be read, so it was left as it is: put it aside and bring back a copy, "
            "or import the last export"
        )
    rows = {**found.rows, "entries": [_with_reference(row) for row in found.rows.get("entries", ())]}
    held = stored(rows)
    seen: dict[str, int] = {}
    aside = list(held.set_aside)
    for one in held.entries:
        first = seen.setdefault(one.value.reference, one.number)
        if first != one.number:
            named = f"{one.value.date}, {one.value.site}, {one.value.kind}"
            aside.append(SetAside(what="entry", number=one.number, why=f"is entry {first} once more", held=named))
    entries = tuple(one for one in held.entries if seen[one.value.reference] == one.number)
    return Stored(entries, held.cancellations, held.beginnings, tuple(aside))


def _with_reference(row: Row) -> Row:
    """Return the row of an entry with a name of its own, which the first version of the log did not give it."""
    return row if row.get("reference") else {**row, "reference": uuid.uuid4().hex}


def _written(held: Stored, found: Salvaged, folder: Path) -> Path:
    """Write a log with all that was held into a folder and return the file, whole and flushed. Raises LogError."""
    engine = open_engine(folder)
    with writing(engine, folder) as connection:
        for one in held.entries:
            row = {name: getattr(one.value, name) for name in COLUMNS}
            _insert(connection, "entries", [{**row, "id": one.number, "written_at": one.written_at}])
            for name, rows in belonging(one.number, one.value).items():
                _insert(connection, name, rows)
        for gone in held.cancellations:
            row = gone.value.model_dump()
            _insert(connection, "cancellations", [{**row, "id": gone.number, "written_at": gone.written_at}])
        for begun in held.beginnings:
            row = {"id": begun.number, "counts_from": begun.value, "written_at": begun.written_at}
            _insert(connection, "beginnings", [row])
        entries, cancellations = {one.number for one in held.entries}, {one.number for one in held.cancellations}
        _insert(connection, "undone", _marks(found, "undone", "entry_id", entries))
        gone_too = _marks(found, "undone_cancellations", "cancellation_id", cancellations)
        _insert(connection, "undone_cancellations", gone_too)
    with told(folder), closing(sqlite3.connect(folder / FILE, isolation_level=None)) as raw:
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return folder / FILE


def _marks(found: Salvaged, table: str, column: str, numbers: Iterable[int]) -> list[dict[str, object]]:
    known = set(numbers)
    marked = {row[column]: encodable(row["written_at"]) for row in found.rows.get(table, ()) if row[column] in known}
    return [{column: number, "written_at": when} for number, when in marked.items()]


def _insert(connection: Connection, table: str, rows: Sequence[dict[str, object]]) -> None:
    if rows:
        connection.execute(insert(tables.metadata.tables[table]), rows)


def _keep(folder: Path, today: dt.date) -> Path:
    """Copy the old files under a name that nothing has yet and return the log's. Raises OSError."""
    number, stem = 1, f"log-before-mending-{today.isoformat()}"
    while os.path.lexists(folder / f"{stem}.sqlite") or os.path.lexists(folder / f"{stem}.sqlite-wal"):
        number += 1
        stem = f"log-before-mending-{today.isoformat()}-{number}"
    kept = folder / f"{stem}.sqlite"
    try:
        for old, new in ((folder / WAL, folder / f"{stem}.sqlite-wal"), (folder / FILE, kept)):
            if old.exists():
                with old.open("rb") as source, new.open("xb") as copy:
                    shutil.copyfileobj(source, copy)
                    copy.flush()
                    os.fsync(copy.fileno())
    except OSError:
        for half in (folder / f"{stem}.sqlite-wal", kept):
            half.unlink(missing_ok=True)
        raise
    return kept


def _put(clean: Path, folder: Path) -> None:
    """Put the clean log in the place of the old one: in one transaction where SQLite can still open that.

    Where it cannot, no other program can write to it either, and the file is changed over.
    """
    try:
        with (
            closing(sqlite3.connect(clean)) as source,
            closing(sqlite3.connect(folder / FILE, timeout=WAIT_SECONDS)) as to,
        ):
            source.backup(to)
        if _sound(snapshot(folder / FILE), folder):
            return
    except sqlite3.Error as error:
        if error.sqlite_errorname.startswith(("SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_FULL", "SQLITE_READONLY")):
            raise LogError(f"{folder / FILE} cannot be mended: {error}; it still stands as it was") from error
    for old in (WAL, f"{FILE}-shm"):
        (folder / old).unlink(missing_ok=True)
    clean.replace(folder / FILE)
