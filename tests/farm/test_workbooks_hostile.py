"""Workbooks that are broken, or made to break a reader, are plain faults: never a crash, never a wait."""

from __future__ import annotations

import io
import random
import time
import zipfile
from pathlib import Path

import openpyxl
import pytest

from routing.errors import FarmError, Fault
from routing.farm.folder import read_farm
from tests.farm.books import by_openpyxl, part_of, with_part
from tests.farm.conftest import FARM_TOML

SITES: list[list[object]] = [["id", "place", "hives"], ["one", "52.1, -2.7", 10]]
SHEET = "xl/worksheets/sheet1.xml"
HEAD = b'<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
TAIL = b"</sheetData></worksheet>"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """Return a good farm.xlsx in a farm folder."""
    (tmp_path / "farm.toml").write_text(FARM_TOML)
    by_openpyxl(tmp_path / "farm.xlsx", {"Sites": SITES})
    return tmp_path / "farm.xlsx"


def told(book: Path) -> str:
    """Return the first fault of the workbook's folder."""
    with pytest.raises(FarmError) as caught:
        read_farm(book.parent)
    return str(caught.value.faults[0])


def faults_of(book: Path) -> tuple[Fault, ...]:
    """Return the faults of the workbook's folder, none where it is a farm."""
    try:
        read_farm(book.parent)
    except FarmError as error:
        return error.faults
    return ()


def test_a_stray_cell_at_the_last_row_and_column_is_named(book: Path) -> None:
    workbook = openpyxl.load_workbook(book)
    workbook["Sites"].cell(1_048_576, 16_384, "x")
    workbook.save(book)
    begun = time.process_time()
    assert told(book).startswith("farm.xlsx, Sites: has a cell in row 1,048,576, and rows after 25,000 are not read")
    assert time.process_time() - begun < 5


def test_a_file_that_unfolds_to_gigabytes_is_not_unfolded(book: Path) -> None:
    """Four parts of 100 million noughts each in under half a megabyte."""
    with zipfile.ZipFile(book, "a", zipfile.ZIP_DEFLATED) as parts:
        for number in range(4):
            with parts.open(f"xl/media/{number}.bin", "w") as part:
                for _ in range(100):
                    part.write(bytes(1_000_000))
    assert book.stat().st_size < 500_000
    assert told(book).startswith("farm.xlsx: unfolds to more than 60 million bytes")


def test_a_part_that_is_longer_than_it_says_is_not_read_on(book: Path) -> None:
    """The size in the list of parts is a lie: the part is cut there, and then it is broken."""
    with_part(book, SHEET, HEAD + b" " * 5_000_000 + TAIL)
    content = bytearray(book.read_bytes())
    told_size = (len(HEAD) + 5_000_000 + len(TAIL)).to_bytes(4, "little")
    at = content.rfind(told_size)
    content[at : at + 4] = (1000).to_bytes(4, "little")
    book.write_bytes(bytes(content))
    assert told(book).startswith("farm.xlsx: is broken")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "farm.xlsx: is empty"),
        (b"id,place,hives\n", "farm.xlsx: is not a whole workbook"),
        (b"PK\x03\x04" + b"\x00" * 100, "farm.xlsx: is not a whole workbook"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 600, "farm.xlsx: is a workbook of an old form (.xls)"),
        (
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"),
            "farm.xlsx: is protected by a password",
        ),
    ],
)
def test_what_is_no_workbook(book: Path, content: bytes, words: str) -> None:
    book.write_bytes(content)
    assert told(book).startswith(words)


def test_a_workbook_with_macros_is_refused(book: Path) -> None:
    with_part(book, "xl/vbaProject.bin", b"macro")
    assert told(book).startswith("farm.xlsx: holds macros; save it as an .xlsx or .ods workbook without macros")


def test_a_zip_that_is_no_workbook_and_parts_of_one_name(book: Path) -> None:
    with zipfile.ZipFile(book, "w") as parts:
        parts.writestr("notes.txt", "x")
    assert told(book).startswith("farm.xlsx: is a zip file, but not a workbook")


def test_a_document_type_is_refused_before_anything_of_it_is_unfolded(book: Path) -> None:
    """Entities of entities: a billion letters of a few hundred."""
    lines = [b'<!ENTITY a0 "ha">', *(b'<!ENTITY a%d "%s">' % (n, b"&a%d;" % (n - 1) * 10) for n in range(1, 10))]
    with_part(book, "xl/sharedStrings.xml", b"<!DOCTYPE x [" + b"".join(lines) + b"]><sst>&a9;</sst>")
    assert told(book).startswith("farm.xlsx: holds a part that is no XML of a workbook")


@pytest.mark.parametrize(
    "rows",
    [
        b'<row r="99999999"><c r="A99999999"><v>1</v></c></row>',
        b'<row r="1"><c r="ZZZZZZ1"><v>1</v></c></row>',
        b'<row r="1"><c r="ZZZ1"><v>1</v></c></row>',
        b'<row r="2"/><row r="1"/>',
        b'<row r="-1"/>',
        b'<row r="1"><c r="A7"><v>1</v></c></row>',
        b"<row><c><v>",
        b"<c><c><c>",
    ],
)
def test_cells_that_no_sheet_has(book: Path, rows: bytes) -> None:
    with_part(book, SHEET, HEAD + rows + TAIL)
    assert told(book).startswith(("farm.xlsx, Sites: ", "farm.xlsx: is broken"))


@pytest.mark.parametrize("name", ["[Content_Types].xml", "xl/workbook.xml", SHEET, "xl/styles.xml", "_rels/.rels"])
@pytest.mark.parametrize("content", [None, b"", b"<", b"<x/>", b"\xff\xfe<\x00"])
def test_missing_and_broken_parts(book: Path, name: str, content: bytes | None) -> None:
    """A part that is missing, empty, cut or another: a fault of the workbook, or the farm as it was."""
    with_part(book, name, content)
    found = faults_of(book)
    assert all(fault.file.startswith(("farm.xlsx", "sites.csv")) for fault in found)
    assert found or len(read_farm(book.parent).sites) == 1


@pytest.mark.parametrize("seed", range(60))
def test_any_damage_is_a_fault_or_nothing(book: Path, seed: int) -> None:
    """Bytes changed in the zip or within a part, or the file cut: a farm or faults, never another error."""
    dice = random.Random(seed)
    if seed % 2:
        name = dice.choice(zipfile.ZipFile(book).namelist())
        part = bytearray(part_of(book, name))
        for _ in range(dice.randint(1, 6)):
            part[dice.randrange(len(part))] = dice.choice(b'<>"/=0179AZ& \x00')
        with_part(book, name, bytes(part))
    else:
        content = bytearray(book.read_bytes())
        for _ in range(dice.randint(1, 20)):
            content[dice.randrange(len(content))] = dice.randrange(256)
        book.write_bytes(bytes(content[: dice.randint(1, len(content))] if seed % 4 else content))
    assert faults_of(book) or read_farm(book.parent).sites


def test_many_parts(book: Path) -> None:
    content = io.BytesIO(book.read_bytes())
    with zipfile.ZipFile(content, "a") as parts:
        for number in range(2_100):
            parts.writestr(f"x/{number}", b"")
    book.write_bytes(content.getvalue())
    assert told(book).startswith("farm.xlsx: is made of too many parts")
