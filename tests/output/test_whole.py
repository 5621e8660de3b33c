"""A folder is written as one whole: the old files or the new ones, and the farmer's own beside them untouched."""

import json
import os
import stat
from pathlib import Path

import pytest

from routing.errors import AskedError, WriteError
from routing.output import beside, whole
from routing.output.beside import writing_in
from routing.output.places import Ground
from routing.output.whole import Filled, fill_folder


def farm_in(folder: Path, *, replace: bool = False) -> Ground:
    farm = folder / "farm"
    farm.mkdir(exist_ok=True)
    return Ground(farm, replace=replace)


def fill(folder: Path, ground: Ground, *, private: bool = False, **texts: str) -> Filled:
    return fill_folder(texts, folder, ground, stale=lambda name: name.startswith("page"), private=private)


def held(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text() for path in folder.iterdir() if path.is_file()}


def test_files_are_written_and_nothing_else_is_left(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "folder"
    filled = fill_folder({"round.json": "{}\n", "map.html": "é\r\n"}, folder, farm_in(tmp_path))
    assert filled.paths == (folder / "round.json", folder / "map.html")
    assert (folder / "map.html").read_bytes() == "é\r\n".encode()
    assert sorted(path.name for path in folder.iterdir()) == ["map.html", "round.json"]
    assert [path.name for path in folder.parent.iterdir()] == ["folder"]


def without_exchange(_one: Path, _other: Path) -> bool:
    return False


@pytest.mark.parametrize("at_once", [True, False])
def test_a_second_writing_replaces_the_first_and_stale_pages_go(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, at_once: bool
) -> None:
    if not at_once:
        monkeypatch.setattr(whole, "exchange", without_exchange)
    fill(tmp_path / "day", farm_in(tmp_path), round="one", page1="a", page2="b")
    filled = fill(tmp_path / "day", farm_in(tmp_path), round="two", page2="c")
    assert held(tmp_path / "day") == {"round": "two", "page2": "c"}
    assert filled.removed == ("page1",)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["day", "farm"]


@pytest.mark.parametrize("at_once", [True, False])
def test_files_folders_and_links_of_the_farmer_stay_as_they_are(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, at_once: bool
) -> None:
    if not at_once:
        monkeypatch.setattr(whole, "exchange", without_exchange)
    day, ground = tmp_path / "day", farm_in(tmp_path)
    fill(day, ground, round="one", page1="a")
    (day / "notes.txt").write_text("mine")
    (day / "page9").write_text("mine too, though named like a page")
    (day / "photos").mkdir(mode=0o750)
    (day / "photos" / "hive.jpg").write_text("picture")
    (day / "link").symlink_to("nowhere")
    os.utime(day / "photos", (1, 1))
    (day / "page1").write_text("changed by hand")
    before = [(day / name).lstat() for name in ("notes.txt", "page9", "photos/hive.jpg", "link")]
    filled = fill(day, ground, round="two")
    after = [(day / name).lstat() for name in ("notes.txt", "page9", "photos/hive.jpg", "link")]
    assert [(one.st_ino, one.st_mtime_ns, one.st_mode) for one in before] == [
        (one.st_ino, one.st_mtime_ns, one.st_mode) for one in after
    ]
    photos = (day / "photos").stat()
    assert (stat.S_IMODE(photos.st_mode), photos.st_mtime) == (0o750, 1)
    assert (day / "round").read_text() == "two"
    assert (filled.removed, filled.left) == ((), ("page1", "page9"))
    assert {one.st_nlink for one in after} == {1}


def test_a_file_system_without_second_names_carries_copies(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    day, ground = tmp_path / "day", farm_in(tmp_path)
    fill(day, ground, round="one")
    (day / "notes.txt").write_text("mine")
    (day / "link").symlink_to("nowhere")
    os.utime(day / "notes.txt", (5, 5))

    def none(*_paths: Path, **_options: bool) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", none)
    fill(day, ground, round="two")
    assert held(day) == {"round": "two", "notes.txt": "mine"}
    assert (day / "notes.txt").stat().st_mtime == 5
    assert (day / "link").readlink() == Path("nowhere")


def test_a_file_that_was_changed_or_is_not_ours_is_replaced_only_when_told(tmp_path: Path) -> None:
    day = tmp_path / "day"
    fill(day, farm_in(tmp_path), round="one")
    (day / "round").write_text("changed by hand")
    with pytest.raises(AskedError, match="--replace"):
        fill(day, farm_in(tmp_path), round="two")
    assert held(day) == {"round": "changed by hand"}
    fill(day, farm_in(tmp_path, replace=True), round="two")
    assert held(day) == {"round": "two"}


def test_a_failure_leaves_the_old_files_and_nothing_beside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fill(tmp_path / "day", farm_in(tmp_path), a="old a", b="old b")

    def full(_file: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(WriteError, match="No space left on device; what stood there before still stands"):
        fill(tmp_path / "day", farm_in(tmp_path), a="new", b="new")
    with pytest.raises(WriteError, match="No space left"):
        fill(tmp_path / "other" / "day", farm_in(tmp_path), a="new")
    assert held(tmp_path / "day") == {"a": "old a", "b": "old b"}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["day", "farm"]


def test_a_failure_between_two_renames_puts_the_old_folder_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(tmp_path / "day", farm_in(tmp_path), a="old")
    monkeypatch.setattr(whole, "exchange", without_exchange)
    rename = Path.rename

    def fails_for_the_new(self: Path, target: Path) -> Path:
        if self.parent.name == "new":
            raise OSError(5, "Input/output error")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", fails_for_the_new)
    with pytest.raises(WriteError, match="Input/output error"):
        fill(tmp_path / "day", farm_in(tmp_path), a="new")
    assert held(tmp_path / "day") == {"a": "old"}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["day", "farm"]


def test_what_was_saved_while_the_folders_changed_places_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    day, ground = tmp_path / "day", farm_in(tmp_path)
    fill(day, ground, a="old")
    (day / "notes.txt").write_text("first")
    os.utime(day / "notes.txt", (5, 5))
    change = whole._change_over

    def saves_first(ready: Path, place: Path) -> None:
        (place / "notes.txt").unlink()
        (place / "notes.txt").write_text("second")
        (place / "more.txt").write_text("third")
        change(ready, place)

    monkeypatch.setattr(whole, "_change_over", saves_first)
    fill(day, ground, a="new")
    assert held(day) == {"a": "new", "notes.txt": "second", "notes (before 1).txt": "first", "more.txt": "third"}


def test_a_private_folder_and_its_files_are_for_nobody_else(tmp_path: Path) -> None:
    day = tmp_path / "day"
    fill(day, farm_in(tmp_path), a="open")
    assert stat.S_IMODE((day / "a").stat().st_mode) & 0o077 or os.umask(os.umask(0)) & 0o077 == 0o077
    fill(day, farm_in(tmp_path), private=True, a="code")
    assert (stat.S_IMODE(day.stat().st_mode), stat.S_IMODE((day / "a").stat().st_mode)) == (0o700, 0o600)


@pytest.mark.parametrize("name", ["", ".", "..", "../a", "a/b", "a\\b", "a\0b"])
def test_only_plain_file_names_are_taken(tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match="not a plain file name"):
        fill_folder({"ok": "x", name: "x"}, tmp_path / "day", Ground(None))
    assert list(tmp_path.iterdir()) == []


def test_hidden_folders_of_an_earlier_version_are_removed_and_others_are_not(tmp_path: Path) -> None:
    day, ground = tmp_path / "day", farm_in(tmp_path)
    fill(day, ground, a="old")
    for name, part in ((".round-ab12_x9z", "new"), (".round-ab12_x9y", "photos"), (".round-mine", "old")):
        (day / name / part).mkdir(parents=True)
        (day / name / part / "a").write_text("gate code")
    fill(day, ground, a="new")
    assert sorted(path.name for path in day.iterdir()) == [".round-ab12_x9y", ".round-mine", "a"]


def test_traps_that_stand_beside_are_not_followed(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "kept").write_text("kept")
    (tmp_path / ".outyard-ready-link").symlink_to(outside)
    trap = tmp_path / ".outyard-ready-trap"
    (trap / "new" / "x").mkdir(parents=True)
    (trap / "about.json").write_text(json.dumps({"name": "../outside", "number": 1, "replaced": {"kept": []}}))
    fill(tmp_path / "day", farm_in(tmp_path), a="new")
    assert held(outside) == {"kept": "kept"}
    assert held(tmp_path / "day") == {"a": "new"}


def test_two_writers_take_turns(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(beside, "WAIT_SECONDS", 0.05)
    with writing_in(tmp_path), pytest.raises(WriteError, match="another outyard is writing there"):
        fill(tmp_path / "day", farm_in(tmp_path), a="new")
    fill(tmp_path / "day", farm_in(tmp_path), a="new")
    assert held(tmp_path / "day") == {"a": "new"}
