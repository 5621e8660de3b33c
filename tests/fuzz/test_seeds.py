"""Every input that was once found to end in a traceback, or in a broken promise, is read again and ends as it should."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz.engine import seeds_folder
from tests.fuzz.inputs import unpacked
from tests.fuzz.outcome import finding_of
from tests.fuzz.run import NAMES
from tests.fuzz.targets import MAKERS, target_of

FOUND = sorted(seeds_folder().rglob("*.txt"))


@pytest.mark.parametrize("path", FOUND, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_what_was_found_once_is_mended(path: Path) -> None:
    target = target_of(path.parent.name)
    files = unpacked(path.read_bytes(), target.grammars)
    assert files, "the file holds no input of its target"
    assert finding_of(target.run, files) is None


@pytest.mark.parametrize("name", NAMES)
def test_what_inputs_begin_with_is_good(name: str) -> None:
    """A target whose first inputs fail would look at nothing but failures."""
    target = target_of(name)
    assert {found.told for files in target.seeds if (found := finding_of(target.run, files))} == set()


def test_every_target_is_run_by_name_and_every_seed_has_a_target() -> None:
    assert set(NAMES) == set(MAKERS)
    assert {path.parent.name for path in FOUND} <= set(NAMES)
