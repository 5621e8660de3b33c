"""Version 3: in how many colonies a thing was seen, and from when the log counts."""

from __future__ import annotations

from alembic import op

revision = "3"
down_revision = "2"

_STATEMENTS = (
    """
    CREATE TABLE seen_in (
        entry_id INTEGER NOT NULL REFERENCES entries (id) ON DELETE CASCADE,
        what TEXT NOT NULL,
        hives INTEGER NOT NULL CHECK (hives >= 1),
        PRIMARY KEY (entry_id, what)
    )
    """,
    """
    CREATE TABLE beginnings (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        counts_from TEXT NOT NULL CHECK (counts_from GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
        written_at TEXT NOT NULL
    )
    """,
)


def upgrade() -> None:
    """Add numbers to what was seen, and beginnings, to a log of version 2."""
    for statement in _STATEMENTS:
        op.execute(statement)
