"""A farm that is written as a workbook and read again is the same farm, and may be written again to the same bytes."""

from __future__ import annotations

import csv
import datetime as dt
import os
from pathlib import Path

import pytest
from python_calamine import CalamineWorkbook

from routing.farm import drives, jobs, sites
from routing.farm.folder import read_farm
from routing.farm.tables_out import Cell, farm_workbook, typed
from tests.farm.books import NO_OFFICE, converted, rows_of, settings_of, tables_of, whole_farm

FARMS = int(os.environ.get("OUTYARD_ROUND_TRIPS", "60"))
"""So many random farms; 500 and more by hand."""
OF_THE_OFFICE = 12
TABLES = (("Sites", sites.COLUMNS), ("Jobs", jobs.COLUMNS), ("Drives", drives.COLUMNS))


@pytest.mark.parametrize("seed", range(FARMS))
def test_in_and_out_and_in_is_the_same_farm(seed: int, tmp_path: Path) -> None:
    farm = whole_farm(seed)
    (tmp_path / "farm.toml").write_text(settings_of(farm))
    (tmp_path / "farm.xlsx").write_bytes(farm_workbook(rows_of(farm)))
    first = read_farm(tmp_path)
    assert tables_of(first) == tables_of(farm)
    assert farm_workbook(rows_of(first)) == (tmp_path / "farm.xlsx").read_bytes()


@pytest.mark.parametrize("seed", range(8))
def test_a_reader_of_others_finds_in_the_workbook_what_was_written(seed: int, tmp_path: Path) -> None:
    """python-calamine, which shares no code with the writer or with our reader: dates as dates, numbers as numbers."""
    written = rows_of(whole_farm(seed))
    (tmp_path / "farm.xlsx").write_bytes(farm_workbook(written))
    book = CalamineWorkbook.from_path(tmp_path / "farm.xlsx")
    for (title, columns), rows in zip(TABLES, (written.sites, written.jobs, written.drives), strict=True):
        header, *cells = book.get_sheet_by_name(title).to_python()
        assert tuple(header) == columns.known
        assert cells == [[row.get(column, "") for column in columns.known] for row in rows]


@NO_OFFICE
@pytest.mark.parametrize("ending", ["ods", "xlsx"])
def test_the_office_program_opens_and_saves_the_same_farm(ending: str, tmp_path: Path) -> None:
    """Twelve farms written by us, saved by it in its own way, as a workbook and as an OpenDocument spreadsheet."""
    ours, theirs = tmp_path / "ours", tmp_path / "theirs"
    ours.mkdir()
    farms = {f"farm{seed}": whole_farm(seed) for seed in range(OF_THE_OFFICE)}
    for name, farm in farms.items():
        (ours / f"{name}.xlsx").write_bytes(farm_workbook(rows_of(farm)))
    filter_ = {"ods": "ods", "xlsx": "xlsx:Calc MS Excel 2007 XML"}[ending]
    converted(theirs, filter_, *sorted(ours.iterdir()))
    for name, farm in farms.items():
        folder = tmp_path / name
        folder.mkdir()
        (folder / "farm.toml").write_text(settings_of(farm))
        (theirs / f"{name}.{ending}").rename(folder / f"farm.{ending}")
        assert tables_of(read_farm(folder)) == tables_of(farm)


@NO_OFFICE
def test_the_office_program_writes_as_csv_what_our_workbook_holds(tmp_path: Path) -> None:
    """The first sheet, Sites, cell by cell; -1 is for every sheet in a file of its own."""
    written = rows_of(whole_farm(1))
    (tmp_path / "farm.xlsx").write_bytes(farm_workbook(written))
    converted(
        tmp_path,
        "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1",
        tmp_path / "farm.xlsx",
    )
    for (title, columns), rows in zip(TABLES, (written.sites, written.jobs, written.drives), strict=True):
        with (tmp_path / f"farm-{title}.csv").open(newline="", encoding="utf-8") as file:
            header, *cells = csv.reader(file)
        assert header == list(columns.known)
        found = [[typed(column, cell) for column, cell in zip(header, row, strict=True)] for row in cells]
        assert found == [[_as_typed(row.get(column, "")) for column in header] for row in rows]


def _as_typed(cell: Cell) -> Cell:
    return cell if isinstance(cell, str | dt.date) else float(cell)
