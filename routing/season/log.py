"""The log: what was done, where and when, what was used and seen. It is only ever added to.

Undoing marks an entry and keeps it. Each call either keeps all that it was given or nothing.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, Self

from sqlalchemy import ColumnElement, Connection, Row, Select, Table, delete, exists, func, insert, select, update

from routing.errors import AskedError
from routing.season import tables
from routing.season.database import FILE, open_engine, reading, writing
from routing.season.entries import KEEP_YEARS, Cancellation, Entry, Medicine, Record

SHOWN = ("date", "time", "site", "kind", "minutes", "crew", "people", "hives", "partly", "stores_kg", "queen_cells")
COLUMNS = ("reference", *SHOWN, "note")
"""The fields of an entry that stand in its own row."""
MOST_AT_ONCE = 500
"""So many numbers are asked for in one question; SQLite's own limit on them is higher."""


class Log:
    """The log of one farm folder. Open it with `Log.open`; it holds no file open between calls."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._engine = open_engine(folder)

    @classmethod
    def open(cls, folder: Path) -> Self:
        """Return the log of a farm folder, begun where there is none, brought up to date where it is old.

        Raises LogError where it cannot be.
        """
        return cls(folder)

    @classmethod
    def record_of(cls, folder: Path) -> Record:
        """Return what the log of a folder holds, or an empty record where there is no log; none is begun."""
        return cls.open(folder).record() if (folder / FILE).exists() else Record()

    def add(self, entry: Entry) -> bool:
        """Write one entry; return False where the log has it already. Raises LogError."""
        return bool(self.add_all((entry,)))

    def add_all(self, entries: Iterable[Entry]) -> int:
        """Write entries, all or none, and return how many were new; one that is there already is passed over.

        One that was undone may come again. Raises LogError, and AskedError where an entry has the reference of another
        that says something else.
        """
        with writing(self._engine, self.folder) as connection:
            return _add_new(connection, tuple(entries), _now())

    def begin(self, counts_from: dt.date) -> None:
        """Write down from when the log counts; the last word on it holds. Raises LogError."""
        with writing(self._engine, self.folder) as connection:
            connection.execute(insert(tables.beginnings).values(counts_from=counts_from, written_at=_now()))

    def undo(self) -> tuple[Entry | Cancellation, ...]:
        """Mark what the last call wrote, all of it, as undone and return it; it stays in the file.

        Raises AskedError where nothing is left to undo, and LogError.
        """
        with writing(self._engine, self.folder) as connection:
            entries = _newest(connection, tables.entries, tables.undone)
            gone = _newest(connection, tables.cancellations, tables.undone_cancellations)
            if not entries and not gone:
                raise AskedError("the log holds nothing to undo")
            now = _now()
            if not entries or (gone and gone[0].written_at > entries[0].written_at):
                marks = [{"cancellation_id": row.id, "written_at": now} for row in gone]
                connection.execute(insert(tables.undone_cancellations), marks)
                return tuple(_cancellation(row) for row in gone)
            numbers = [row.id for row in entries]
            connection.execute(insert(tables.undone), [{"entry_id": number, "written_at": now} for number in numbers])
            return tuple(_entries(connection, select(tables.entries).where(tables.entries.c.id.in_(numbers))))

    def cancel(self, cancellations: Sequence[Cancellation]) -> None:
        """Write down that due dates were set aside, all or none. Raises LogError."""
        with writing(self._engine, self.folder) as connection:
            now = _now()
            for cancelled in cancellations:
                connection.execute(insert(tables.cancellations).values(**cancelled.model_dump(), written_at=now))

    def record(self) -> Record:
        """Return all that was not undone, by date and time and then as it was written. Raises LogError."""
        entries, cancelled = tables.entries, tables.cancellations
        with reading(self._engine, self.folder) as connection:
            wanted = _live(entries, tables.undone).order_by(entries.c.date, entries.c.time, entries.c.id)
            rows = connection.execute(_live(cancelled, tables.undone_cancellations).order_by(cancelled.c.id))
            begun = select(tables.beginnings.c.counts_from).order_by(tables.beginnings.c.id.desc()).limit(1)
            return Record(
                entries=tuple(_entries(connection, wanted)),
                cancellations=tuple(_cancellation(row) for row in rows),
                counts_from=connection.execute(begun).scalar(),
            )

    def undone(self) -> tuple[Entry, ...]:
        """Return the entries that were undone, as they were written. Raises LogError."""
        entries, undone = tables.entries, tables.undone
        with reading(self._engine, self.folder) as connection:
            wanted = select(entries).join(undone, undone.c.entry_id == entries.c.id).order_by(entries.c.id)
            return tuple(_entries(connection, wanted))

    def erase_before(self, date: dt.date) -> int:
        """Erase all entries older than a date for good and return how many.

        Raises LogError, and erases nothing, where a medicine among them was given or disposed of in the last five
        years: the file itself refuses.
        """
        with writing(self._engine, self.folder) as connection:
            young = connection.execute(_young_medicines(date)).scalar_one()
            if young:
                raise AskedError(
                    f"{young} of the entries before {date} are records of medicines younger than {KEEP_YEARS} years, "
                    "which the law asks to keep: nothing was erased; name an earlier date"
                )
            return connection.execute(delete(tables.entries).where(tables.entries.c.date < date)).rowcount


def _now() -> str:
    return dt.datetime.now(dt.UTC).isoformat(timespec="microseconds")


def _live(table: Table, undone: Table) -> Select[Any]:
    """Select the rows of a table that are not undone."""
    (mark,) = undone.primary_key.columns
    return select(table).where(~exists().where(mark == table.c.id))


def _newest(connection: Connection, table: Table, undone: Table) -> Sequence[Row[Any]]:
    """Return the rows that are not undone and were written by the last call that wrote any, in their order."""
    last = connection.execute(_live(table, undone).order_by(table.c.id.desc()).limit(1)).first()
    if last is None:
        return ()
    return connection.execute(_live(table, undone).where(table.c.written_at == last.written_at)).all()


def _young_medicines(date: dt.date) -> Select[Any]:
    entries, medicines = tables.entries, tables.medicines
    last = func.max(entries.c.date, func.coalesce(medicines.c.disposed_on, entries.c.date))
    return (
        select(func.count())
        .select_from(entries.join(medicines))
        .where(entries.c.date < date, last > func.date("now", f"-{KEEP_YEARS} years"))
    )


def _add_new(connection: Connection, entries: Sequence[Entry], now: str) -> int:
    """Write the entries that the log does not have and return how many. Raises AskedError."""
    references = [entry.reference for entry in entries]
    _free_undone(connection, references)
    known = _known(connection, references)
    materials, seen, counts, medicines = [], [], [], []
    new = 0
    for entry in entries:
        if entry.reference in known:
            _require_same(entry, known[entry.reference])
            continue
        known[entry.reference] = entry
        new += 1
        row = {name: getattr(entry, name) for name in COLUMNS}
        key = connection.execute(insert(tables.entries).values(**row, written_at=now)).inserted_primary_key
        own = {"entry_id": key[0] if key else None}
        materials += [{**own, "material": name, "amount": amount} for name, amount in entry.materials.items()]
        seen += [{**own, "what": what} for what in entry.seen]
        counts += [{**own, "what": what, "hives": hives} for what, hives in entry.seen_in.items()]
        medicines += [{**own, **entry.medicine.model_dump()}] if entry.medicine else []
    of_entries = (tables.materials_used, tables.things_seen, tables.seen_in, tables.medicines)
    for table, rows in zip(of_entries, (materials, seen, counts, medicines), strict=True):
        if rows:
            connection.execute(insert(table), rows)
    return new


def _free_undone(connection: Connection, references: Sequence[str]) -> None:
    """Give undone entries of these references new ones, so that the same report or file can be written again."""
    for some in _some_of(references):
        undone = select(tables.entries.c.id).where(some, tables.entries.c.id.in_(select(tables.undone.c.entry_id)))
        for number in connection.execute(undone).scalars().all():
            mine = update(tables.entries).where(tables.entries.c.id == number)
            connection.execute(mine.values(reference=uuid.uuid4().hex))


def _some_of(references: Sequence[str]) -> Iterator[ColumnElement[bool]]:
    for start in range(0, len(references), MOST_AT_ONCE):
        yield tables.entries.c.reference.in_(references[start : start + MOST_AT_ONCE])


def _known(connection: Connection, references: Sequence[str]) -> dict[str, Entry]:
    """Return the entries that the log has under these references."""
    found: dict[str, Entry] = {}
    for some in _some_of(references):
        found |= {entry.reference: entry for entry in _entries(connection, select(tables.entries).where(some))}
    return found


def _require_same(entry: Entry, known: Entry) -> None:
    if entry != known:
        raise AskedError(
            f"entry {entry.reference} is in the log already with other words: undo that one, then write this one "
            "with an empty reference"
        )


def _entries(connection: Connection, wanted: Select[Any]) -> Iterable[Entry]:
    """Yield the selected entries with all that belongs to them."""
    rows = connection.execute(wanted).all()
    if not rows:
        return
    numbers = [row.id for row in rows]
    few = numbers if len(numbers) <= MOST_AT_ONCE else None
    materials: dict[int, dict[str, float]] = {}
    for row in connection.execute(_of(tables.materials_used, few)):
        materials.setdefault(row.entry_id, {})[row.material] = row.amount
    seen: dict[int, list[str]] = {}
    for row in connection.execute(_of(tables.things_seen, few)):
        seen.setdefault(row.entry_id, []).append(row.what)
    counts: dict[int, dict[str, int]] = {}
    for row in connection.execute(_of(tables.seen_in, few)):
        counts.setdefault(row.entry_id, {})[row.what] = row.hives
    medicines = {row.entry_id: _medicine(row) for row in connection.execute(_of(tables.medicines, few))}
    for row in rows:
        own = {name: getattr(row, name) for name in COLUMNS}
        yield Entry(
            **own,
            materials=materials.get(row.id, {}),
            seen=tuple(seen.get(row.id, ())),
            seen_in=counts.get(row.id, {}),
            medicine=medicines.get(row.id),
        )


def _of(table: Table, numbers: list[int] | None) -> Select[Any]:
    return select(table) if numbers is None else select(table).where(table.c.entry_id.in_(numbers))


def _medicine(row: Any) -> Medicine:  # noqa: ANN401 - a row has no type of its own
    return Medicine.model_validate({name: getattr(row, name) for name in Medicine.model_fields})


def _cancellation(row: Any) -> Cancellation:  # noqa: ANN401
    return Cancellation.model_validate({name: getattr(row, name) for name in Cancellation.model_fields})
