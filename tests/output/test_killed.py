"""Killed at any point of writing, old files or new ones stand, all of them; the next writing clears away what is left."""

from __future__ import annotations

import contextlib
import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from routing.output import whole
from routing.output.exchange import exchange as swapped
from routing.output.places import Ground
from routing.output.whole import fill_folder
from tests.output.kill_writer import texts

KILLS = int(os.environ.get("KILLS", "6"))
"""More of them by hand: KILLS=200."""
ROOT = Path(__file__).parents[2]
WRITER = (sys.executable, "-m", "tests.output.kill_writer")


def stands(day: Path) -> dict[str, str]:
    return {path.name: path.read_text() for path in day.iterdir()}


def names_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def is_whole(found: dict[str, str]) -> bool:
    return any(found == {"notes.txt": "mine", **texts(mark)} for mark in "ab")


@pytest.mark.parametrize("way", ["at once", "two"])
def test_a_killed_writer_leaves_a_whole_round(tmp_path: Path, way: str) -> None:
    seed = random.randrange(2**32)
    draw = random.Random(seed)
    farm = tmp_path / "farm"
    day = farm / "rounds" / "day"
    ground = Ground(farm)
    farm.mkdir()
    fill_folder(texts("a"), day, ground, stale=lambda name: name.startswith("page"), private=True)
    (day / "notes.txt").write_text("mine")
    for _ in range(KILLS):
        with subprocess.Popen([*WRITER, farm, way], stdout=subprocess.PIPE, cwd=ROOT) as writer:
            assert writer.stdout is not None
            assert writer.stdout.readline() == b"begun\n"
            time.sleep(draw.uniform(0, 0.15))
            writer.kill()
        if way == "at once" or day.exists():  # of two renames, a kill between them leaves none until the next writing
            assert is_whole(stands(day)), seed
        left = list(day.parent.glob(".*"))
        assert all(path.stat().st_mode & 0o077 == 0 for path in left), seed
        fill_folder({"other": "x"}, farm / "rounds" / "next", ground)
        assert {path.name for path in day.parent.iterdir()} == {"day", "next"}, seed
        assert is_whole(stands(day)), seed


class Killed(BaseException):
    """Stands for the end of the program: nothing that tidies up may run after it."""


STEPS = ("rename", "mkdir", "rmdir", "unlink", "link", "fsync", "chmod")


@pytest.mark.parametrize("at_once", [True, False])
def test_killed_before_any_step_it_comes_to_a_whole_round(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, at_once: bool
) -> None:
    """Every call that changes the disk is in turn the last one; here the next writing is into another folder too."""
    monkeypatch.setattr(whole, "_back", lambda _beside: None)
    states = set()
    for last in range(400):
        farm = tmp_path / str(last)
        day, ground = farm / "rounds" / "day", Ground(farm)
        farm.mkdir()
        fill_folder({"round": "old", "page-1": "old"}, day, ground)
        (day / "notes.txt").write_text("mine")
        (day / "photos").mkdir()
        (day / "photos" / "hive.jpg").write_text("picture")
        with monkeypatch.context() as steps:
            ended = _kill_at(steps, last, at_once=at_once)
            with contextlib.suppress(Killed):
                fill_folder({"round": "new", "page-2": "new"}, day, ground, stale=lambda name: name.startswith("page"))
        if day.exists():
            assert "notes.txt" in names_in(day), last
        fill_folder({"other": "x"}, farm / "rounds" / "next", ground)
        assert names_in(farm / "rounds") == ["day", "next"], last
        assert (day / "photos" / "hive.jpg").read_text() == "picture", last
        assert (day / "notes.txt").read_text() == "mine", last
        names = [name for name in names_in(day) if name not in {"notes.txt", "photos"}]
        assert names in (["page-1", "round"], ["page-2", "round"]), last
        assert {(day / name).read_text() for name in names} in ({"old"}, {"new"}), last
        states.add(tuple(names))
        if not ended:
            break
    else:
        pytest.fail("it never came to its end")
    assert len(states) == 2


def _kill_at(steps: pytest.MonkeyPatch, last: int, *, at_once: bool) -> list[str]:
    """Let the step of this number, from 0, and all after it, raise Killed; return a list that then holds its name."""
    count = iter(range(10**6))
    ended: list[str] = []

    def stopping(name: str) -> None:
        real = getattr(os, name)

        def step(*given: object, **options: object) -> object:
            if next(count) >= last:
                ended.append(name)
                raise Killed(name)
            return real(*given, **options)

        steps.setattr(os, name, step)

    for name in STEPS:
        stopping(name)

    def swap(one: Path, other: Path) -> bool:
        if next(count) >= last:
            ended.append("exchange")
            raise Killed("exchange")
        return at_once and swapped(one, other)

    steps.setattr(whole, "exchange", swap)
    return ended
