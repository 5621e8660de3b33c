"""The target `log`: log.sqlite with values of its rows and bytes of its file changed."""

from __future__ import annotations

import datetime as dt
import re
import sqlite3
from pathlib import Path

from routing.season.csv_files import entries_csv
from routing.season.log import Log
from routing.season.tables import metadata
from tests.fuzz.inputs import Files
from tests.fuzz.mutate import lines_changed
from tests.fuzz.of_season import some_entries
from tests.fuzz.target import Target, scratch, written


def log_target() -> Target:
    """Return the target of log.sqlite: values of its rows, and bytes of its file, changed as a line each says.

    `entries.minutes 1 = 30` puts a value into a row, `byte 100 = 7` a byte at a place, `cut 4096` shortens the file.
    """
    folder, good = scratch(), _good_log(scratch())

    def run(files: Files) -> None:
        written({}, folder)
        (folder / "log.sqlite").write_bytes(good)
        for line in files.get("changes", b"").decode("utf-8", "replace").splitlines()[:40]:
            _change(folder / "log.sqlite", line)
        log = Log.open(folder)
        entries_csv(log.record().entries)
        log.undone()
        log.add(some_entries()[0].model_copy(update={"reference": "new"}))

    seeds = tuple({"changes": b"entries.minutes 1 = 30" + line} for line in (b"", b"\nbyte 100 = 7", b"\ncut 8192"))
    spelt = tuple(f"{table.name}.{column.name}" for table in metadata.sorted_tables for column in table.columns)
    return Target("log", {"changes": lines_changed}, seeds, run, spelt=(*spelt, "byte", "cut"))


def _good_log(folder: Path) -> bytes:
    log = Log.open(folder)
    log.begin(dt.date(2026, 1, 1))
    log.add_all(some_entries()[:2])
    log.undo()
    log.add_all(some_entries()[1:])
    with sqlite3.connect(folder / "log.sqlite") as plain:
        plain.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        plain.execute("PRAGMA journal_mode = DELETE")
    return (folder / "log.sqlite").read_bytes()


def _change(path: Path, line: str) -> None:
    """Change a database as a line says; a line that means nothing changes nothing."""
    where, sign, value = line.partition(" = ")
    word, _, number = where.partition(" ")
    at = int(number) if re.fullmatch("[0-9]{1,9}", number) else None
    content = path.read_bytes()
    if at is None:
        return
    if word == "cut" and not sign:
        path.write_bytes(content[:at])
    elif word == "byte" and content and re.fullmatch("[0-9]{1,3}", value):
        at %= len(content)
        path.write_bytes(content[:at] + bytes([int(value) % 256]) + content[at + 1 :])
    elif sign:
        table, _, column = word.replace('"', "").partition(".")
        statement = f'UPDATE "{table}" SET "{column}" = ? WHERE rowid = ?'  # noqa: S608 - on a file of our own
        _executed(path, statement, _as_stored(value), at)


def _executed(path: Path, statement: str, *values: object) -> None:
    plain = sqlite3.connect(path)
    try:
        with plain:
            plain.execute(statement, values)
    except (sqlite3.Error, sqlite3.Warning, UnicodeError, OverflowError, ValueError):
        return  # nothing that SQLite takes
    finally:
        plain.close()


def _as_stored(value: str) -> object:
    """Return a number where the text is one, bytes where it begins with 0x, else the text."""
    for kind in (int, float, _bytes):
        try:
            return kind(value)
        except (ValueError, OverflowError):
            continue
    return value


def _bytes(value: str) -> bytes:
    if not value.startswith("x'"):
        raise ValueError(value)
    return bytes.fromhex(value[2:].rstrip("'"))
