"""The farmer's own tables changed from the page: the rest of their files keeps every byte, and nothing is lost."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from routing.desk.edits import Edits
from routing.desk.files.changes import Change, NewRow
from routing.errors import WriteError
from routing.farm.folder import read_farm
from routing.output import whole
from tests.desk.grid_bench import new_farm, write_cell

SITES = (
    "id;name;place;hives;colour\r\norchard;Old orchard;SO 498 431;12;red\r\nquarry;Quarry edge;SO 561 387;8;blue\r\n"
)


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    return new_farm(tmp_path / "farm")


def test_one_cell_changes_and_no_other_byte_does(farm: Path) -> None:
    (farm / "jobs.csv").unlink()
    title = "\ufeffMy sites; as of May\r\n\r\n"
    note = "\r\n\r\nThe old ones are in the drawer\r\n"
    (farm / "sites.csv").write_bytes((title + SITES + note).encode())
    (farm / "drives.csv").unlink()
    edits = Edits(farm)
    assert write_cell(edits, "sites", 4, "name", "The old; orchard")
    wanted = title + SITES.replace("Old orchard", '"The old; orchard"') + note
    assert (farm / "sites.csv").read_bytes() == wanted.encode()
    assert edits.undo().kept
    assert (farm / "sites.csv").read_bytes() == (title + SITES + note).encode()
    assert edits.redo().kept
    assert (farm / "sites.csv").read_bytes() == wanted.encode()


def test_a_row_is_added_in_the_files_own_way_and_one_is_taken_out(farm: Path) -> None:
    for name in ("jobs.csv", "drives.csv"):
        (farm / name).unlink()
    (farm / "sites.csv").write_text(
        '"id"\t"hives"\t"place"\r"a"\t"1"\t"SO 498 431"\r"b"\t"2"\t"SO 561 387"', newline=""
    )
    edits = Edits(farm)
    added = NewRow({"id": "c", "hives": "3", "place": "SO 500 400"}, after=2)
    outcome = edits.change("sites", edits.table("sites").digest, Change(added=(added,), dropped=frozenset({3})))
    assert outcome.kept
    assert outcome.lines == {2: 2}
    wanted = b'"id"\t"hives"\t"place"\r"a"\t"1"\t"SO 498 431"\r"c"\t"3"\t"SO 500 400"\r'
    assert (farm / "sites.csv").read_bytes() == wanted


def test_a_column_that_the_file_lacks_is_added_where_it_is_needed(farm: Path) -> None:
    before = (farm / "jobs.csv").read_text()
    edits = Edits(farm)
    assert write_cell(edits, "jobs", 2, "promised", "2026-12-03") is False  # due_by stands there: that is a fault
    assert write_cell(edits, "jobs", 10, "promised", "2026-12-03")
    lines = (farm / "jobs.csv").read_text().splitlines()
    assert lines[0] == before.splitlines()[0] + ",promised"
    assert lines[9] == before.splitlines()[9] + ",2026-12-03"
    assert lines[1:9] == before.splitlines()[1:9]
    edits.undo()
    assert (farm / "jobs.csv").read_text() == before


def test_a_table_that_is_not_there_is_made_and_undone(farm: Path) -> None:
    (farm / "jobs.csv").unlink()
    edits = Edits(farm)
    row = NewRow({"site": "orchard", "kind": "heft"})
    assert edits.change("jobs", edits.table("jobs").digest, Change(added=(row,))).kept
    assert read_farm(farm).jobs[0].site == "orchard"
    edits.undo()
    assert not (farm / "jobs.csv").exists()
    edits.redo()
    assert read_farm(farm).jobs[0].kind == "heft"


def test_a_fault_is_told_at_its_cell_and_the_other_rows_are_kept(farm: Path) -> None:
    edits = Edits(farm)
    change = Change(
        {2: {"hives": "12x"}, 3: {"hives": "9"}},
        (NewRow({"id": "new"}), NewRow({"id": "low", "hives": "3", "place": "SO 470 300"})),
    )
    outcome = edits.change("sites", edits.table("sites").digest, change)
    assert outcome.kept
    told = {(one.origin, one.column): one.fault.what for one in outcome.drafts}
    assert told[("line", 2), "hives"] == 'hives "12x" is not a whole number'
    assert told[("new", 0), "hives"] == "hives is missing"
    assert {site.id: site.hives for site in read_farm(farm).sites} == {
        "orchard": 12, "quarry": 9, "meadow": 10, "wood": 6, "lane": 5, "low": 3,
    }  # fmt: skip


def test_of_a_change_that_is_to_be_whole_nothing_is_kept_where_a_row_has_a_fault(farm: Path) -> None:
    edits = Edits(farm)
    table = edits.table("sites")
    before = table.path.read_bytes()
    good = {"id": "ash", "name": "Ash", "place": "52.3, -2.9", "hives": "4"}
    rows = (NewRow(good), NewRow({**good, "id": "oak", "place": "nowhere"}))
    outcome = edits.change_whole("sites", table.digest, Change(added=rows))
    assert not outcome.kept
    assert [fault.column for fault in outcome.refused] == ["place"]
    assert "place" in outcome.why_not
    assert table.path.read_bytes() == before
    assert edits.change_whole("sites", table.digest, Change(added=rows[:1])).kept


def test_what_would_break_another_table_is_not_written(farm: Path) -> None:
    before = (farm / "sites.csv").read_bytes()
    edits = Edits(farm)
    outcome = edits.change("sites", edits.table("sites").digest, Change(dropped=frozenset({2})))
    assert not outcome.kept
    assert any(fault.file == "jobs.csv" and "orchard" in fault.what for fault in outcome.faults)
    assert (farm / "sites.csv").read_bytes() == before


def test_a_file_with_faults_can_be_mended_one_by_one(farm: Path) -> None:
    text = (farm / "sites.csv").read_text()
    (farm / "sites.csv").write_text(text.replace(",12,2,", ",dozen,2,").replace(",8,0,", ",eight,0,"))
    edits = Edits(farm)
    assert write_cell(edits, "sites", 2, "hives", "12")
    assert not write_cell(edits, "sites", 4, "hives", "ten")
    assert "dozen" not in (farm / "sites.csv").read_text()
    assert write_cell(edits, "sites", 3, "hives", "8")
    assert (farm / "sites.csv").read_text() == text


def test_changes_of_two_tabs_in_different_rows_are_both_kept(farm: Path) -> None:
    one, other = Edits(farm), Edits(farm)
    first, second = one.table("sites").digest, other.table("sites").digest
    added = NewRow({"id": "low", "hives": "3", "place": "SO 470 300"}, after=2)
    assert one.change("sites", first, Change({2: {"hives": "11"}}, (added,))).kept
    outcome = other.change("sites", second, Change({4: {"hives": "7"}}))
    assert outcome.kept
    assert outcome.merged
    assert {site.id: site.hives for site in read_farm(farm).sites} == {
        "orchard": 11, "low": 3, "quarry": 8, "meadow": 7, "wood": 6, "lane": 5,
    }  # fmt: skip


def test_the_same_cell_changed_twice_gives_both_and_writes_nothing(farm: Path) -> None:
    edits = Edits(farm)
    base = edits.table("sites").digest
    text = (farm / "sites.csv").read_text().replace(",12,2,", ",20,2,")
    (farm / "sites.csv").write_text(text)
    outcome = edits.change("sites", base, Change({2: {"hives": "11"}}))
    assert not outcome.kept
    assert [(one.was, one.mine, one.theirs) for one in outcome.both] == [("12", "11", "20")]
    assert (farm / "sites.csv").read_text() == text
    assert not edits.undo().kept
    gone = edits.change("sites", base, Change({3: {"hives": "1"}, 9: {"hives": "1"}}))
    assert [(one.line, one.theirs) for one in gone.both] == [(9, None)]


def test_undo_never_takes_back_what_was_changed_elsewhere(farm: Path) -> None:
    edits = Edits(farm)
    assert write_cell(edits, "sites", 2, "hives", "11")
    later = (farm / "sites.csv").read_text() + "\n"
    (farm / "sites.csv").write_text(later)
    outcome = edits.undo()
    assert not outcome.kept
    assert "changed elsewhere" in outcome.said
    assert (farm / "sites.csv").read_text() == later


def test_a_full_disk_leaves_the_old_file_and_says_so_in_one_line(farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = (farm / "sites.csv").read_bytes()
    edits = Edits(farm)
    edits.table("sites")

    def full(*_args: object, **_named: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("routing.desk.files.saving.write_new", full)
    with pytest.raises(WriteError, match="No space left on device; what stood there before still stands: free some"):
        write_cell(edits, "sites", 2, "hives", "11")
    assert (farm / "sites.csv").read_bytes() == before
    assert not [path for path in farm.iterdir() if path.name.startswith(".outyard-")]
    assert edits.can == ("", "")


def test_a_link_out_of_the_farm_folder_is_not_written_through(farm: Path, tmp_path: Path) -> None:
    outside = tmp_path / "outside.csv"
    shutil.move(farm / "sites.csv", outside)
    (farm / "sites.csv").symlink_to(outside)
    before = outside.read_bytes()
    with pytest.raises(WriteError, match="leads out of the farm folder"):
        write_cell(Edits(farm), "sites", 2, "hives", "11")
    assert outside.read_bytes() == before


def test_what_another_program_writes_in_the_last_moment_is_kept(farm: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The other program writes after the digest was compared and before the file is changed over."""
    edits = Edits(farm)
    theirs = (farm / "sites.csv").read_text().replace("Beech wood", "Beech hanger")

    def late(path: Path, content: bytes, *, private: bool) -> None:
        whole.write_new(path, content, private=private)
        if (farm / "sites.csv").read_text() != theirs and b"Beech wood" in content:
            (farm / "sites.csv").write_text(theirs)

    monkeypatch.setattr("routing.desk.files.saving.write_new", late)
    outcome = edits.change("sites", edits.table("sites").digest, Change({2: {"hives": "11"}}))
    assert outcome.kept
    assert outcome.merged
    assert (farm / "sites.csv").read_text() == theirs.replace(",12,2,", ",11,2,")


def test_a_text_that_a_spreadsheet_would_reckon_is_made_harmless(farm: Path) -> None:
    edits = Edits(farm)
    assert write_cell(edits, "sites", 2, "notes", '=HYPERLINK("http://a.example","x")')
    assert write_cell(edits, "sites", 2, "phone", "+44 1632 960 001")
    site = read_farm(farm).sites[0]
    assert site.notes.startswith("'=HYPERLINK")
    assert site.phone == "+44 1632 960 001"
