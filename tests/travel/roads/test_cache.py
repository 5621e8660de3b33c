"""What is kept of a road map: damage is noticed, said and mended, leftovers go, and a full disk is called one."""

from __future__ import annotations

import errno
import logging
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path

import pytest

from routing.errors import RoadError
from routing.farm.models import Farm
from routing.travel.farm import farm_background, farm_legs
from routing.travel.roads.about import read_build
from routing.travel.roads.build import built
from routing.travel.roads.cache import DamagedError, cache_folder, read_kept
from routing.travel.roads.sweep import UNUSED_SECONDS, held
from tests.travel.roads.hand_map import ROADS, HandMap, at, farm_on

Harm = Callable[[Path], object]
HARMS: dict[str, Harm] = {
    "emptied": lambda path: path.write_bytes(b""),
    "removed": Path.unlink,
    "cut": lambda path: path.write_bytes(path.read_bytes()[: path.stat().st_size // 2]),
    "longer": lambda path: path.write_bytes(path.read_bytes() + b"x"),
    "first bit": lambda path: flip(path, 0),
    "middle bit": lambda path: flip(path, path.stat().st_size // 2),
    "last bit": lambda path: flip(path, path.stat().st_size - 1),
    "a folder": lambda path: instead(path, Path.mkdir),
    "a loop": lambda path: instead(path, lambda place: place.symlink_to(place.name)),
    "a pipe": lambda path: instead(path, os.mkfifo),
}
KINDS = ("about.json", "lines.npz", "ground.npz", ".gph", "stops-", "matrix-")
MENDED = ("removed", "emptied", "a folder", "cut", "a pipe", "a loop")


def instead(path: Path, make: Harm) -> None:
    path.unlink()
    make(path)


def flip(path: Path, place: int) -> None:
    content = bytearray(path.read_bytes())
    content[place] ^= 4
    path.write_bytes(content)


def small_map(path: Path, length: float = 3.0) -> Path:
    return HandMap({"a": (0, 0), "b": (length, 0)}, [(("a", "b"), {"highway": "primary"})]).write(path)


def small_farm(path: Path) -> Farm:
    return farm_on(path, at(0, 0), {"end": at(2, 0)})


def kept_files(root: Path) -> dict[str, Path]:
    """Return one file of each kind that is kept."""
    files = sorted(path for path in root.rglob("*") if path.is_file())
    return {kind: next(path for path in files if kind in path.name) for kind in KINDS}


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return an empty cache folder of this test alone."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return cache_folder()


def test_no_harm_to_any_kept_file_goes_unnoticed(cache: Path, tmp_path: Path) -> None:
    farm_legs(small_farm(small_map(tmp_path / "m.osm.pbf")))
    for kind, path in kept_files(cache).items():
        folder = cache / path.relative_to(cache).parts[0]
        for name, harm in HARMS.items():
            whole = path.read_bytes()
            harm(path)
            with pytest.raises(DamagedError) if name != "removed" or folder.name != "kept" else nullcontext():
                read_kept(path, path.name, lambda file: file.read()) if folder.name == "kept" else read_build(folder)
                assert not path.exists(), (kind, name)
            shutil.rmtree(path) if path.is_dir() else path.unlink(missing_ok=True)
            path.write_bytes(whole)


@pytest.mark.parametrize(("kind", "name"), list(zip(KINDS, MENDED, strict=True)))
def test_a_damaged_file_is_mended_and_said_once(
    kind: str, name: str, cache: Path, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """The minutes and the background are as they were before the harm."""
    farm = small_farm(small_map(tmp_path / "m.osm.pbf"))
    before = farm_legs(farm).seconds.tolist(), farm_background(farm, (farm.base.place,))
    HARMS[name](kept_files(cache)[kind])
    assert (farm_legs(farm).seconds.tolist(), farm_background(farm, (farm.base.place,))) == before
    assert [record.getMessage().count("was damaged") for record in caplog.records] == [1]


def test_builds_and_answers_in_each_others_place_are_not_taken(
    cache: Path, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    farms = [small_farm(small_map(tmp_path / f"{length}.osm.pbf", length)) for length in (2.5, 4.0)]
    before = [farm_legs(farm).seconds.tolist() for farm in farms]
    for where in (cache, cache / "kept"):
        one, other = sorted(path for path in where.iterdir() if len(path.name) == 32)
        one.rename(tmp_path / "aside")
        other.rename(one)
        (tmp_path / "aside").rename(other)
    assert [farm_legs(farm).seconds.tolist() for farm in farms] == before
    assert sum("built road map" in record.getMessage() for record in caplog.records) == 2


@pytest.mark.parametrize("thing", ["a file", "a loop"])
def test_what_stands_where_folders_should_goes(thing: str, cache: Path, tmp_path: Path) -> None:
    farm = small_farm(small_map(tmp_path / "m.osm.pbf"))
    before = farm_legs(farm).seconds.tolist()
    for path in [next(path for path in cache.iterdir() if len(path.name) == 32), cache / "kept"]:
        shutil.rmtree(path)
        path.write_text("x") if thing == "a file" else path.symlink_to(path.name)
        assert farm_legs(farm).seconds.tolist() == before


def test_what_is_built_is_flushed_before_it_is_moved(
    cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every file of the build was flushed before the rename, and the folder that names it after."""
    done: list[str] = []
    fsync, rename = os.fsync, Path.rename

    def flushed(handle: int) -> None:
        done.append(Path(f"/proc/self/fd/{handle}").readlink().name)
        fsync(handle)

    def renamed(path: Path, target: Path) -> Path:
        done.append("renamed")
        return rename(path, target)

    monkeypatch.setattr(os, "fsync", flushed)
    monkeypatch.setattr(Path, "rename", renamed)
    build = built(small_map(tmp_path / "m.osm.pbf"), ROADS, ["van"])
    before, after = done[: done.index("renamed")], done[done.index("renamed") + 1 :]
    assert {path.name for path in build.folder.rglob("*")} <= set(before)
    assert after == [cache.name]


def test_a_killed_build_is_cleared_and_one_that_runs_is_left(cache: Path, tmp_path: Path) -> None:
    """A build killed outright leaves its folder; the next build takes it away, but not that of a living one."""
    cache.mkdir(parents=True)
    program = "import os, sys, time; from pathlib import Path; from routing.travel.roads.sweep import held\n"
    program += "with held(Path(sys.argv[1])): print('held', flush=True); time.sleep(60)"
    living, killed = cache / ".build-living", cache / ".build-killed"
    for folder in (living, killed):
        (folder / "half").mkdir(parents=True)
    with subprocess.Popen([sys.executable, "-c", program, str(killed)], stdout=subprocess.PIPE) as run:
        assert run.stdout is not None
        assert run.stdout.readline() == b"held\n"
        run.kill()
    with held(living):
        built(small_map(tmp_path / "m.osm.pbf"), ROADS, ["van"])
        assert {path.name for path in cache.glob(".build-*")} == {living.name}


def test_builds_of_replaced_and_unused_maps_are_cleared(cache: Path, tmp_path: Path) -> None:
    """What was built of the map before it was replaced goes after an hour; another map's after a quarter of a year."""
    path, other = tmp_path / "m.osm.pbf", small_map(tmp_path / "other.osm.pbf", 5)
    first = built(small_map(path), ROADS, ["van"])
    farm_legs(small_farm(other))
    lately = built(other, ROADS, ["van"])
    path.unlink()
    second = built(small_map(path, 4), ROADS, ["van"])
    assert first.folder.exists()
    age(first.folder, 4000)
    age(lately.folder, UNUSED_SECONDS - 60)
    built(path, ROADS, ["van"])
    assert [build.folder.exists() for build in (first, lately, second)] == [False, True, True]
    age(lately.folder, UNUSED_SECONDS + 60)
    built(path, ROADS, ["van"])
    assert not lately.folder.exists()
    assert not (cache / "kept" / lately.key).exists()


def age(folder: Path, seconds: float) -> None:
    then = time.time() - seconds
    os.utime(folder / "about.json", (then, then))


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "the disk is full; free some space"),
        (errno.EDQUOT, "the disk is full; free some space"),
        (errno.EACCES, "Permission denied; allow writing there"),
        (errno.EIO, "Input/output error"),
    ],
)
def test_only_a_full_disk_is_called_full(
    cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, words: str
) -> None:
    path = small_map(tmp_path / "m.osm.pbf")

    def failing(_handle: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", failing)
    with pytest.raises(RoadError, match=rf"cannot be built in .*{words}") as caught:
        built(path, ROADS, ["van"])
    assert ("free some space" in str(caught.value)) == ("full" in words)
    assert list(cache.iterdir()) == []


def test_a_small_answer_that_cannot_be_kept_leaves_nothing(
    cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = small_map(tmp_path / "m.osm.pbf")
    built(path, ROADS, ["van"])

    def failing(_old: str, _new: Path) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "replace", failing)
    with pytest.raises(RoadError, match=r"drive times cannot be kept in .*the disk is full"):
        farm_legs(small_farm(path))
    assert not list(cache.rglob(".kept-*"))


@pytest.mark.parametrize(
    "name", ["http:county.osm.pbf", "https://x.example/county.osm.pbf", "ftp:c.osm.pbf", "file:c.osm.pbf"]
)
def test_a_map_name_that_begins_like_an_address_is_a_file_name(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The reader would run a program named curl for it: one that tells on itself is put first in the path."""
    for program in ("curl", "wget"):
        (tmp_path / program).write_text(f"#!/bin/sh\ntouch {tmp_path}/fetched\n")
        (tmp_path / program).chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:{os.environ['PATH']}")
    monkeypatch.chdir(tmp_path)
    Path(name).parent.mkdir(parents=True, exist_ok=True)
    shutil.copy(small_map(tmp_path / "m.osm.pbf", 3.5), name)
    assert built(Path(name), ROADS, ["van"]).ways == {"van": 1}
    assert not (tmp_path / "fetched").exists()


def test_damage_is_said_on_standard_error_without_any_set_up() -> None:
    program = "from routing.travel.roads.cache import tell_damage; tell_damage('a file')"
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert run.stderr == "warning: a file in the cache was damaged: it is made anew\n"
    assert logging.getLogger("routing.travel.roads.cache").handlers == []
