"""Opening `log.sqlite`: write-ahead log, foreign keys, every commit on the disk, and the newest version.

SQLAlchemy Core is the access: typed statements with bound parameters, and alembic beside it for the migrations, both
long kept and under the MIT licence. What they and SQLite raise over a damaged file becomes LogError here.
"""

from __future__ import annotations

import re
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, NullPool, StaticPool, create_engine, event
from sqlalchemy.exc import SQLAlchemyError

from routing import season
from routing.errors import LogError
from routing.farm.faults import quoted
from routing.season.log_file import FILE
from routing.season.snapshot import in_memory, snapshot

NEWEST = "3"
"""The version that `migrations/` leads to."""
WAIT_SECONDS = 20.0
"""So long one writer waits for another before it gives up."""

TRY_AGAIN_SECONDS = 0.05
HELD = frozenset({"SQLITE_BUSY", "SQLITE_BUSY_RECOVERY", "SQLITE_BUSY_SNAPSHOT", "SQLITE_LOCKED"})

MEND = "outyard log mend FOLDER writes a clean log of what can still be read and keeps this file"
_VERSION = re.compile(r"[1-9]\d{0,5}", re.ASCII)

_WHY = {
    "SQLITE_FULL": ("the disk is full", "free some space and write it again"),
    "SQLITE_IOERR": ("the disk would not take it", "is it full, or gone? Look at it and write it again"),
    "SQLITE_BUSY": ("another program is holding it", "close the other one and write it again"),
    "SQLITE_LOCKED": ("another program is holding it", "close the other one and write it again"),
    "SQLITE_READONLY": ("it may not be written to", "look at who may write to the folder"),
    "SQLITE_CANTOPEN": ("it cannot be opened", "is the folder there, and may you write to it?"),
    "SQLITE_NOTADB": ("it is not a log, or its beginning is damaged", MEND),
    "SQLITE_CORRUPT": ("it is damaged", MEND),
    "SQLITE_ERROR": ("it is damaged", MEND),
    "SQLITE_TOOBIG": ("it is damaged", MEND),
    "SQLITE_CONSTRAINT": ("it refuses", ""),
}
_NOT_TO_BE_WRITTEN = ("SQLITE_FULL", "SQLITE_IOERR", "SQLITE_READONLY", "SQLITE_CANTOPEN")
_LONGEST_SAID = 200
_SAID = frozenset({"SQLITE_CONSTRAINT", "SQLITE_IOERR", "SQLITE_ERROR"})
"""What SQLite itself says is told too."""


class UnwritableLogError(LogError):
    """Nothing can be written where the log is; it may still be read."""


def open_engine(folder: Path) -> Engine:
    """Return an engine on the log of a folder, made and brought to the newest version. Raises LogError."""
    url = URL.create("sqlite+pysqlite", database=str(folder / FILE))
    engine = create_engine(url, poolclass=NullPool, connect_args={"timeout": WAIT_SECONDS})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    with told(folder):
        _upgrade(engine, folder)
    return engine


def copied_engine(folder: Path, trouble: UnwritableLogError) -> Engine:
    """Return an engine on a copy in memory of the log of a folder in which nothing can be written, to read it.

    Raises LogError: `trouble` where the log cannot be read so either.
    """
    try:
        if not (folder / FILE).is_file():
            raise trouble
        content = snapshot(folder / FILE)
    except OSError as error:
        raise trouble from error
    return engine_of(content, folder)


def engine_of(content: bytes, folder: Path) -> Engine:
    """Return an engine on a log in memory that begins with these bytes, brought up to date there. Raises LogError."""
    engine = create_engine("sqlite+pysqlite://", poolclass=StaticPool, creator=lambda: in_memory(content))
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    with told(folder):
        _upgrade(engine, folder, ahead=False)
    return engine


@contextmanager
def reading(engine: Engine, folder: Path) -> Iterator[Connection]:
    """Yield a connection that sees one moment of the log. Raises LogError."""
    with told(folder), engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine, folder: Path) -> Iterator[Connection]:
    """Yield a connection that holds the log; all is kept at the end, or nothing where anything fails.

    Raises LogError.
    """
    with told(folder), engine.connect() as plain:
        connection = plain.execution_options(writes=True)
        with connection.begin():
            yield connection


def _prepare(connection: sqlite3.Connection, _record: object) -> None:
    """Set up a fresh connection; transactions are begun by `_begin`, not by the driver."""
    connection.isolation_level = None
    connection.text_factory = _text
    # FULL flushes each commit to the disk: what was said to be written survives a power cut. Source: sqlite.org/pragma
    for pragma in ("foreign_keys = ON", "synchronous = FULL"):
        connection.execute(f"PRAGMA {pragma}")


def _text(content: bytes) -> str:
    """Return a text from the file; bytes that are none become what no entry may hold, so that the row is set aside."""
    return content.decode(errors="surrogateescape")


def _begin(connection: Connection) -> None:
    """Begin a transaction; one that writes takes its lock at once, so that two writers queue and never deadlock."""
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _upgrade(engine: Engine, folder: Path, *, ahead: bool = True) -> None:
    with engine.connect() as connection, connection.begin():
        found = _version(connection)
    if found == NEWEST:
        return
    if found is not None and int(found) > int(NEWEST):
        raise LogError(f"{folder / FILE} was written by a newer program (version {found}): use that one")
    if ahead:
        _write_ahead(engine, folder)
    with engine.connect() as plain:
        connection = plain.execution_options(writes=True)
        with connection.begin():
            if _version(connection) != NEWEST:  # else another program was quicker
                season.migrate.run_steps(connection)


def _write_ahead(engine: Engine, folder: Path) -> None:
    """Switch the file to a write-ahead log, which it then stays: readers never wait for a writer.

    SQLite does not wait for another program here as it does elsewhere, so two that begin a log together must try again.
    """
    until = time.monotonic() + WAIT_SECONDS
    raw = engine.raw_connection()
    try:
        while True:
            try:
                raw.cursor().execute("PRAGMA journal_mode = WAL")
            except sqlite3.OperationalError as error:
                if error.sqlite_errorname not in HELD or time.monotonic() > until:
                    raise _error(folder, error) from error
                time.sleep(TRY_AGAIN_SECONDS)
            else:
                return
    finally:
        raw.close()


def _version(connection: Connection) -> str | None:
    """Return the version of the log, None for a new one. Raises LogError for a database that is none."""
    names = [row[0] for row in connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'table'")]
    if "alembic_version" in names:
        value: Any = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
        if isinstance(value, str) and _VERSION.fullmatch(value):
            return value
        raise LogError(f"{FILE} does not say its version: {MEND}")
    if "entries" in names:
        raise LogError(f"{FILE} is damaged: {MEND}")
    if names:
        raise LogError(f"{FILE} is a database, but not a log: move it out of the folder")
    return None


@contextmanager
def told(folder: Path) -> Iterator[None]:
    """Turn what the database says into one sentence with what to do: LogError, UnwritableLogError where that is why."""
    try:
        yield
    except SQLAlchemyError as error:
        raise _error(folder, getattr(error, "orig", None) or error) from error
    except sqlite3.Error as error:
        raise _error(folder, error) from error
    except UnicodeDecodeError as error:  # a flipped bit in the name of a table or column, or in what SQLite says of it
        raise LogError(f"{folder / FILE}: it is damaged; nothing was changed: {MEND}") from error


def _error(folder: Path, error: object) -> LogError:
    name = getattr(error, "sqlite_errorname", "")
    kind = UnwritableLogError if name.startswith(_NOT_TO_BE_WRITTEN) else LogError
    return kind(f"{folder / FILE}: {_sentence(error)}")


def _sentence(error: object) -> str:
    """Return what the driver's error means and what to do."""
    name = getattr(error, "sqlite_errorname", "")
    said = quoted(str(error), _LONGEST_SAID)[1:-1]
    for start, (what, remedy) in _WHY.items():
        if name.startswith(start):
            own = f" ({said})" if start in _SAID else ""
            return f"{what}{own}; nothing was changed" + (f": {remedy}" if remedy else "")
    return f"the database says {said}; nothing was changed: {MEND}"
