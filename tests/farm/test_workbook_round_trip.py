"""A farm that is written as a workbook and read again is the same farm, and may be written again to the same bytes."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from routing.farm.tables_out import farm_workbook
from tests.farm.books import rows_of, settings_of, tables_of, whole_farm

FARMS = int(os.environ.get("OUTYARD_ROUND_TRIPS", "50"))


@pytest.mark.parametrize("seed", range(FARMS))
def test_in_and_out_and_in_is_the_same_farm(seed: int, tmp_path: Path) -> None:
    farm = whole_farm(seed)
    (tmp_path / "farm.toml").write_text(settings_of(farm))
    (tmp_path / "farm.xlsx").write_bytes(farm_workbook(rows_of(farm)))
    first = read_farm(tmp_path)
    assert tables_of(first) == tables_of(farm)
    assert farm_workbook(rows_of(first)) == (tmp_path / "farm.xlsx").read_bytes()
