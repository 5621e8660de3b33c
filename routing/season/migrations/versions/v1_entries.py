"""Version 1: entries with materials, things seen and medicines; an undone entry is marked, never erased."""

from __future__ import annotations

from alembic import op

revision = "1"
down_revision = None

_STATEMENTS = (
    """
    CREATE TABLE entries (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        date TEXT NOT NULL CHECK (date GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
        time TEXT,
        site TEXT NOT NULL CHECK (site <> ''),
        kind TEXT NOT NULL CHECK (kind <> ''),
        minutes REAL CHECK (minutes >= 0),
        crew TEXT NOT NULL,
        people INTEGER CHECK (people >= 1),
        hives INTEGER CHECK (hives >= 0),
        partly INTEGER NOT NULL CHECK (partly IN (0, 1)),
        stores_kg REAL CHECK (stores_kg >= 0),
        queen_cells INTEGER CHECK (queen_cells >= 0),
        note TEXT NOT NULL,
        written_at TEXT NOT NULL
    )
    """,
    """
    CREATE TABLE materials_used (
        entry_id INTEGER NOT NULL REFERENCES entries (id) ON DELETE CASCADE,
        material TEXT NOT NULL,
        amount REAL NOT NULL CHECK (amount >= 0),
        PRIMARY KEY (entry_id, material)
    )
    """,
    """
    CREATE TABLE things_seen (
        entry_id INTEGER NOT NULL REFERENCES entries (id) ON DELETE CASCADE,
        what TEXT NOT NULL,
        PRIMARY KEY (entry_id, what)
    )
    """,
    """
    CREATE TABLE medicines (
        entry_id INTEGER PRIMARY KEY REFERENCES entries (id) ON DELETE CASCADE,
        product TEXT NOT NULL CHECK (product <> ''),
        batch TEXT NOT NULL CHECK (batch <> ''),
        dose TEXT NOT NULL,
        amount TEXT NOT NULL,
        withdrawal_days INTEGER CHECK (withdrawal_days >= 0),
        days_in INTEGER CHECK (days_in >= 1),
        colonies TEXT NOT NULL,
        given_by TEXT NOT NULL,
        bought_on TEXT,
        supplier TEXT NOT NULL,
        disposed_on TEXT,
        disposal TEXT NOT NULL
    )
    """,
    """
    CREATE TABLE undone (
        entry_id INTEGER PRIMARY KEY REFERENCES entries (id) ON DELETE CASCADE,
        written_at TEXT NOT NULL
    )
    """,
    "CREATE INDEX entries_by_site ON entries (site, kind, date)",
    # The law's five years, held by the file itself: no program that opens it can erase a younger record.
    """
    CREATE TRIGGER medicines_are_kept BEFORE DELETE ON entries
    WHEN EXISTS (
        SELECT 1 FROM medicines WHERE entry_id = OLD.id
        AND max(OLD.date, coalesce(disposed_on, OLD.date)) > date('now', '-5 years')
    )
    BEGIN SELECT raise(ABORT, 'a record of a medicine must be kept for five years'); END
    """,
    """
    CREATE TRIGGER medicine_rows_are_kept BEFORE DELETE ON medicines
    WHEN EXISTS (
        SELECT 1 FROM entries WHERE id = OLD.entry_id
        AND max(date, coalesce(OLD.disposed_on, date)) > date('now', '-5 years')
    )
    BEGIN SELECT raise(ABORT, 'a record of a medicine must be kept for five years'); END
    """,
    """
    CREATE TRIGGER medicines_are_not_changed BEFORE UPDATE ON medicines
    BEGIN SELECT raise(ABORT, 'a record of a medicine is not changed: undo it and write another'); END
    """,
)


def upgrade() -> None:
    """Make the tables of version 1."""
    for statement in _STATEMENTS:
        op.execute(statement)
