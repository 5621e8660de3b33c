"""Where output may go is decided in one place, with one line that says why not and what to do."""

import os
from pathlib import Path

import pytest

from routing.errors import AskedError
from routing.output.places import RESERVED, Ground, may_be_filled, may_be_written, shown
from routing.season.log_file import FILE as LOG
from routing.season.record_tables import DRIVEN, VISITS


def test_the_names_that_belong_to_a_farm_are_those_that_are_read() -> None:
    from routing.farm.folder import FILES  # noqa: PLC0415
    from routing.weather import open_json as weather_json  # noqa: PLC0415
    from routing.weather import table as weather_table  # noqa: PLC0415

    assert {*FILES, VISITS, DRIVEN, weather_json.FILE, weather_table.FILE, LOG, f"{LOG}-wal"} <= set(RESERVED)


def test_a_road_map_and_a_round_that_is_read_are_kept_by_any_name(tmp_path: Path) -> None:
    county, saved = tmp_path / "maps" / "county", tmp_path / "saved"
    county.parent.mkdir()
    county.write_bytes(b"a map")
    saved.write_text("{}")
    ground = Ground(tmp_path, county, (saved,), replace=True)
    with pytest.raises(AskedError, match="over a road map; give it another name"):
        may_be_written(tmp_path / "maps" / ".." / "maps" / "county", ground, "--csv")
    with pytest.raises(AskedError, match="over the saved round"):
        may_be_written(saved, ground, "--csv")
    with pytest.raises(AskedError, match="holds the road map"):
        may_be_filled(county.parent, (), ground, "--out")


def test_a_folder_is_none_that_others_hang_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    work, home, farm = (tmp_path / name for name in ("work", "home", "farm"))
    for folder in (work / "below", home, farm):
        folder.mkdir(parents=True)
    monkeypatch.chdir(work / "below")
    monkeypatch.setenv("HOME", str(home))
    for folder, why in (
        (work, "working in"),
        (home, "your home folder"),
        (farm, "the farm folder"),
        (tmp_path, "farm"),
    ):
        with pytest.raises(AskedError, match=f"is or holds.*{why}.*such as"):
            may_be_filled(folder, (), Ground(farm, replace=True), "--out")
    may_be_filled(tmp_path / "new", ("round.json",), Ground(farm))


def test_another_drive_is_no_folder_for_a_round(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Path, "is_mount", lambda path: path == tmp_path)
    with pytest.raises(AskedError, match="is another drive; name a folder of its own"):
        may_be_filled(tmp_path, (), Ground(None))


def test_a_link_that_the_farmer_names_on_the_way_is_followed_and_one_at_the_end_is_not(tmp_path: Path) -> None:
    (tmp_path / "stick").mkdir()
    (tmp_path / "farm").mkdir()
    (tmp_path / "way").symlink_to(tmp_path / "stick")
    may_be_written(tmp_path / "way" / "round.gpx", Ground(tmp_path / "farm"), "--gpx")
    may_be_filled(tmp_path / "way" / "round", ("round.json",), Ground(tmp_path / "farm"))
    with pytest.raises(AskedError, match="it is a link; name the place itself"):
        may_be_filled(tmp_path / "way", ("round.json",), Ground(tmp_path / "farm"))


@pytest.mark.skipif(os.name == "nt", reason="names there have a colon for a drive")
@pytest.mark.parametrize("name", ["x\0.gpx", "", "..", "a/.."])
def test_what_names_no_file_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(AskedError, match="names no file"):
        may_be_written(Path(name), Ground(tmp_path), "--gpx")


def test_ways_that_lead_nowhere_are_told(tmp_path: Path) -> None:
    (tmp_path / "ring").symlink_to("ring")
    (tmp_path / "file").write_text("")
    for path in (tmp_path / "ring" / "x", tmp_path / "file" / "x", tmp_path / ("x" * 300)):
        with pytest.raises(AskedError, match="cannot write"):
            may_be_written(path, Ground(tmp_path, replace=True), "--gpx")


def test_a_path_is_safe_on_the_screen() -> None:
    assert shown("a\x1b[2J\udcff") == "a\\x1b[2J\\udcff"
    assert shown(Path("rounds/2026-12-10")) == str(Path("rounds/2026-12-10"))
