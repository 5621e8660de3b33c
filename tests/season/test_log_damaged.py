"""A log with something wrong in it: what is good is read, what is bad is named, and mending keeps the old file."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from pathlib import Path

import pytest

from routing.errors import AskedError, LogError
from routing.season import log_file
from routing.season.log import Log
from routing.season.mend import mend
from routing.season.salvage import IN_SCHEMA, NUMBERED, TABLES, USUAL_PAGES
from routing.season.snapshot import in_memory, snapshot
from tests.season.damaged_log import BAD, BAD_ELSEWHERE, ENTRIES, change, damaged, write_log
from tests.season.small_farm import day, done, write_farm
from tests.season.test_commands import run
from tests.season.test_log import version_1
from tests.together import then_deep

TODAY = day("2026-11-28")
WHOLE = frozenset(f"r{number}" for number in range(ENTRIES))
ON_A_FULL_DISK = """\
import json, resource, signal, sys
from typer.testing import CliRunner
from routing.cli.app import app
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
told = [CliRunner().invoke(app, words) for words in json.loads(sys.argv[1])]
print(json.dumps([[one.exit_code, one.stdout, one.stderr, type(one.exception).__name__] for one in told]))
"""


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a farm and a log in which nothing is wrong."""
    folder = write_farm(tmp_path_factory.mktemp("sound"))
    write_log(folder)
    return folder


@pytest.fixture
def folder(sound: Path, tmp_path: Path) -> Path:
    return shutil.copytree(sound, tmp_path / "farm")


def references(folder: Path) -> set[str]:
    return {entry.reference for entry in Log.record_of(folder).entries}


@pytest.mark.parametrize("column", BAD)
def test_a_bad_value_sets_its_row_aside_by_number_and_the_others_hold(folder: Path, column: str) -> None:
    for value in BAD[column]:
        change(folder, f"UPDATE entries SET {column} = ? WHERE id = 7", (value,))  # noqa: S608
        record = Log.record_of(folder)
        assert [(one.what, one.number) for one in record.set_aside] == [("entry", 7)], value
        assert {entry.reference for entry in record.entries} == WHOLE - {"r6"}
        assert str(record.set_aside[0]).isprintable()


@pytest.mark.parametrize(("table", "column"), BAD_ELSEWHERE)
def test_a_bad_value_that_belongs_to_an_entry_sets_that_one_aside(folder: Path, table: str, column: str) -> None:
    """What was seen, used or given is part of the entry: without it the entry would say something else."""
    for value in BAD_ELSEWHERE[table, column]:
        fresh = shutil.copytree(folder, folder.parent / f"{column}-{BAD_ELSEWHERE[table, column].index(value)}")
        where = f"rowid = (SELECT min(rowid) FROM {table} WHERE entry_id = 7)"  # noqa: S608
        change(fresh, f"UPDATE {table} SET {column} = ? WHERE {where}", (value,))  # noqa: S608
        record = Log.record_of(fresh)
        assert [(one.what, one.number) for one in record.set_aside] == [("entry", 7)], value
        assert {entry.reference for entry in record.entries} == WHOLE - {"r6"}


@pytest.mark.parametrize(
    ("table", "column", "what"),
    [("cancellations", "due", "cancellation"), ("beginnings", "counts_from", "beginning")],
)
def test_a_bad_day_elsewhere_is_set_aside_too(folder: Path, table: str, column: str, what: str) -> None:
    change(folder, f"UPDATE {table} SET {column} = '0001-01-01'")  # noqa: S608
    record = Log.record_of(folder)
    assert [(one.what, one.number) for one in record.set_aside] == [(what, 1)]
    assert references(folder) == WHOLE


def test_every_command_works_beside_a_bad_row_and_names_it(folder: Path) -> None:
    change(folder, "UPDATE entries SET minutes = 3000, site = ? WHERE id = 7", ("a\x1b[2J",))
    for words in (
        *(("log", "list"), ("log", "list", "--site", "ash"), ("due", "list"), ("feed",), ("read",), ("season",)),
        *(("log", "export"), ("learned",), ("plan", "--on", "2026-06-10"), ("fit", "--on", "2026-01-10")),
        *(("log", "add", "--site", "ash", "--kind", "heft", "--on", "2026-03-03"), ("log", "undo")),
    ):
        places = 2 if words[0] in {"log", "due"} else 1
        result = run(*words[:places], folder, *words[places:])
        assert result.exit_code in {0, 1}, (words, result.output)
        assert words == ("log", "undo") or "entry 7 (2026-02-07, a\\x1b[2J, strips-in)" in result.stderr, words
        assert "\x1b" not in result.output


def test_undo_takes_what_was_written_last_and_leaves_bad_rows_alone(folder: Path) -> None:
    change(folder, "UPDATE entries SET minutes = 3000 WHERE id = 40")
    gone = [Log.open(folder).undo() for _ in range(2)]
    assert [getattr(one, "reference", "cancelled") for (one,) in gone] == ["cancelled", "r38"]


def test_an_entry_whose_reference_a_bad_row_has_is_refused(folder: Path) -> None:
    change(folder, "UPDATE entries SET minutes = 3000 WHERE id = 7")
    with pytest.raises(AskedError, match=r"entry 7 .*log mend"):
        Log.open(folder).add(done("ash", "heft", "2026-03-01", reference="r6"))


@pytest.mark.parametrize(
    "seed", then_deep([*range(32), 173], range(64))
)  # 173: another size of pages, that may be, in the header
def test_a_damaged_file_is_read_or_refused_and_what_can_be_read_is_mended(
    sound: Path, tmp_path: Path, seed: int
) -> None:
    """Never a traceback. A header or a schema that is damaged costs no entry: these are written anew."""
    kind, content = damaged((sound / log_file.FILE).read_bytes(), seed)
    (tmp_path / log_file.FILE).write_bytes(content)
    try:
        read = references(tmp_path)
    except LogError as error:
        assert "log mend" in str(error) or "newer program" in str(error)  # noqa: PT017 - either way is right
        read = set()
    assert read <= WHOLE or kind in {"bit", "bytes"}
    try:
        mended = mend(tmp_path, TODAY)
    except LogError as error:
        assert kind in {"other file", "cut", "page", "bytes"} or "newer program" in str(error)  # noqa: PT017
        assert (tmp_path / log_file.FILE).read_bytes() == content
        return
    if mended is not None:
        assert mended.kept.read_bytes() == content
        assert Log.record_of(tmp_path).set_aside == ()
        assert mend(tmp_path, TODAY) is None
    if kind in {"header", "schema"}:
        assert references(tmp_path) == WHOLE
        assert [entry.reference for entry in Log.open(tmp_path).undone()] == ["undone"]


def test_mending_takes_out_bad_rows_and_keeps_all_else(folder: Path) -> None:
    """Medicines, what was undone, what was cancelled and the day the log counts from are as they were before."""
    before = Log.record_of(folder)
    change(folder, "UPDATE entries SET date = '0001-01-01' WHERE id = 7")
    old = snapshot(folder / log_file.FILE)
    result = run("log", "mend", folder)
    told = " ".join(result.stdout.split())
    assert "40 entries in it, 1 of them undone" in told
    assert "Set aside: entry 7 (0001-01-01, ash, strips-in): date" in told
    (kept,) = folder.glob("log-before-mending-*.sqlite")
    assert snapshot(kept) == old
    after = Log.record_of(folder)
    assert after.entries == tuple(entry for entry in before.entries if entry.reference != "r6")
    assert (after.cancellations, after.counts_from, after.set_aside) == (before.cancellations, before.counts_from, ())
    assert [entry.reference for entry in Log.open(folder).undone()] == ["undone"]
    assert "left as it is" in run("log", "mend", folder).stdout
    with closing(sqlite3.connect(folder / log_file.FILE)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        with pytest.raises(sqlite3.IntegrityError, match="medicine"):
            connection.execute("DELETE FROM medicines WHERE bought_on = '2026-08-01'")


def test_what_mending_is_not_for_is_left_as_it_is(folder: Path, tmp_path: Path) -> None:
    assert run("log", "mend", tmp_path).exit_code == 2
    change(folder, "UPDATE alembic_version SET version_num = '99'")
    content = (folder / log_file.FILE).read_bytes()
    result = run("log", "mend", folder)
    assert (result.exit_code, "newer program" in result.output) == (2, True)
    assert (folder / log_file.FILE).read_bytes() == content
    assert list(folder.glob("log-before*")) == []


@pytest.mark.parametrize("table", ["seen_in", "medicines", "undone", "beginnings", "alembic_version"])
def test_a_missing_table_is_told_and_the_rest_is_mended(folder: Path, table: str) -> None:
    change(folder, f"DROP TABLE {table}")
    result = run("due", "list", folder)
    assert (result.exit_code, "log mend" in result.output, "Traceback" in result.output) == (2, True, False)
    assert run("log", "mend", folder).exit_code == 0
    assert references(folder) >= WHOLE


@pytest.mark.parametrize("version", ["0", "abc", "\u00b2", "", b"\xff", "-1", "3\x1b[2J"])
def test_a_version_that_is_none_is_told(folder: Path, version: object) -> None:
    change(folder, "UPDATE alembic_version SET version_num = ?", (version,))
    with pytest.raises(LogError, match="log mend"):
        Log.record_of(folder)
    assert mend(folder, TODAY) is not None
    assert references(folder) == WHOLE


@pytest.fixture(scope="module")
def broken_off(sound: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder whose log was copied while its last 30 entries stood in its write-ahead log alone."""
    folder, copy = shutil.copytree(sound, tmp_path_factory.mktemp("open") / "farm"), tmp_path_factory.mktemp("copy")
    with closing(sqlite3.connect(folder / log_file.FILE, isolation_level=None)) as reader:
        reader.execute("BEGIN")
        reader.execute("SELECT count(*) FROM entries").fetchall()
        for number in range(30):
            Log.open(folder).add(done("cote", "heft", "2026-03-05", reference=f"w{number}", note="x" * 500))
        write_farm(copy)
        for name in (log_file.FILE, f"{log_file.FILE}-wal"):
            shutil.copy(folder / name, copy / name)
    return copy


@pytest.fixture
def unfinished(broken_off: Path, tmp_path: Path) -> Path:
    return shutil.copytree(broken_off, tmp_path / "copy")


def test_what_stands_in_the_write_ahead_log_is_read_and_mended(unfinished: Path) -> None:
    late = {f"w{number}" for number in range(30)}
    with closing(in_memory(snapshot(unfinished / log_file.FILE))) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert {row[0] for row in connection.execute("SELECT reference FROM entries")} >= WHOLE | late
    change(unfinished, "UPDATE entries SET minutes = 3000 WHERE id = 7")
    assert mend(unfinished, TODAY) is not None
    assert references(unfinished) == (WHOLE | late) - {"r6"}


@pytest.mark.parametrize("seed", range(6))
def test_a_damaged_write_ahead_log_costs_what_stands_after_the_damage_and_no_more(unfinished: Path, seed: int) -> None:
    wal = unfinished / f"{log_file.FILE}-wal"
    content = bytearray(wal.read_bytes())
    place = 32 + (len(content) - 64) * seed // 6
    content[place : place + 20] = b"\xaa" * 20
    wal.write_bytes(content)
    plain = snapshot(unfinished / log_file.FILE)
    found = references(unfinished)
    assert found >= WHOLE
    with closing(in_memory(plain)) as connection:
        assert {row[0] for row in connection.execute("SELECT reference FROM entries")} - {"undone"} == found


def test_on_a_full_disk_the_log_is_read_and_nothing_is_said_to_be_written(unfinished: Path) -> None:
    commands = (("log", "list"), ("due",), ("log", "add", "--site", "ash", "--kind", "heft"), ("log", "undo"))
    named = [[*words[:2], str(unfinished), *words[2:]] for words in commands]
    ran = subprocess.run(
        [sys.executable, "-c", ON_A_FULL_DISK, json.dumps(named)], capture_output=True, text=True, check=True
    )
    listed, due, *changing = json.loads(ran.stdout)
    assert (listed[0], listed[1].count("cote: heft")) == (0, 30)
    assert due[0] == 0
    for code, _, said, raised in changing:
        assert (code, "nothing was changed" in said, raised) == (2, True, "SystemExit")


@pytest.mark.skipif(not hasattr(os, "seteuid"), reason="who may write is set otherwise there")
def test_in_a_folder_that_may_not_be_written_to_the_log_is_read(sound: Path) -> None:
    open_to_all = Path(tempfile.mkdtemp())
    try:
        shutil.copy(sound / log_file.FILE, open_to_all)
        (open_to_all / log_file.FILE).chmod(0o444)
        open_to_all.chmod(0o555)
        before = os.geteuid()
        if before == 0:
            os.seteuid(65534)
        try:
            assert references(open_to_all) == WHOLE
            with pytest.raises(LogError, match=r"may not be written|cannot be opened"):
                Log.open(open_to_all).add(done("ash", "heft", "2026-03-03"))
        finally:
            os.seteuid(before)
    finally:
        open_to_all.chmod(0o755)
        shutil.rmtree(open_to_all)


def test_the_bare_schema_is_that_of_a_log_that_begins_today(folder: Path) -> None:
    """Every table with its columns in the order of the file, at its page and at its place in the schema."""
    with closing(sqlite3.connect(folder / log_file.FILE)) as connection:
        rows = connection.execute("SELECT rowid, name, rootpage FROM sqlite_master WHERE type = 'table'").fetchall()
        tables = [row for row in rows if not row[1].startswith("sqlite_")]
        assert {name: page for _, name, page in tables} == USUAL_PAGES
        assert {number: name for number, name, _ in tables} == IN_SCHEMA
        for _, name, _ in tables:
            columns = connection.execute(f"PRAGMA table_info({name})").fetchall()
            assert tuple(column[1] for column in columns) == TABLES[name]
            key = [column[2] for column in columns if column[5]]
            assert (key == ["INTEGER"]) == (name in NUMBERED)


def test_a_log_that_an_older_version_began_is_mended_whatever_its_schema_says(tmp_path: Path) -> None:
    """Its tables begin at other pages than those of a log of today."""
    version_1(tmp_path)
    before = Log.record_of(tmp_path)
    with closing(sqlite3.connect(tmp_path / log_file.FILE)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    file = tmp_path / log_file.FILE
    content = file.read_bytes()
    assert content.count(b"CREATE TABLE entries (") == 1
    file.write_bytes(content.replace(b"CREATE TABLE entries (", b"CREATE TABLE \xffntries ("))
    with pytest.raises(LogError, match="log mend"):
        Log.record_of(tmp_path)
    assert mend(tmp_path, TODAY) is not None
    assert Log.record_of(tmp_path) == before
    assert [entry.site for entry in Log.open(tmp_path).undone()] == ["beck"]
