"""Logs with something wrong in them: a value that no column may hold, bytes that were changed, pages that are gone."""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from pathlib import Path

from routing.season import log_file
from routing.season.entries import Cancellation
from routing.season.log import Log
from tests.season.small_farm import day, done

MEDICINE = {"product": "Strip A", "batch": "77", "withdrawal_days": 0, "days_in": 42, "bought_on": "2026-08-01"}
ENTRIES = 40
PAGE = 4096
BAD: dict[str, tuple[object, ...]] = {
    "date": ("0001-01-01", "9999-12-31", "2026-02-30", "yesterday", 20260110, b"\xff", "", "2026-01-01\x1b[2J"),
    "time": ("25:00", "noon", 3.5, b"12:00", "12:00+01:00"),
    "minutes": (3000, -1, "long", float("inf"), b"\x00"),
    "people": (0, 21, 1.5, "two", 1 << 62),
    "hives": (-1, 5001, 2.5, "ten"),
    "partly": (2, -1, "yes", 0.5),
    "stores_kg": (-1, 101, "heavy", float("inf")),
    "queen_cells": (-1, 10_001, "x"),
    "site": ("", "s" * 61, "a\x1b[31m", b"\xff\xfe", "\u202eash"),
    "kind": ("", "k" * 61, "a\nb", b"\x00"),
    "crew": ("c" * 201, "\x07", b"\xff"),
    "note": ("n" * 10_001, "\x1b]0;x\x07", b"\xfe"),
    "reference": ("r" * 61, b"\xff", "\x1b[2J"),
    "written_at": (),
}
"""By column of the entries, what it cannot hold."""
BAD_ELSEWHERE: dict[tuple[str, str], tuple[object, ...]] = {
    ("materials_used", "amount"): (-1, "much", float("inf"), 1e7, b"1"),
    ("materials_used", "material"): ("", "m" * 61, "\x1b[2J", b"\xff"),
    ("things_seen", "what"): ("unicorn", "", "\x1b[2J", b"\xff", 7),
    ("seen_in", "hives"): (0, 5001, "all", 1.5),
    ("medicines", "product"): ("", "p" * 201, "\x1b[2J"),
    ("medicines", "batch"): ("", b"\xff"),
    ("medicines", "withdrawal_days"): (-1, 3651, "never"),
    ("medicines", "days_in"): (0, 366, "x"),
    ("medicines", "bought_on"): ("0001-01-01", "soon", 5),
    ("medicines", "disposed_on"): ("2026-13-01", "9999-01-01"),
}


def write_log(folder: Path) -> Log:
    """Begin a log with entries that have all there is, the last of them undone, and a cancelled due date."""
    log = Log.open(folder)
    log.begin(day("2026-01-01"))
    entries = [
        done(
            "ash",
            "strips-in",
            f"2026-02-{1 + number % 28:02d}",
            reference=f"r{number}",
            seen=("stores-low", "lid-off"),
            seen_in={"stores-low": 2},
            materials={"strip": 20.0, "fondant": 2.5},
            medicine=MEDICINE,
            note=f"note {number} " * 40,
        )
        for number in range(ENTRIES)
    ]
    log.add_all(entries[:20])
    for entry in entries[20:]:
        log.add(entry)
    date = day("2026-03-01")
    log.cancel((Cancellation(rule="heft", site="ash", due=date, closes_on=date, date=date, why="moved"),))
    log.add(done("beck", "heft", "2026-03-02", reference="undone"))
    log.undo()
    return log


def change(folder: Path, statement: str, values: tuple[object, ...] = ()) -> None:
    """Change the file as another program may, which keeps to none of the checks."""
    with closing(sqlite3.connect(folder / log_file.FILE, isolation_level=None)) as connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        connection.execute("DROP TRIGGER IF EXISTS medicines_are_not_changed")
        connection.execute(statement, values)


def damaged(content: bytes, seed: int) -> tuple[str, bytes]:
    """Return the kind of a damage and the file with it."""
    chance = random.Random(seed)
    changed = bytearray(content)
    pages = len(content) // PAGE
    of_schema = [0, *(page for page in range(pages) if b"CREATE T" in content[page * PAGE : (page + 1) * PAGE])]
    kind = ("bit", "schema", "bytes", "cut", "zeros", "header", "page", "other file")[seed % 8]
    if kind in {"bit", "bytes"}:
        for _ in range(1 if kind == "bit" else 20):
            changed[chance.randrange(len(changed))] ^= 1 << chance.randrange(8)
    elif kind == "schema":
        for _ in range(chance.choice((1, 1, 5))):
            changed[chance.choice(of_schema) * PAGE + chance.randrange(100, PAGE)] = chance.randrange(256)
    elif kind == "cut":
        del changed[chance.randrange(1, len(changed)) :]
    elif kind == "zeros":
        start = chance.randrange(len(changed))
        end = min(len(changed), start + chance.choice((1, 100, PAGE)))
        changed[start:end] = bytes(end - start)
    elif kind == "header":
        changed[:100] = bytes(chance.choice((byte, byte, chance.randrange(256))) for byte in changed[:100])
    elif kind == "page":
        start = chance.randrange(pages) * PAGE
        changed[start : start + PAGE] = chance.randbytes(PAGE)
    else:
        changed = bytearray(chance.randbytes(chance.randrange(1, 9000)))
    return kind, bytes(changed)
