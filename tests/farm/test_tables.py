"""Reading CSV as spreadsheets and people write it."""

from __future__ import annotations

import codecs
from pathlib import Path

import pytest

from routing.farm import tables
from routing.farm.faults import Faults
from routing.farm.tables import Columns, Row, Table

COLUMNS = Columns(known=("id", "walking_minutes", "latitude", "notes"), required=("id",), also={"lat": "latitude"})


def read(folder: Path, content: str | bytes) -> tuple[list[Row], list[str]]:
    """Return the rows of a file with this content, and its faults."""
    path = folder / "some.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    faults = Faults()
    rows = list(Table(path, COLUMNS, faults))
    return rows, [str(fault) for fault in faults.in_order(())]


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_delimiters(tmp_path: Path, delimiter: str) -> None:
    """Comma, semicolon and tab are told apart by the header alone."""
    rows, faults = read(tmp_path, delimiter.join(["id", "notes"]) + "\n" + delimiter.join(["a", "b"]) + "\n")
    assert (rows[0].cells, faults) == ({"id": "a", "notes": "b"}, [])


def test_delimiter_that_makes_known_columns_wins(tmp_path: Path) -> None:
    """A header of semicolons whose last name holds commas is still one of semicolons."""
    rows, _ = read(tmp_path, "id;notes;a,b,c,d\nx;y;z\n")
    assert rows[0].cells == {"id": "x", "notes": "y"}


@pytest.mark.parametrize(
    "header", ["ID,Walking Minutes,LAT", "id,walking_minutes,latitude", " id , WALKING-MINUTES ,Lat"]
)
def test_header_in_any_dress(tmp_path: Path, header: str) -> None:
    """Column names may be in any case, with spaces, hyphens or underscores, or a short form."""
    rows, faults = read(tmp_path, header + "\na,3,52\n")
    assert (rows[0].cells, faults) == ({"id": "a", "walking_minutes": "3", "latitude": "52"}, [])


def test_any_column_order(tmp_path: Path) -> None:
    """The header alone says which column is which."""
    rows, _ = read(tmp_path, "notes,id\nb,a\n")
    assert rows[0].cells == {"id": "a", "notes": "b"}


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_lines_are_true_after_blank_rows_and_long_cells(tmp_path: Path, ending: str) -> None:
    """Blank rows are skipped and a cell of two lines counts as two, whatever ends a line."""
    lines = ["", "id,notes", "a,plain", "", " , ", 'b,"two', 'lines"', "c,last"]
    rows, faults = read(tmp_path, ending.join(lines))
    assert [(row.line, row.cells["id"]) for row in rows] == [(3, "a"), (6, "b"), (8, "c")]
    assert (rows[1].cells["notes"], faults) == (f"two{ending}lines", [])


@pytest.mark.parametrize("mark", [b"", codecs.BOM_UTF8])
def test_utf8_with_or_without_mark(tmp_path: Path, mark: bytes) -> None:
    """A byte order mark is no part of the first column's name."""
    rows, faults = read(tmp_path, mark + "id\nLlanfair-ym-Muallt \N{LATIN SMALL LETTER W WITH CIRCUMFLEX}\n".encode())
    assert (rows[0].cells["id"][-1], faults) == ("\N{LATIN SMALL LETTER W WITH CIRCUMFLEX}", [])


def test_windows_1252_is_read_with_a_warning(tmp_path: Path) -> None:
    """An old spreadsheet's accents are read, and the farmer is told at which line to look."""
    rows, faults = read(tmp_path, "id\na\nCaf\N{LATIN SMALL LETTER E WITH ACUTE}\n".encode("cp1252"))
    assert rows[1].cells["id"] == "Caf\N{LATIN SMALL LETTER E WITH ACUTE}"
    assert len(faults) == 1
    assert faults[0].startswith("some.csv:3: is not UTF-8; it was read as Windows-1252")


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        ("id\na\n".encode("utf-16"), "some.csv: is saved as UTF-16; save it again as UTF-8"),
        ("id\na\n".encode("utf-16-le"), "some.csv:1: holds a NUL byte"),
        (b"id\na\x00\n", "some.csv:2: holds a NUL byte"),
        (b"id\na\x81\n", "some.csv:2: holds bytes that are neither UTF-8 nor Windows-1252"),
        (b"", "some.csv: is empty; the first row names the columns: id, walking_minutes"),
        (b"\n \n,,\n", "some.csv: is empty"),
        (b"id,notes,ID\na,b,c\n", 'some.csv:1: has the column "id" twice'),
        (b"notes\nb\n", 'some.csv:1: has no column "id"'),
        (b'id,notes\na,b\nc,"d\ne\n', "some.csv:3: cannot be read from here on"),
        (b'id,notes\na,"b"c\n', "some.csv:2: cannot be read from here on"),
        (b"id,notes\na,b,c\n", 'some.csv:2: has 3 cells for 2 columns: "c" stands in no column'),
        (b"id,,notes\na,b,c\n", 'some.csv:2: has 3 cells for 2 columns: "b" stands in no column'),
    ],
)
def test_files_that_cannot_be_read(tmp_path: Path, content: bytes, fault: str) -> None:
    """Each trouble is one fault, with its line where there is one, and nothing else."""
    _, faults = read(tmp_path, content)
    assert len(faults) == 1
    assert faults[0].startswith(fault)


def test_cells_without_text_beyond_the_header_are_passed_over(tmp_path: Path) -> None:
    """Spreadsheets leave trailing delimiters; short rows are filled with blanks."""
    rows, faults = read(tmp_path, "id,notes,,\na,b,,\nc\n")
    assert ([row.cells for row in rows], faults) == ([{"id": "a", "notes": "b"}, {"id": "c"}], [])


def test_unknown_column_is_a_warning_with_a_hint(tmp_path: Path) -> None:
    """A slip in a column's name is told with the nearest name; the rows are still read."""
    rows, faults = read(tmp_path, "id,walkin_minutes\na,3\n")
    assert rows[0].cells == {"id": "a"}
    assert faults == [
        'some.csv:1: the column "walkin_minutes" is not known and was not read; did you mean "walking_minutes"?'
    ]


def test_missing_column_hints_at_an_unknown_one(tmp_path: Path) -> None:
    """Where a needed column is missing and one is like it, the fault says so."""
    _, faults = read(tmp_path, "idd,notes\na,b\n")
    assert 'some.csv:1: has no column "id"; did you mean "idd"?' in faults


def test_reading_ends_after_too_many_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file of endless rows is cut with a fault, not read for ever."""
    monkeypatch.setattr(tables, "MOST_ROWS", 2)
    rows, faults = read(tmp_path, "id\na\nb\nc\nd\n")
    assert len(rows) == 2
    assert faults == ["some.csv:4: has too many rows or faults: the rest was not read"]


def test_large_and_unreadable_files(tmp_path: Path) -> None:
    """A file above five million bytes, and a folder in the place of a file, are faults."""
    assert read(tmp_path, b"id\n" + b"x" * 5_000_000)[1] == [
        "some.csv: is larger than 5 million bytes; is it the right file?"
    ]
    (tmp_path / "folder.csv").mkdir()
    faults = Faults()
    assert list(Table(tmp_path / "folder.csv", COLUMNS, faults)) == []
    assert [str(fault) for fault in faults.in_order(())] == [
        "folder.csv: cannot be read: it is a folder, not a plain file"
    ]
