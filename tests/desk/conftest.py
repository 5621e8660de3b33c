"""One desk for all tests that only read, and one for each that changes something."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from routing.round import Round
from routing.stages.write import write_plan
from tests.conftest import HOLLIN_VALE
from tests.desk.served import Served, served


def farm_copy(to: Path, round_: Round) -> Path:
    """Return a copy of the example farm with the round of its day written."""
    folder = shutil.copytree(HOLLIN_VALE, to, ignore=shutil.ignore_patterns("rounds"))
    write_plan(read_farm(folder), round_)
    return folder


@pytest.fixture(scope="session")
def example_desk(tmp_path_factory: pytest.TempPathFactory, hollin_vale: Round) -> Iterator[Served]:
    """Return a desk with the example farm open; nothing is changed at it."""
    keep = tmp_path_factory.mktemp("desk")
    with served(farm_copy(keep / "hollin-vale", hollin_vale), keep) as desk:
        yield desk


@pytest.fixture
def own_desk(tmp_path: Path, hollin_vale: Round) -> Iterator[Served]:
    """Return a desk with a copy of the example farm of its own, to change."""
    with served(farm_copy(tmp_path / "farm", hollin_vale), tmp_path) as desk:
        yield desk
