"""One desk for all tests that only read, and one for each that changes something."""

from __future__ import annotations

import csv
import datetime as dt
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from routing import stages
from routing.farm.folder import read_farm
from routing.round import Round
from routing.stages.write import write_plan
from tests.conftest import HOLLIN_VALE
from tests.desk.grid_bench import Bench, new_farm
from tests.desk.served import Served, served
from tests.desk.two_crews import WHERE, two_crews_farm


@pytest.fixture(scope="session")
def written_farm(tmp_path_factory: pytest.TempPathFactory, hollin_vale: Round) -> Path:
    """Return a copy of the example farm with the round of its day written; nothing is changed in it."""
    folder = tmp_path_factory.mktemp("desk") / "hollin-vale"
    shutil.copytree(HOLLIN_VALE, folder, ignore=shutil.ignore_patterns("rounds"))
    write_plan(read_farm(folder), hollin_vale)
    return folder


MAP = "hollin-vale.osm.pbf"


@pytest.fixture
def new_desk(tmp_path: Path) -> Iterator[Served]:
    """Return a desk that was never used, with a road map among the downloads."""
    with served(None, tmp_path) as found:
        found.desk.farms, found.desk.downloads = tmp_path / "farms", tmp_path / "downloads"
        found.desk.downloads.mkdir()
        shutil.copy(HOLLIN_VALE / MAP, found.desk.downloads)
        yield found


def make_private(folder: Path, **fields: str) -> None:
    """Give every site of a farm these fields."""
    table = folder / "sites.csv"
    with table.open(encoding="utf-8", newline="") as file:
        rows = [row | fields for row in csv.DictReader(file)]
    with table.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


@pytest.fixture
def own_farm(written_farm: Path, tmp_path: Path) -> Path:
    """Return a copy of that farm, to change."""
    return shutil.copytree(written_farm, tmp_path / "farm")


@pytest.fixture(scope="session")
def example_desk(written_farm: Path) -> Iterator[Served]:
    """Return a desk with that farm open; nothing is changed at it."""
    with served(written_farm, written_farm.parent) as desk:
        yield desk


@pytest.fixture
def own_desk(own_farm: Path, tmp_path: Path) -> Iterator[Served]:
    """Return a desk with a copy of the farm of its own, to change."""
    with served(own_farm, tmp_path) as desk:
        yield desk


JUNE = dt.date(2026, 6, 10)
FONDANT = "\n[stock]\nfondant = 2   # boxes in the shed\n"


THREE_DAYS = tuple(JUNE + dt.timedelta(days=number) for number in range(3))
SECRETS = ("C4711X", "01632 960123", "key under the stone")


def several_days(folder: Path) -> Path:
    """Return a copy of the four sites with home by 11:00 and the round of three days written, one site with secrets."""
    shutil.copytree(HOLLIN_VALE.parent / "four-sites", folder, ignore=shutil.ignore_patterns("rounds"))
    file = folder / "farm.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('"13:00"', '"11:00"'), encoding="utf-8")
    table = folder / "sites.csv"
    head, alder, *others = table.read_text(encoding="utf-8").splitlines()
    fields = ",".join(f'"{word}"' for word in SECRETS)
    lines = [f"{head},gate_code,phone,private_notes", f"{alder},{fields}", *(f"{line},,," for line in others)]
    table.write_text("\n".join(lines) + "\n", encoding="utf-8")
    farm = stages.read.farm_in(folder)
    stages.write.write_plan(farm, stages.plan.plan(farm, *THREE_DAYS))
    return folder


def short_day(folder: Path) -> Path:
    """Return a copy of the four sites in which one does not fit in."""
    shutil.copytree(HOLLIN_VALE.parent / "four-sites", folder, ignore=shutil.ignore_patterns("rounds"))
    file = folder / "farm.toml"
    text = file.read_text(encoding="utf-8").replace('home_by = "13:00"', 'home_by = "12:00"  # the school run')
    file.write_text(text.replace("\n[job_kind.", FONDANT + "\n[job_kind."), encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Round]:
    """Return that farm with its round written; nothing is changed in it."""
    folder = short_day(tmp_path_factory.mktemp("short") / "farm")
    farm = stages.read.farm_in(folder)
    round_ = stages.plan.plan(farm, JUNE)
    stages.write.write_plan(farm, round_)
    return folder, round_


@pytest.fixture
def folder(planned: tuple[Path, Round], tmp_path: Path) -> Path:
    return shutil.copytree(planned[0], tmp_path / "farm")


@pytest.fixture(scope="session")
def two_crews_desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    keep = tmp_path_factory.mktemp("planned")
    with served(two_crews_farm(keep / "farm"), keep) as one:
        yield one


@pytest.fixture
def two_crews(two_crews_desk: Served) -> Served:
    """Return one desk for all of its tests, each of which begins from the round that is written."""
    assert two_crews_desk.post("/plan/again", WHERE).status == 200
    return two_crews_desk


@pytest.fixture(scope="session")
def empty_desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Return a desk that each test opens a farm of its own at."""
    with served(None, tmp_path_factory.mktemp("desk")) as found:
        yield found


@pytest.fixture
def bench(empty_desk: Served, browser: Browser, tmp_path: Path) -> Iterator[Bench]:
    farm = new_farm(tmp_path / "farm")
    empty_desk.desk.open(farm)
    with empty_desk.opened(browser) as opened:
        yield Bench(empty_desk, farm, opened)
