"""The smallest farm folder, and a way to change one file of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from routing.errors import FarmError, Fault
from routing.farm.folder import read_farm

FARM_TOML = """\
time_zone = "Europe/London"
[base]
latitude = 52.0
longitude = -2.7
[[vehicle]]
id = "van"
payload_kg = 500
space_litres = 2000
[[crew]]
id = "ash"
vehicle = "van"
earliest_start = "08:00"
home_by = "17:00"
"""
SITES_CSV = "id,place,hives\none,52.1 -2.7,10\n"
JOBS_CSV = "site,kind\none,heft\n"

Write = Callable[..., Path]
FaultsOf = Callable[..., list[str]]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Return a function that writes the smallest farm, with some files given instead (None leaves one out)."""

    def write_files(
        farm: str | bytes | None = FARM_TOML,
        sites: str | bytes | None = SITES_CSV,
        jobs: str | bytes | None = JOBS_CSV,
        drives: str | bytes | None = None,
    ) -> Path:
        given = {"farm.toml": farm, "sites.csv": sites, "jobs.csv": jobs, "drives.csv": drives}
        for name, content in given.items():
            if content is not None:
                (tmp_path / name).write_bytes(content.encode() if isinstance(content, str) else content)
        return tmp_path

    return write_files


@pytest.fixture
def faults_of(write: Write) -> FaultsOf:
    """Return a function that writes a farm which cannot be read and returns its fault lines."""

    def read(**files: str | bytes | None) -> list[str]:
        with pytest.raises(FarmError) as caught:
            read_farm(write(**files))
        return [str(fault) for fault in caught.value.faults]

    return read


@pytest.fixture
def warnings_of(write: Write) -> FaultsOf:
    """Return a function that writes a farm which can be read and returns its warning lines."""

    def read(**files: str | bytes | None) -> list[str]:
        warnings: tuple[Fault, ...] = read_farm(write(**files)).warnings
        assert all(fault.warning for fault in warnings)
        return [str(fault) for fault in warnings]

    return read


@pytest.fixture
def farm_toml() -> str:
    """Return the smallest farm.toml, to be added to."""
    return FARM_TOML
