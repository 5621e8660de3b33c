"""Version 2: every entry has a name of its own, so that none comes in twice; due dates can be cancelled by name."""

from __future__ import annotations

from alembic import op

revision = "2"
down_revision = "1"

_STATEMENTS = (
    "ALTER TABLE entries ADD COLUMN reference TEXT",
    "UPDATE entries SET reference = lower(hex(randomblob(16)))",
    "CREATE UNIQUE INDEX entries_by_reference ON entries (reference)",
    """
    CREATE TRIGGER entries_have_a_reference BEFORE INSERT ON entries WHEN NEW.reference IS NULL OR NEW.reference = ''
    BEGIN SELECT raise(ABORT, 'an entry needs a reference'); END
    """,
    """
    CREATE TABLE cancellations (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        rule TEXT NOT NULL CHECK (rule <> ''),
        site TEXT NOT NULL CHECK (site <> ''),
        due TEXT NOT NULL,
        closes_on TEXT NOT NULL,
        date TEXT NOT NULL,
        why TEXT NOT NULL CHECK (why <> ''),
        written_at TEXT NOT NULL
    )
    """,
    """
    CREATE TABLE undone_cancellations (
        cancellation_id INTEGER PRIMARY KEY REFERENCES cancellations (id) ON DELETE CASCADE,
        written_at TEXT NOT NULL
    )
    """,
)


def upgrade() -> None:
    """Add references and cancellations to a log of version 1."""
    for statement in _STATEMENTS:
        op.execute(statement)
