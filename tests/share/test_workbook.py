"""The round's workbook: a sheet a crew, what is left out, text as text, the same bytes each time."""

import csv
import io
import zipfile

import openpyxl
import pytest
from openpyxl.workbook.workbook import Workbook
from python_calamine import CalamineWorkbook

from routing.round import Round
from routing.share.exports.csv_table import round_csv
from routing.share.exports.workbook import LONGEST_TITLE, round_workbook
from tests.share.hostile import rounds
from tests.share.long_day import long_day
from tests.share.sample import alder, hostile_round, sample_round


def book(round_: Round) -> Workbook:
    return openpyxl.load_workbook(io.BytesIO(round_workbook(round_)))


def texts(round_: Round, title: str) -> list[str]:
    return [str(cell.value) for row in book(round_)[title].iter_rows() for cell in row if cell.value is not None]


def test_a_sheet_for_the_answer_one_a_crew_and_one_for_what_is_left_out() -> None:
    assert book(sample_round()).sheetnames == ["Round", "A Alder 2024-12-18", "B Rowan 2024-12-18", "Left out"]


def test_a_crew_s_sheet_has_its_stops_its_load_and_when_to_call() -> None:
    """As on the page: where, when, what, and the way home."""
    found = texts(sample_round(), "A Alder 2024-12-18")
    at = found.index("A2")
    assert found[at + 1] == "Long Meadow"
    assert "09:36" in found[at:]
    assert "Load at base" in found
    assert any(text.startswith("Home: ") for text in found)
    assert "14:59" in found  # home at 14:58:10, told to the safe side


def test_call_in_times_stand_on_the_sheet_of_who_works_alone() -> None:
    round_ = sample_round()
    (alone,) = [day for day in round_.itineraries if day.call_ins]
    title = next(name for name in book(round_).sheetnames if alone.crew_name in name)
    sheet = book(round_)[title]
    ((row, column),) = [(cell.row, cell.column) for line in sheet for cell in line if cell.value == "Where"]
    told = [sheet.cell(below, column).value for below in range(row + 1, sheet.max_row + 1)]
    assert len(alone.call_ins) == len([where for where in told if where])


def test_what_is_left_out_stands_with_its_reason() -> None:
    found = texts(sample_round(), "Left out")
    assert "Far Moor" in found
    assert any("Far Moor needs a 4x4 and no vehicle is one." in text for text in found)


def test_a_reader_of_others_finds_every_text_that_was_written() -> None:
    """python-calamine, which shares no code with the writer: sheet by sheet the texts that openpyxl finds, as text."""
    theirs = CalamineWorkbook.from_filelike(io.BytesIO(round_workbook(sample_round())))
    assert theirs.sheet_names == book(sample_round()).sheetnames
    for title in theirs.sheet_names:
        cells = [cell for row in theirs.get_sheet_by_name(title).to_python() for cell in row if cell != ""]
        assert cells == [text for text in texts(sample_round(), title) if text]


def test_the_same_round_gives_the_same_bytes() -> None:
    assert round_workbook(sample_round()) == round_workbook(sample_round())


@pytest.mark.parametrize(("name", "round_", "_seen"), rounds())
def test_nothing_is_ever_calculated_or_linked(name: str, round_: Round, _seen: str) -> None:
    """No formula, link, macro or name of another file in any part; every cell is text."""
    del name
    content = round_workbook(round_)
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        assert not [part for part in parts.namelist() if "external" in part.lower() or part.endswith(".bin")]
        for part in parts.namelist():
            assert b"<f>" not in parts.read(part)
            assert b"<hyperlink" not in parts.read(part)
    for sheet in openpyxl.load_workbook(io.BytesIO(content)):
        assert {cell.data_type for row in sheet.iter_rows() for cell in row if cell.value is not None} <= {"s"}


@pytest.mark.parametrize("crew", ["=1+1", "a/b[c]:d*?\\e", "x" * 90, "History", "'", "", "Left out"])
def test_crews_of_any_name_have_sheets_of_their_own(crew: str) -> None:
    """Two crews of one name too: a sheet's name has at most 31 characters, and no two are alike in any case."""
    days = [alder().model_copy(update={"crew_name": crew, "crew": number}) for number in ("one", "two")]
    titles = book(sample_round(itineraries=tuple(days))).sheetnames
    assert len({title.casefold() for title in titles}) == len(titles) == 4
    assert all(len(title) <= LONGEST_TITLE for title in titles)


def test_it_prints_on_a4_as_wide_as_the_sheet() -> None:
    for sheet in book(hostile_round()):
        assert sheet.page_setup.paperSize in {"9", 9}
        assert sheet.sheet_properties.pageSetUpPr is not None
        assert sheet.sheet_properties.pageSetUpPr.fitToPage


def test_a_day_of_nine_stops_is_one_page_and_one_of_thirty_is_not_shrunk_to_one() -> None:
    """What is printed smaller must still be read."""
    nine, thirty = (book(long_day(stops)).worksheets[1].page_setup.fitToHeight or 1 for stops in (9, 30))
    assert nine == 1
    assert thirty >= 2


def test_a_table_has_decimal_commas_where_they_are_written() -> None:
    """In Germany semicolons part the cells, in Britain commas; times are the same."""
    german = round_csv(sample_round(time_zone="Europe/Berlin")).removeprefix("\ufeff")
    british = round_csv(sample_round()).removeprefix("\ufeff")
    first, second = (
        list(csv.DictReader(io.StringIO(text), delimiter=sign)) for text, sign in ((german, ";"), (british, ","))
    )
    assert [row["Drive minutes"].replace(",", ".") for row in first] == [row["Drive minutes"] for row in second]
    assert [row["Hives latitude"].replace(",", ".") for row in first] == [row["Hives latitude"] for row in second]
    assert first[2]["Drive minutes"] == "24,8"
    assert first[2]["Jobs"] == second[2]["Jobs"]
