"""The tables of the log as they are in the newest version; `migrations/` makes them."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Date, Float, ForeignKey, Integer, MetaData, String, Table, Time

metadata = MetaData()

entries = Table(
    "entries",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("reference", String, nullable=False, unique=True),
    Column("date", Date, nullable=False),
    Column("time", Time),
    Column("site", String, nullable=False),
    Column("kind", String, nullable=False),
    Column("minutes", Float),
    Column("crew", String, nullable=False),
    Column("people", Integer),
    Column("hives", Integer),
    Column("partly", Boolean, nullable=False),
    Column("stores_kg", Float),
    Column("queen_cells", Integer),
    Column("note", String, nullable=False),
    Column("written_at", String, nullable=False),
)

materials_used = Table(
    "materials_used",
    metadata,
    Column("entry_id", ForeignKey("entries.id", ondelete="CASCADE"), primary_key=True),
    Column("material", String, primary_key=True),
    Column("amount", Float, nullable=False),
)

things_seen = Table(
    "things_seen",
    metadata,
    Column("entry_id", ForeignKey("entries.id", ondelete="CASCADE"), primary_key=True),
    Column("what", String, primary_key=True),
)

seen_in = Table(
    "seen_in",
    metadata,
    Column("entry_id", ForeignKey("entries.id", ondelete="CASCADE"), primary_key=True),
    Column("what", String, primary_key=True),
    Column("hives", Integer, nullable=False),
)

medicines = Table(
    "medicines",
    metadata,
    Column("entry_id", ForeignKey("entries.id", ondelete="CASCADE"), primary_key=True),
    Column("product", String, nullable=False),
    Column("batch", String, nullable=False),
    Column("dose", String, nullable=False),
    Column("amount", String, nullable=False),
    Column("withdrawal_days", Integer),
    Column("days_in", Integer),
    Column("colonies", String, nullable=False),
    Column("given_by", String, nullable=False),
    Column("bought_on", Date),
    Column("supplier", String, nullable=False),
    Column("disposed_on", Date),
    Column("disposal", String, nullable=False),
)

undone = Table(
    "undone",
    metadata,
    Column("entry_id", ForeignKey("entries.id", ondelete="CASCADE"), primary_key=True),
    Column("written_at", String, nullable=False),
)

cancellations = Table(
    "cancellations",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("rule", String, nullable=False),
    Column("site", String, nullable=False),
    Column("due", Date, nullable=False),
    Column("closes_on", Date, nullable=False),
    Column("date", Date, nullable=False),
    Column("why", String, nullable=False),
    Column("written_at", String, nullable=False),
)

undone_cancellations = Table(
    "undone_cancellations",
    metadata,
    Column("cancellation_id", ForeignKey("cancellations.id", ondelete="CASCADE"), primary_key=True),
    Column("written_at", String, nullable=False),
)

beginnings = Table(
    "beginnings",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("counts_from", Date, nullable=False),
    Column("written_at", String, nullable=False),
)
