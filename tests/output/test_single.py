"""Single files are written whole; where one of several fails, all stand as they stood."""

import os
import stat
from pathlib import Path

import pytest

from routing.errors import AskedError, WriteError
from routing.output.ledger import FILE, MOST_BYTES, Ledger
from routing.output.places import Ground
from routing.output.single import write_files


def held(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text() for path in folder.iterdir() if path.name != FILE}


def test_files_are_written_in_folders_that_are_made_and_replaced_as_our_own(tmp_path: Path) -> None:
    paths = (tmp_path / "away" / "a", tmp_path / "b")
    for text in ("one", "two"):
        assert write_files(dict.fromkeys(paths, text), Ground(tmp_path)) == paths
    assert held(tmp_path / "away") == {"a": "two"}
    assert (tmp_path / "b").read_text() == "two"


def test_a_failure_between_two_moves_puts_the_first_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    names = [tmp_path / name for name in "abc"]
    write_files({names[0]: "old a", names[2]: "old c"}, Ground(tmp_path))
    whole = Path.replace

    def fails_at_c(self: Path, target: Path) -> Path:
        if target.name == "c":
            raise OSError(5, "Input/output error")
        return whole(self, target)

    monkeypatch.setattr(Path, "replace", fails_at_c)
    with pytest.raises(WriteError, match="Input/output error; what stood there before still stands"):
        write_files(dict.fromkeys(names, "new"), Ground(tmp_path))
    assert held(tmp_path) == {"a": "old a", "c": "old c"}


@pytest.mark.parametrize("second_names", [True, False])
def test_the_mode_stays_and_private_files_are_for_nobody_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, second_names: bool
) -> None:
    def none(*_paths: Path) -> None:
        raise PermissionError(1, "Operation not permitted")

    if not second_names:
        monkeypatch.setattr(os, "link", none)
    path = tmp_path / "a"
    write_files({path: "one"}, Ground(tmp_path))
    path.chmod(0o640)
    write_files({path: "two"}, Ground(tmp_path))
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    write_files({path: "code"}, Ground(tmp_path), private=True)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert held(tmp_path) == {"a": "code"}


def test_two_names_of_one_file_are_refused(tmp_path: Path) -> None:
    with pytest.raises(AskedError, match="the same"):
        write_files({tmp_path / "a": "1", tmp_path / "x" / ".." / "a": "2"}, Ground(tmp_path))


def test_what_a_killed_writer_left_goes_with_the_next_writing(tmp_path: Path) -> None:
    (tmp_path / ".outyard-part-1234").write_text("gate code")
    (tmp_path / ".outyard-mine").write_text("mine")
    write_files({tmp_path / "a": "one"}, Ground(None))
    assert held(tmp_path) == {".outyard-mine": "mine", "a": "one"}


def test_the_list_knows_a_file_by_content_and_place_also_when_the_farm_has_moved(tmp_path: Path) -> None:
    farm = tmp_path / "farm"
    farm.mkdir()
    inside, outside = farm / "a.csv", tmp_path / "b.csv"
    write_files({inside: "one", outside: "two"}, Ground(farm))
    farm = farm.rename(tmp_path / "moved")
    (farm / "copy.csv").write_text("one")
    ledger = Ledger(farm)
    assert ledger.knows(farm / "a.csv")
    assert ledger.knows(outside)
    assert not ledger.knows(farm / "copy.csv")
    outside.write_text("two, and a line of the farmer's")
    assert not ledger.knows(outside)


def test_a_line_that_a_kill_cut_short_spoils_no_other(tmp_path: Path) -> None:
    write_files({tmp_path / "a": "one"}, Ground(tmp_path))
    with (tmp_path / FILE).open("a") as file:
        file.write("\n0123")
    write_files({tmp_path / "b": "two"}, Ground(tmp_path))
    assert all(Ledger(tmp_path).knows(tmp_path / name) for name in "ab")


def test_a_long_list_forgets_its_older_half(tmp_path: Path) -> None:
    ledger = Ledger(tmp_path)
    ledger.note({tmp_path / f"{'x' * 200}{number}": "0" * 64 for number in range(5000)})
    assert (tmp_path / FILE).stat().st_size > MOST_BYTES
    write_files({tmp_path / "a": "one"}, Ground(tmp_path))
    assert (tmp_path / FILE).stat().st_size < MOST_BYTES
    assert Ledger(tmp_path).knows(tmp_path / "a")


def test_the_list_is_no_link_and_a_farm_that_cannot_be_written_to_stops_nothing(tmp_path: Path) -> None:
    (tmp_path / "farm").mkdir()
    (tmp_path / "other").write_text("kept")
    (tmp_path / "farm" / FILE).symlink_to(tmp_path / "other")
    write_files({tmp_path / "a": "one"}, Ground(tmp_path / "farm"))
    assert (tmp_path / "other").read_text() == "kept"


def test_a_full_disk_is_told_and_nothing_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_file: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(WriteError, match="No space left"):
        write_files({tmp_path / "b": "one"}, Ground(None))
    assert held(tmp_path) == {}
