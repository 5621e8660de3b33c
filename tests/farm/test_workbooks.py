"""Tables in workbooks are judged by what judges the CSV files, and every fault names its sheet and cell."""

from __future__ import annotations

import datetime as dt
import os
import re
from pathlib import Path

import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from routing.errors import FarmError
from routing.farm.folder import read_farm
from tests.farm.books import NO_OFFICE, WRITERS, Sheets, a_day, by_odfdo, by_office, by_openpyxl, part_of, with_part
from tests.farm.conftest import FARM_TOML

SITES: list[list[object]] = [
    ["id", "name", "place", "hives", "hours", "last_of_day", "notes"],
    ["one", "Old orchard", "52.1, -2.7", 10, "8-16", False, "=1+1 is text"],
    ["two", "Mill", "52.2, -2.7", 4.0, "8.00\u201316.00", True, 1.25],
]
MIDNIGHT = dt.datetime(2026, 12, 10)  # noqa: DTZ001 - as a cell holds it
JOBS: list[list[object]] = [
    ["site", "kind", "hives", "due_by"],
    ["one", "heft", 4, a_day(10)],
    ["one", "storm-check", None, "10.12.2026"],
]


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    (tmp_path / "farm.toml").write_text(FARM_TOML)
    return tmp_path


def told(folder: Path) -> list[str]:
    """Return the faults and warnings of a folder, a line each."""
    try:
        return [str(fault) for fault in read_farm(folder).warnings]
    except FarmError as error:
        return [str(fault) for fault in error.faults]


def text_cells(path: Path) -> None:
    """Write the notes of the first site as text, which the usual writers take for a formula."""
    book = openpyxl.load_workbook(path)
    cell = book["Sites"]["G2"]
    cell.value, cell.data_type = "=1+1 is text", "s"
    book.save(path)


@pytest.mark.parametrize(
    ("writer", "name"),
    [
        *((writer, "farm.xlsx") for writer in WRITERS),
        ("odfdo", "farm.ods"),
        pytest.param("office", "farm.xlsx", marks=NO_OFFICE),
        pytest.param("office", "farm.ods", marks=NO_OFFICE),
    ],
)
def test_files_of_independent_writers_are_the_same_farm(farm: Path, writer: str, name: str) -> None:
    """Whole numbers with decimals, truth cells, date cells and dates as text, hours of all kinds."""
    sites = [SITES[0], [*SITES[1][:6], "plain"], SITES[2]]
    (WRITERS | {"odfdo": by_odfdo, "office": by_office})[writer](
        farm / name,
        {
            "Sites": sites,
            "Jobs": [JOBS[0], [*JOBS[1][:3], MIDNIGHT], [*JOBS[2][:2], None, JOBS[2][3]]],
        },
    )
    read = read_farm(farm)
    one, two = read.sites
    assert (one.id, one.hives, one.hours, one.last_of_day, one.notes) == ("one", 10, two.hours, False, "plain")
    assert (two.hives, two.last_of_day, two.notes) == (4, True, "1.25")
    assert [job.due_by for job in read.jobs] == [a_day(10), a_day(10)]
    assert [job.id for job in read.jobs] == [f"{name}:2", f"{name}:3"]
    assert (read.tables.sites, read.tables.drives) == (f"{name}, Sites", f"{name}, Drives")


def test_what_looks_like_a_formula_in_a_text_is_text(farm: Path) -> None:
    by_openpyxl(farm / "farm.xlsx", {"Sites": [SITES[0], [*SITES[1][:6], "x"]]})
    text_cells(farm / "farm.xlsx")
    assert read_farm(farm).sites[0].notes == "=1+1 is text"


def test_every_fault_names_its_sheet_and_cell(farm: Path) -> None:
    """All in one pass, those of the columns beside a broken one too."""
    sites: list[list[object]] = [*SITES, ["thr,ee", "", "-2.7, 52.1", "12x", "8", "maybe"]]
    jobs: list[list[object]] = [JOBS[0], ["one", "heft", "12x", "03.14.2026"], ["nine", "hoover", 1]]
    by_openpyxl(farm / "farm.xlsx", {"Sites": [row[:6] for row in sites], "Jobs": jobs})
    found = told(farm)
    assert [re.match(r"farm\.xlsx, (\w+![A-Z]\d+): (\w+)", line)[0] for line in found] == [  # type: ignore[index]
        *("farm.xlsx, Sites!A4: id", "farm.xlsx, Sites!D4: hives", "farm.xlsx, Sites!E4: hours"),
        *("farm.xlsx, Sites!F4: last_of_day", "farm.xlsx, Sites!C4: site", "farm.xlsx, Jobs!C2: hives"),
        *("farm.xlsx, Jobs!D2: due_by", "farm.xlsx, Jobs!A3: site", "farm.xlsx, Jobs!B3: kind"),
    ]
    assert 'farm.xlsx, Jobs!C2: hives "12x" is not a whole number' in found
    assert any("are latitude and longitude swapped?" in line for line in found)


def test_titles_notes_hidden_rows_and_empty_columns(farm: Path) -> None:
    """A title above the header and an empty column before it, a name merged over two rows, a note below the table."""
    rows: list[list[object]] = [
        ["My sites"],
        [],
        [None, "id", None, None],
        [None, None, "Place", "Hives"],
        [None, "one", "52.1, -2.7", 10],
        [None, "two", "52.2, -2.7", 4, "beside"],
        [],
        ["Checked by Ash"],
    ]
    by_openpyxl(farm / "sites.xlsx", {"Any name": rows})
    book = openpyxl.load_workbook(farm / "sites.xlsx")
    book.worksheets[0].row_dimensions[5].hidden = True
    book.save(farm / "sites.xlsx")
    assert [site.id for site in read_farm(farm).sites] == ["one", "two"]
    assert told(farm) == [
        "sites.xlsx, Any name: hidden row is read like any other: 5; delete what is not meant",
        'sites.xlsx, Any name!E6: "beside" stands in no column and was not read',
        'sites.xlsx, Any name!A8: "Checked by Ash" below the table was taken for a note and not read',
    ]


def test_a_formula_is_read_by_its_last_value_and_refused_where_it_has_none(farm: Path) -> None:
    by_openpyxl(farm / "farm.xlsx", {"Sites": [["id", "place", "hives"], ["one", "52.1, -2.7", "=5+5"]]})
    assert told(farm)[0] == (
        "farm.xlsx, Sites!C2: is a formula without a value; open it in a spreadsheet and save it, or write the value"
    )
    part = (
        part_of(farm / "farm.xlsx", "xl/worksheets/sheet1.xml")
        .replace(b"<v></v>", b"<v>10</v>")
        .replace(b"<v />", b"<v>10</v>")
    )
    with_part(farm / "farm.xlsx", "xl/worksheets/sheet1.xml", part)
    assert read_farm(farm).sites[0].hives == 10


def test_an_error_of_a_formula_is_a_fault(farm: Path) -> None:
    by_openpyxl(farm / "farm.xlsx", {"Sites": [["id", "place", "hives"], ["one", "52.1, -2.7", "#REF!"]]})
    assert told(farm)[0].startswith('farm.xlsx, Sites!C2: is an error of a formula: "#REF!"')


def test_a_number_that_is_shown_with_noughts_before_it_keeps_them(farm: Path) -> None:
    """A gate code 0042 that the spreadsheet keeps as 42."""
    by_openpyxl(farm / "farm.xlsx", {"Sites": [["id", "place", "hives", "gate_code"], ["one", "52.1, -2.7", 1, 42]]})
    book = openpyxl.load_workbook(farm / "farm.xlsx")
    book["Sites"]["D2"].number_format = "0000"
    book.save(farm / "farm.xlsx")
    assert read_farm(farm).sites[0].gate_code == "0042"


def test_a_table_that_stands_twice_is_refused_with_both_named(farm: Path) -> None:
    by_openpyxl(farm / "farm.xlsx", {"Sites": [["id", "place", "hives"], ["one", "52.1, -2.7", 1]]})
    (farm / "sites.csv").write_text("id,place,hives\none,52.1 -2.7,10\n")
    assert told(farm)[0].startswith("sites.csv: sites.csv and farm.xlsx, Sites are both there")


def test_a_spreadsheet_of_another_form_is_named(farm: Path) -> None:
    (farm / "sites.xls").write_bytes(b"PK")
    assert told(farm) == [
        "sites.xls: is not read; save it as .xlsx or .ods, or as CSV UTF-8",
        "sites.csv: there is no such file; sites.xls is not read: save it as .xlsx or .ods, or as CSV UTF-8",
    ]


def test_one_table_in_every_form_is_refused_with_all_named(farm: Path) -> None:
    rows: Sheets = {"Sites": [["id", "place", "hives"], ["one", "52.1, -2.7", 1]]}
    by_openpyxl(farm / "farm.xlsx", rows)
    by_openpyxl(farm / "sites.xlsx", rows)
    by_odfdo(farm / "farm.ods", rows)
    by_odfdo(farm / "sites.ods", rows)
    (farm / "sites.csv").write_text("id,place,hives\none,52.1 -2.7,10\n")
    assert told(farm)[0].startswith(
        "sites.csv: sites.csv, sites.xlsx, sites.ods, farm.xlsx, Sites and farm.ods, Sites are all there"
    )


def test_a_workbook_may_lack_jobs_and_drives(farm: Path) -> None:
    """Jobs may stand in a CSV file beside, and an empty sheet is no job."""
    by_openpyxl(farm / "farm.xlsx", {"Sites": [["id", "place", "hives"], ["one", "52.1, -2.7", 1]], "Drives": []})
    (farm / "jobs.csv").write_text("site,kind\none,heft\n")
    assert [job.id for job in read_farm(farm).jobs] == ["jobs.csv:2"]


def test_two_sheets_of_a_table_s_own_workbook_need_a_name(farm: Path) -> None:
    by_openpyxl(farm / "sites.xlsx", {"A": SITES, "B": SITES})
    assert told(farm)[0] == (
        'sites.xlsx: has 2 sheets ("A", "B"), none of which is called Sites; call the one with the table Sites'
    )


def test_years_that_are_counted_from_1904(farm: Path) -> None:
    by_openpyxl(farm / "farm.xlsx", {"Sites": [["id", "place", "hives"], ["one", "52.1, -2.7", 1]], "Jobs": JOBS[:2]})
    book = openpyxl.load_workbook(farm / "farm.xlsx")
    book.epoch = CALENDAR_MAC_1904
    book.save(farm / "farm.xlsx")
    assert b'date1904="1"' in part_of(farm / "farm.xlsx", "xl/workbook.xml")
    assert read_farm(farm).jobs[0].due_by == a_day(10)


def test_a_pipe_in_the_place_of_a_workbook_does_not_hold_the_program(farm: Path) -> None:
    os.mkfifo(farm / "sites.xlsx")
    assert told(farm)[0] == "sites.xlsx: cannot be read: it is a pipe, not a plain file"


def test_what_two_rows_say_together_names_a_cell_too(farm: Path) -> None:
    """Two sites in one spot, and two kinds of work that may not be together."""
    sites: list[list[object]] = [["id", "place", "hives"], ["one", "52.1, -2.7", 4], ["two", "52.1, -2.7", 4]]
    jobs: list[list[object]] = [["site", "kind"], ["one", "strips-in"], ["one", "supers-on"]]
    by_openpyxl(farm / "farm.xlsx", {"Sites": sites, "Jobs": jobs})
    assert [line.partition(": ")[0] for line in told(farm)] == ["farm.xlsx, Sites!A3", "farm.xlsx, Jobs!A3"]
