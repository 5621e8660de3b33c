"""The log keeps what it was told, in its order, and forgets nothing."""

from __future__ import annotations

import datetime as dt
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import NullPool, create_engine, event

from routing.errors import AskedError, LogError
from routing.season import database, log_file
from routing.season.entries import Cancellation, Entry, Medicine
from routing.season.log import Log
from tests.season.small_farm import day, done

FULL = done(
    "ash",
    "strips-in",
    "2026-08-10",
    time="14:30",
    minutes=45.5,
    crew="Rowan",
    people=2,
    hives=10,
    partly=True,
    stores_kg=11.5,
    queen_cells=3,
    seen=("stores-low", "suspect-brood"),
    materials={"strip": 20, "fondant": 2.5},
    note="Two lines\nof note",
    medicine={
        "product": "Strip A",
        "batch": "77",
        "dose": "2 a hive",
        "amount": "20",
        "withdrawal_days": 0,
        "days_in": 42,
        "colonies": "all",
        "given_by": "Rowan",
        "bought_on": "2026-08-01",
        "supplier": "A shop",
        "disposed_on": "2026-10-01",
        "disposal": "back to the shop",
    },
)


def raw(folder: Path) -> sqlite3.Connection:
    return sqlite3.connect(folder / log_file.FILE, isolation_level=None)


def test_an_entry_comes_back_as_it_was_written(tmp_path: Path) -> None:
    Log.open(tmp_path).add(FULL)
    assert Log.open(tmp_path).record().entries == (FULL,)


def test_entries_come_by_date_and_time_and_then_as_written(tmp_path: Path) -> None:
    late = done("ash", "heft", "2026-01-02", time="15:00")
    early = done("ash", "heft", "2026-01-02", time="09:00")
    first = done("beck", "heft", "2026-01-01")
    Log.open(tmp_path).add_all((late, early, first))
    assert Log.open(tmp_path).record().entries == (first, early, late)


def test_the_same_entry_is_kept_once_and_comes_again_after_it_was_undone(tmp_path: Path) -> None:
    """What was undone stays in the file, marked, and the next undo takes what was written last."""
    log = Log.open(tmp_path)
    assert [log.add_all((FULL, FULL)), log.add(FULL)] == [1, False]
    log.undo()
    assert [log.add(FULL), log.add(FULL)] == [True, False]
    assert log.record().entries == (FULL,)
    log.undo()
    assert log.record().entries == ()
    changed = FULL.model_copy(update={"note": "other words"})
    assert log.add(changed)
    assert log.record().entries == (changed,)
    assert [entry.note for entry in log.undone()] == [FULL.note, FULL.note]


def test_another_entry_under_the_same_reference_is_refused_and_nothing_of_the_lot_is_kept(tmp_path: Path) -> None:
    log = Log.open(tmp_path)
    log.add(FULL)
    with pytest.raises(AskedError, match="other words"):
        log.add_all((done("cote", "heft", "2026-01-01"), FULL.model_copy(update={"note": "changed"})))
    assert log.record().entries == (FULL,)


def test_undo_takes_the_last_written_first_and_keeps_it_marked(tmp_path: Path) -> None:
    log = Log.open(tmp_path)
    newer, older = done("ash", "heft", "2026-02-01"), done("ash", "heft", "2026-01-01")
    gone = Cancellation(
        rule="heft", site="ash", due=day("2026-03-01"), closes_on=day("2026-03-01"), date=day("2026-03-01"), why="moved"
    )
    log.add(newer)
    log.cancel((gone,))
    log.add(older)
    assert [log.undo(), log.undo(), log.undo()] == [(older,), (gone,), (newer,)]
    assert log.undone() == (newer, older)
    with pytest.raises(AskedError, match="nothing to undo"):
        log.undo()


def test_a_young_medicine_record_cannot_be_erased_and_an_old_one_can(tmp_path: Path) -> None:
    """Kept at least five years. Source: Veterinary Medicines Regulations 2013 as set out by Cheshire BKA and NBU."""
    today = dt.datetime.now(dt.UTC).date()
    medicine = Medicine(product="Strip A", batch="77")
    old = Entry(site="ash", kind="strips-in", date=today - dt.timedelta(days=5 * 366), medicine=medicine)
    young = Entry(site="ash", kind="strips-in", date=today - dt.timedelta(days=5 * 365 - 9), medicine=medicine)
    thrown_away_late = old.model_copy(
        update={
            "reference": "late",
            "medicine": Medicine(product="B", batch="1", disposed_on=today - dt.timedelta(days=1000)),
        }
    )
    plain = Entry(site="ash", kind="heft", date=young.date)
    log = Log.open(tmp_path)
    log.add_all((old, young, plain))
    with pytest.raises(AskedError, match=r"1 of the entries.*nothing was erased"):
        log.erase_before(today)
    assert len(log.record().entries) == 3
    assert log.erase_before(young.date) == 1
    log.add(thrown_away_late)
    with pytest.raises(AskedError):
        log.erase_before(young.date)
    assert log.record().entries == (thrown_away_late, young, plain)


@pytest.mark.parametrize(
    "statement",
    ["DELETE FROM entries", "DELETE FROM medicines", "UPDATE medicines SET batch = 'x'"],
)
def test_the_file_itself_guards_medicines_from_any_program(tmp_path: Path, statement: str) -> None:
    Log.open(tmp_path).add(FULL.model_copy(update={"date": dt.datetime.now(dt.UTC).date()}))
    with closing(raw(tmp_path)) as connection, pytest.raises(sqlite3.IntegrityError, match="medicine"):
        connection.execute(statement)


def test_it_writes_ahead_with_foreign_keys_and_full_flushes(tmp_path: Path) -> None:
    engine = database.open_engine(tmp_path)
    with database.reading(engine, tmp_path) as connection:
        found = [
            connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "foreign_keys", "synchronous")
        ]
    assert found == ["wal", 1, 2]
    with pytest.raises(LogError, match="FOREIGN KEY"), database.writing(engine, tmp_path) as connection:
        connection.exec_driver_sql("INSERT INTO things_seen VALUES (99, 'lid-off')")


def version_1(folder: Path) -> None:
    """Write a log as version 1 made it, with two entries, one undone."""
    engine = create_engine(f"sqlite:///{folder / log_file.FILE}", poolclass=NullPool)
    config = Config()
    config.set_main_option("script_location", str(Path(database.__file__).parent / "migrations"))
    with engine.connect() as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "1")
        for site in ("ash", "beck"):
            connection.exec_driver_sql(
                "INSERT INTO entries (date, site, kind, crew, partly, stores_kg, note, written_at)"
                " VALUES ('2026-01-02', ?, 'heft', 'Rowan', 0, 12.5, 'as it was', '2026-01-02T10:00:00+00:00')",
                (site,),
            )
        connection.exec_driver_sql("INSERT INTO things_seen VALUES (1, 'stores-low')")
        connection.exec_driver_sql("INSERT INTO materials_used VALUES (1, 'fondant', 2.5)")
        connection.exec_driver_sql(
            "INSERT INTO medicines VALUES (1, 'A', '77', '', '', 0, 42, '', '', NULL, '', NULL, '')"
        )
        connection.exec_driver_sql("INSERT INTO undone VALUES (2, '2026-01-02T11:00:00+00:00')")


def test_a_log_of_version_1_is_brought_up_to_date_with_all_it_held(tmp_path: Path) -> None:
    version_1(tmp_path)
    log = Log.open(tmp_path)
    (entry,) = log.record().entries
    expected = done(
        "ash",
        "heft",
        "2026-01-02",
        crew="Rowan",
        stores_kg=12.5,
        note="as it was",
        seen=("stores-low",),
        materials={"fondant": 2.5},
        medicine={"product": "A", "batch": "77", "withdrawal_days": 0, "days_in": 42},
    )
    assert entry == expected.model_copy(update={"reference": entry.reference})
    assert len(entry.reference) == 32
    assert [gone.site for gone in log.undone()] == ["beck"]
    assert log.add(FULL)
    with closing(raw(tmp_path)) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchall() == [(database.NEWEST,)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


def test_what_cannot_be_opened_says_why(tmp_path: Path) -> None:
    (tmp_path / log_file.FILE).write_bytes(b"not a database, but long enough to be taken for one" * 50)
    with pytest.raises(LogError, match="it is not a log"):
        Log.open(tmp_path)
    with pytest.raises(LogError, match="cannot be opened"):
        Log.open(tmp_path / "nowhere")


def test_another_database_and_a_newer_log_are_left_alone(tmp_path: Path) -> None:
    with closing(raw(tmp_path)) as connection:
        connection.execute("CREATE TABLE songs (name TEXT)")
    with pytest.raises(LogError, match="not a log"):
        Log.open(tmp_path)
    (tmp_path / log_file.FILE).unlink()
    Log.open(tmp_path)
    with closing(raw(tmp_path)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '99'")
    with pytest.raises(LogError, match=r"newer program \(version 99\)"):
        Log.open(tmp_path)


def test_a_full_disk_is_told_and_nothing_is_lost(tmp_path: Path) -> None:
    """SQLite's own limit on pages stands in for the disk: it fails as a full one does, with SQLITE_FULL."""
    log = Log.open(tmp_path)
    kept = [done("ash", "heft", "2026-01-01", note=f"kept {number}") for number in range(5)]
    log.add_all(kept)

    def small_disk(connection: sqlite3.Connection, _record: object) -> None:
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
        connection.execute(f"PRAGMA max_page_count = {pages}")

    event.listen(log._engine, "connect", small_disk)
    with pytest.raises(LogError, match="the disk is full; nothing was changed: free some space"):
        log.add_all(done("ash", "heft", "2026-01-02", note="x" * 9000) for _ in range(9))
    event.remove(log._engine, "connect", small_disk)
    assert list(log.record().entries) == kept
    assert log.add(FULL)


def test_a_folder_in_the_place_of_the_log_says_so(tmp_path: Path) -> None:
    (tmp_path / log_file.FILE).mkdir()
    with pytest.raises(LogError, match="cannot be opened"):
        Log.open(tmp_path)
