"""The example folder that a farm begins with."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from routing.errors import WriteError
from routing.farm import starter
from routing.farm.folder import FILES, read_farm
from routing.farm.starter import STARTER, write_new_farm


def write_starter(folder: Path) -> tuple[Path, ...]:
    return write_new_farm(folder, {name: text.encode() for name, text in STARTER.items()})


def test_the_starter_reads_clean(tmp_path: Path) -> None:
    """The example is a whole farm without a single warning, and uses every file."""
    written = write_starter(tmp_path / "new" / "farm")
    assert tuple(path.name for path in written) == FILES
    assert sorted(os.listdir(tmp_path / "new" / "farm")) == sorted(FILES)  # noqa: PTH208 - hidden files too
    farm = read_farm(tmp_path / "new" / "farm")
    assert farm.warnings == ()
    assert len(farm.sites) >= 4
    assert farm.known_drives


def test_the_starter_is_winter_work(tmp_path: Path) -> None:
    """Its jobs are those of winter: none opens a hive for long, takes honey, or needs warmth above 4 degrees."""
    write_starter(tmp_path)
    farm = read_farm(tmp_path)
    kinds = [farm.job_kinds[job.kind] for job in farm.jobs]
    assert kinds
    assert all(kind.min_temperature_c is None or kind.min_temperature_c <= 4 for kind in kinds)
    assert {kind.id for kind in kinds} <= {
        *(
            "heft",
            "fondant",
            "storm-check",
            "mouse-guards",
            "woodpecker-netting",
            "oxalic",
            "insulation",
            "fence-repair",
        ),
    }


def test_the_starter_explains_itself(tmp_path: Path) -> None:
    """farm.toml has notes and names the other files."""
    write_starter(tmp_path)
    notes = [line for line in (tmp_path / "farm.toml").read_text(encoding="utf-8").splitlines() if line.startswith("#")]
    assert len(notes) > 10
    assert all(any(file in line for line in notes) for file in FILES[1:])


@pytest.mark.parametrize("name", FILES)
def test_nothing_is_overwritten(tmp_path: Path, name: str) -> None:
    """Where one of the files stands, none is written and it keeps its content."""
    (tmp_path / name).write_text("mine")
    with pytest.raises(WriteError, match=f"already has {name}"):
        write_starter(tmp_path)
    assert [(path.name, path.read_text()) for path in tmp_path.iterdir()] == [(name, "mine")]


def test_a_file_in_the_way(tmp_path: Path) -> None:
    """A file where the folder should be is an error that says so."""
    (tmp_path / "farm").write_text("mine")
    with pytest.raises(WriteError, match="could not be written"):
        write_starter(tmp_path / "farm")


def test_all_or_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the last file cannot be given its name, those before it are taken away again."""

    def refuse(_ready: Path, final: Path) -> None:
        if final.name == "drives.csv":
            raise OSError(28, "No space left on device")
        final.write_text("x")

    monkeypatch.setattr(starter, "_place", refuse)
    with pytest.raises(WriteError, match="No space left on device"):
        write_starter(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_on_a_disk_without_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Some disks know no links: the files are then copied, and still never over another."""

    def refuse(_ready: Path, _final: Path) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refuse)
    write_starter(tmp_path)
    assert read_farm(tmp_path).warnings == ()
