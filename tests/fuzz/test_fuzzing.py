"""The hunt for inputs finds a fault that is planted, makes it small, keeps it, and its changes are what they say."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest

from routing.errors import AskedError
from tests.fuzz.engine import guided
from tests.fuzz.inputs import Files, packed, unpacked
from tests.fuzz.mutate import (
    Mutator,
    any_value,
    lines_changed,
    markup_changed,
    table_changed,
    toml_changed,
    tree_changed,
)
from tests.fuzz.of_map import MAP
from tests.fuzz.of_options import inside
from tests.fuzz.outcome import PromiseBrokenError, finding_of
from tests.fuzz.run import NAMES, Hunt
from tests.fuzz.shrink import shrunk
from tests.fuzz.target import ROOT, Target
from tests.fuzz.targets import target_of

TABLE = b"site,kind,hives\nA,heft,5\nB,heft,6\n"
SETTINGS = b'name = "Farm"\n[base]\nloading_minutes = 20\n'
DOCUMENT = b'{"hours": [1, 2, {"cold": null}], "unit": "mm"}'


def planted(error: BaseException, word: bytes = b"1e308") -> Target:
    """Return a target that fails where a table holds a word."""

    def run(files: Files) -> None:
        if word in files.get("a.csv", b""):
            raise error

    return Target("planted", {"a.csv": table_changed, "b.csv": table_changed}, ({"a.csv": TABLE, "b.csv": TABLE},), run)


def hunted(target: Target, folder: Path, inputs: int) -> Hunt:
    hunt, chance = Hunt(target, 60, folder), Random(1)
    for _ in range(inputs):
        assert hunt.hear(target.changed(chance.choice(target.seeds), chance))
    return hunt


def test_a_planted_fault_is_found_made_small_and_kept(tmp_path: Path) -> None:
    """Of two tables of nine cells nothing is left but the word that the fault hangs on."""
    hunt = hunted(planted(ZeroDivisionError()), tmp_path, 1000)
    (path,) = hunt.found.values()
    assert path.parent == tmp_path / "planted"
    assert unpacked(path.read_bytes(), {"a.csv"}) == {"a.csv": b"1e308"}
    assert "1000 inputs" in hunt.summary()
    assert "1 findings" in hunt.summary()


def test_an_error_on_purpose_is_no_finding_unless_it_says_nothing(tmp_path: Path) -> None:
    assert not hunted(planted(AskedError("write YYYY-MM-DD")), tmp_path, 300).found
    assert set(hunted(planted(AskedError("")), tmp_path, 300).found) == {"empty-line"}


def test_what_takes_too_long_is_a_finding(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.fuzz.outcome.MOST_SECONDS", -1.0)
    found = finding_of(lambda _: None, {})
    assert found is not None
    assert found.name == "slow"


def test_the_same_fault_has_the_same_name_and_another_another() -> None:
    def broken(files: Files) -> None:
        raise PromiseBrokenError(f"{files['a'].decode()}: of so many")

    names = [found.name for word in (b"one", b"one", b"two") if (found := finding_of(broken, {"a": word}))]
    assert names == ["PromiseBrokenError-nowhere-one"] * 2 + ["PromiseBrokenError-nowhere-two"]


def test_an_input_is_kept_as_one_text_and_any_bytes_are_some_input() -> None:
    files = {"a.csv": b"x\n\n=====", "b": b"", "c": b"\xff\x00\n"}
    assert unpacked(packed(files), files) == files
    assert unpacked(packed(files), {"b"}) == {"b": b""}
    assert unpacked(b"\xff=====[ a ]", {"a"}) == {}
    assert unpacked(b"", {"a"}) == {}


def test_shrinking_keeps_what_the_finding_needs() -> None:
    """Two words that stand far from each other are both needed."""
    files = {"a": b"q,w\n" * 50 + b"left,x\n" + b"e,r\n" * 50 + b"y,right\n", "b": b"1"}
    small = shrunk(files, lambda less: b"left" in less.get("a", b"") and b"right" in less["a"])
    assert small == {"a": b"leftright"}


@pytest.mark.parametrize(
    ("mutator", "content", "read"),
    [
        (table_changed, TABLE, lambda text: list(csv.reader(text.splitlines()))),
        (toml_changed, SETTINGS, tomllib.loads),
        (tree_changed, DOCUMENT, json.loads),
    ],
)
def test_most_changes_stay_within_the_grammar(mutator: Mutator, content: bytes, read: Callable[[str], object]) -> None:
    """More than half of 300 single changes are read by a plain reader, and more than 100 of the results differ."""
    chance, good, seen = Random(3), 0, set()
    for _ in range(300):
        changed = mutator(content, chance, ("site", "kind"))
        seen.add(changed)
        try:
            read(changed.decode())
        except (ValueError, csv.Error, RecursionError):
            continue
        good += 1
    assert good > 150
    assert len(seen) > 100


@pytest.mark.parametrize(("mutator", "content"), [(lines_changed, b"site: A\nleft: b"), (markup_changed, MAP)])
def test_lines_and_markup_change(mutator: Mutator, content: bytes) -> None:
    chance = Random(3)
    assert len({mutator(content, chance, ("site",)) for _ in range(200)}) > 100


def test_chance_of_one_seed_is_the_same_again() -> None:
    target = target_of("weather")
    one, other = (target.changed(target.seeds[0], Random(7)) for _ in range(2))
    assert one == other
    assert any_value(Random(7), ("x",)) == any_value(Random(7), ("x",))


@pytest.mark.parametrize(
    ("word", "kept"),
    [
        ("F/round.json", "F/round.json"),
        ("/etc/passwd", "etc/passwd"),
        ("--out=/etc/passwd", "--out=etc/passwd"),
        ("../../x", "x"),
        ("--out=..", "--out="),
        ("--out=~/x", "--out=x"),
        ("~root/x", "root/x"),
        ("a\\..\\b", "a/b"),
        ("--on", "--on"),
    ],
)
def test_no_word_of_a_command_leads_out_of_its_folder(word: str, kept: str) -> None:
    assert inside(word) == kept


@pytest.mark.parametrize("name", NAMES)
def test_forty_changed_inputs_of_each_target_find_nothing(name: str, tmp_path: Path) -> None:
    assert not hunted(target_of(name), tmp_path, 40).found


@pytest.mark.skipif(not guided(), reason="needs atheris")
def test_guided_inputs_run_and_end(tmp_path: Path) -> None:
    words = ("--what", "weather", "--seconds", "3", "--keep-in", str(tmp_path))
    run = [sys.executable, "-m", "tests.fuzz.run", *words]
    told = subprocess.run(run, capture_output=True, text=True, check=False, timeout=240, cwd=ROOT)
    assert told.returncode == 0, told.stderr
    assert ", guided, 0 findings" in told.stdout
