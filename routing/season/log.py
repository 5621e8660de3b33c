"""The log: what was done, where and when, what was used and seen. It is only ever added to.

Undoing marks an entry and keeps it. Each call either keeps all that it was given or nothing.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Self

from sqlalchemy import ColumnElement, Connection, Select, delete, func, insert, select, update

from routing.errors import AskedError
from routing.farm.faults import quoted
from routing.season import tables
from routing.season.database import UnwritableLogError, copied_engine, open_engine, reading, writing
from routing.season.entries import KEEP_YEARS, Cancellation, Entry, Record
from routing.season.log_file import FILE
from routing.season.raw_rows import belonging, rows_of, rows_of_entries
from routing.season.stored import COLUMNS, Kept, Stored, stored

MOST_AT_ONCE = 500
"""So many numbers are asked for in one question; SQLite's own limit on them is higher."""


class Log:
    """The log of one farm folder. Open it with `Log.open`; it holds no file open between calls."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._unwritable: UnwritableLogError | None = None
        try:
            self._engine = open_engine(folder)
        except UnwritableLogError as error:
            self._engine, self._unwritable = copied_engine(folder, error), error

    @classmethod
    def open(cls, folder: Path) -> Self:
        """Return the log of a farm folder, begun where there is none, brought up to date where it is old.

        Where nothing can be written, what is there is read all the same. Raises LogError where it cannot be.
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
        with self._writing() as connection:
            return _add_new(connection, tuple(entries), _now())

    def begin(self, counts_from: dt.date) -> None:
        """Write down from when the log counts; the last word on it holds. Raises LogError."""
        with self._writing() as connection:
            connection.execute(insert(tables.beginnings).values(counts_from=counts_from, written_at=_now()))

    def undo(self) -> tuple[Entry | Cancellation, ...]:
        """Mark what the last call wrote, all of it, as undone and return it; it stays in the file.

        Raises AskedError where nothing is left to undo, and LogError.
        """
        with self._writing() as connection:
            rows = rows_of(connection)
            held = stored(rows)
            gone = {row["entry_id"] for row in rows["undone"]}
            gone_too = {row["cancellation_id"] for row in rows["undone_cancellations"]}
            entries = _last_call([one for one in held.entries if one.number not in gone])
            cancelled = _last_call([one for one in held.cancellations if one.number not in gone_too])
            if not entries and not cancelled:
                raise AskedError("the log holds nothing to undo")
            now = _now()
            if not entries or (cancelled and cancelled[0].written_at > entries[0].written_at):
                marks = [{"cancellation_id": one.number, "written_at": now} for one in cancelled]
                connection.execute(insert(tables.undone_cancellations), marks)
                return tuple(one.value for one in cancelled)
            connection.execute(insert(tables.undone), [{"entry_id": one.number, "written_at": now} for one in entries])
            return tuple(one.value for one in entries)

    def cancel(self, cancellations: Sequence[Cancellation]) -> None:
        """Write down that due dates were set aside, all or none. Raises LogError."""
        with self._writing() as connection:
            now = _now()
            for cancelled in cancellations:
                connection.execute(insert(tables.cancellations).values(**cancelled.model_dump(), written_at=now))

    def record(self) -> Record:
        """Return all that was not undone, by date and time and then as it was written. Raises LogError.

        Rows that are not as they should be are named in it, and nothing is taken from them.
        """
        with reading(self._engine, self.folder) as connection:
            rows = rows_of(connection)
        held = stored(rows)
        gone = {row["entry_id"] for row in rows["undone"]}
        gone_too = {row["cancellation_id"] for row in rows["undone_cancellations"]}
        return Record(
            entries=tuple(one.value for one in held.entries if one.number not in gone),
            cancellations=tuple(one.value for one in held.cancellations if one.number not in gone_too),
            counts_from=held.beginnings[-1].value if held.beginnings else None,
            set_aside=tuple(one for one in held.set_aside if one.what != "entry" or one.number not in gone),
        )

    def undone(self) -> tuple[Entry, ...]:
        """Return the entries that were undone, as they were written. Raises LogError."""
        with reading(self._engine, self.folder) as connection:
            rows = rows_of(connection)
        gone = {row["entry_id"] for row in rows["undone"]}
        return tuple(one.value for one in stored(rows).entries if one.number in gone)

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        if self._unwritable is not None:
            raise self._unwritable
        with writing(self._engine, self.folder) as connection:
            yield connection

    def erase_before(self, date: dt.date) -> int:
        """Erase all entries older than a date for good and return how many.

        Raises LogError, and erases nothing, where a medicine among them was given or disposed of in the last five
        years: the file itself refuses.
        """
        with self._writing() as connection:
            young = connection.execute(_young_medicines(date)).scalar_one()
            if young:
                raise AskedError(
                    f"{young} of the entries before {date} are records of medicines younger than {KEEP_YEARS} years, "
                    "which the law asks to keep: nothing was erased; name an earlier date"
                )
            return connection.execute(delete(tables.entries).where(tables.entries.c.date < date)).rowcount


def _now() -> str:
    return dt.datetime.now(dt.UTC).isoformat(timespec="microseconds")


def _last_call[Value](live: Sequence[Kept[Value]]) -> list[Kept[Value]]:
    """Return the rows that were written by the last call that wrote any, in their order."""
    return [one for one in live if one.written_at == live[-1].written_at]


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
    rows: dict[str, list[dict[str, object]]] = {}
    new = 0
    for entry in entries:
        if entry.reference in known:
            _require_same(entry, known[entry.reference])
            continue
        known[entry.reference] = entry
        new += 1
        row = {name: getattr(entry, name) for name in COLUMNS}
        key = connection.execute(insert(tables.entries).values(**row, written_at=now)).inserted_primary_key
        for name, more in belonging(key[0] if key else None, entry).items():
            rows.setdefault(name, []).extend(more)
    for name, found in rows.items():
        if found:
            connection.execute(insert(tables.metadata.tables[name]), found)
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
    """Return the entries that the log has under these references.

    Raises AskedError where one of these was set aside.
    """
    found: dict[str, Entry] = {}
    for some in _some_of(references):
        numbers = connection.execute(select(tables.entries.c.id).where(some)).scalars().all()
        held: Stored = stored(rows_of_entries(connection, numbers))
        if held.set_aside:
            raise AskedError(
                f"the log holds one of these already and cannot read it: {held.set_aside[0]}; "
                "outyard log mend FOLDER takes such rows out"
            )
        found |= {one.value.reference: one.value for one in held.entries}
    return found


def _require_same(entry: Entry, known: Entry) -> None:
    if entry != known:
        raise AskedError(
            f"entry {quoted(entry.reference)[1:-1]} is in the log already with other words: undo that one, then write "
            "this one with an empty reference"
        )
