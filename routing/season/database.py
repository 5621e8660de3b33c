"""Opening `log.sqlite`: write-ahead log, foreign keys, every commit on the disk, and the newest version.

SQLAlchemy Core is the access: typed statements with bound parameters, and alembic beside it for the migrations, both
long kept and under the MIT licence.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, NullPool, create_engine, event, inspect, text
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from routing.errors import LogError, OutyardError

FILE = "log.sqlite"
"""In the farm folder."""
NEWEST = "3"
"""The version that `migrations/` leads to."""
WAIT_SECONDS = 20.0
"""So long one writer waits for another before it gives up."""

TRY_AGAIN_SECONDS = 0.05
HELD = frozenset({"SQLITE_BUSY", "SQLITE_BUSY_RECOVERY", "SQLITE_BUSY_SNAPSHOT", "SQLITE_LOCKED"})

_WHY = {
    "SQLITE_FULL": ("the disk is full", "free some space and write it again"),
    "SQLITE_IOERR": ("the disk would not take it", "is it full, or gone? Look at it and write it again"),
    "SQLITE_BUSY": ("another program is holding it", "close the other one and write it again"),
    "SQLITE_LOCKED": ("another program is holding it", "close the other one and write it again"),
    "SQLITE_READONLY": ("it may not be written to", "look at who may write to the folder"),
    "SQLITE_CANTOPEN": ("it cannot be opened", "is the folder there, and may you write to it?"),
    "SQLITE_NOTADB": ("it is not a log", "put it aside and bring back a copy"),
    "SQLITE_CORRUPT": ("it is damaged", "put it aside and bring back a copy, or import the last export"),
    "SQLITE_CONSTRAINT": ("it refuses", ""),
}


def open_engine(folder: Path) -> Engine:
    """Return an engine on the log of a folder, made and brought to the newest version. Raises LogError."""
    url = URL.create("sqlite+pysqlite", database=str(folder / FILE))
    engine = create_engine(url, poolclass=NullPool, connect_args={"timeout": WAIT_SECONDS})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    with _told(folder):
        _upgrade(engine, folder)
    return engine


@contextmanager
def reading(engine: Engine, folder: Path) -> Iterator[Connection]:
    """Yield a connection that sees one moment of the log. Raises LogError."""
    with _told(folder), engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine, folder: Path) -> Iterator[Connection]:
    """Yield a connection that holds the log; all is kept at the end, or nothing where anything fails.

    Raises LogError.
    """
    with _told(folder), engine.connect() as plain:
        connection = plain.execution_options(writes=True)
        with connection.begin():
            yield connection


def _prepare(connection: sqlite3.Connection, _record: object) -> None:
    """Set up a fresh connection; transactions are begun by `_begin`, not by the driver."""
    connection.isolation_level = None
    # FULL flushes each commit to the disk: what was said to be written survives a power cut. Source: sqlite.org/pragma
    for pragma in ("foreign_keys = ON", "synchronous = FULL"):
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    """Begin a transaction; one that writes takes its lock at once, so that two writers queue and never deadlock."""
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _upgrade(engine: Engine, folder: Path) -> None:
    with engine.connect() as connection, connection.begin():
        found = _version(connection)
    if found == NEWEST:
        return
    _write_ahead(engine, folder)
    with engine.connect() as plain:
        connection = plain.execution_options(writes=True)
        with connection.begin():
            found = _version(connection)
            if found == NEWEST:  # another program was quicker
                return
            if found is not None and int(found) > int(NEWEST):
                raise LogError(f"{folder / FILE} was written by a newer program (version {found}): use that one")
            _run_steps(connection)


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
                    raise LogError(f"{folder / FILE}: {_sentence(error)}") from error
                time.sleep(TRY_AGAIN_SECONDS)
            else:
                return
    finally:
        raw.close()


def _version(connection: Connection) -> str | None:
    """Return the version of the log, None for a new one. Raises LogError for a database that is none."""
    names = inspect(connection).get_table_names()
    if "alembic_version" in names:
        value: Any = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
        if isinstance(value, str) and value.isdigit():
            return value
        raise LogError(f"{FILE} does not say its version: put it aside and bring back a copy")
    if names:
        raise LogError(f"{FILE} is a database, but not a log: move it out of the folder")
    return None


def _run_steps(connection: Connection) -> None:
    from alembic import command  # noqa: PLC0415 - heavy, and only needed for a new or an old log
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, NEWEST)


@contextmanager
def _told(folder: Path) -> Iterator[None]:
    """Turn what the database says into one sentence with what to do."""
    try:
        yield
    except DBAPIError as error:
        raise LogError(f"{folder / FILE}: {_sentence(error.orig)}") from error
    except OutyardError:
        raise
    except (SQLAlchemyError, sqlite3.Error, ValueError, TypeError, OverflowError, LookupError) as error:
        # What the driver and the models say of bytes and values that no log of ours holds.
        raise LogError(f"{folder / FILE}: it is damaged: {_WHY['SQLITE_CORRUPT'][1]}") from error


def _sentence(error: object) -> str:
    """Return what the driver's error means and what to do."""
    name = getattr(error, "sqlite_errorname", "")
    for start, (what, remedy) in _WHY.items():
        if name.startswith(start):
            said = f" ({error})" if start in {"SQLITE_CONSTRAINT", "SQLITE_IOERR"} else ""
            return f"{what}{said}; nothing was changed" + (f": {remedy}" if remedy else "")
    return f"the database says {error}; nothing was changed"
