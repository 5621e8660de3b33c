"""OpenDocument spreadsheets: what their cells hold, what is told by cell, and what is made to break a reader."""

from __future__ import annotations

import random
import zipfile
from pathlib import Path

import pytest

from routing.errors import FarmError
from routing.farm.folder import read_farm
from tests.farm.books import by_odfdo, part_of, with_part
from tests.farm.conftest import FARM_TOML

SPACES = " ".join(
    f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for name in ("office", "table", "text", "manifest")
)
LATER = 'xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'
HEADER = ("id", "place", "hives", "hours", "closed", "last_of_day", "gate_code", "notes")
BILLION = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10))


def text(words: str) -> str:
    return f'<table:table-cell office:value-type="string"><text:p>{words}</text:p></table:table-cell>'


def row(*cells: str, more: str = "") -> str:
    return f"<table:table-row {more}>{''.join(cells)}</table:table-row>"


ONE = (text("one"), text("52.1, -2.7"), '<table:table-cell office:value-type="float" office:value="10"/>')
HEAD = row(*map(text, HEADER))


def content(rows: str, before: str = "", doctype: str = "") -> bytes:
    return (
        f'<?xml version="1.0"?>{doctype}<office:document-content {SPACES} {LATER}><office:body><office:spreadsheet>'
        f'{before}<table:table table:name="Sites">{rows}</table:table></office:spreadsheet></office:body>'
        "</office:document-content>"
    ).encode()


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """Return a good farm.ods in a farm folder."""
    (tmp_path / "farm.toml").write_text(FARM_TOML)
    by_odfdo(tmp_path / "farm.ods", {"Sites": [["id", "place", "hives"], ["one", "52.1, -2.7", 10]]})
    return tmp_path / "farm.ods"


def told(book: Path) -> list[str]:
    """Return the faults and warnings of the workbook's folder, a line each."""
    try:
        return [str(fault) for fault in read_farm(book.parent).warnings]
    except FarmError as error:
        return [str(fault) for fault in error.faults]


def with_rows(book: Path, rows: str, before: str = "") -> list[str]:
    with_part(book, "content.xml", content(rows, before))
    return told(book)


def test_cells_of_every_kind(book: Path) -> None:
    """A time, a date, a truth, a code with noughts, a formula's last value, and a text of lines, spaces and a comment."""
    comment = "<office:annotation><text:p>a comment</text:p></office:annotation>"
    words = '<text:p>two<text:s text:c="3"/>words</text:p><text:p>=1+1</text:p>'
    noted = f'<table:table-cell office:value-type="string">{comment}{words}</table:table-cell>'
    cells = (
        '<table:table-cell table:formula="of:=5+5" office:value-type="float" office:value="10"/>',
        text("8<text:span>-16</text:span>"),
        '<table:table-cell office:value-type="date" office:date-value="2026-12-24T00:00:00"/>',
        '<table:table-cell office:value-type="boolean" office:boolean-value="true"/>',
        '<table:table-cell office:value-type="float" office:value="42"><text:p>0042</text:p></table:table-cell>',
        noted,
    )
    assert with_rows(book, HEAD + row(*ONE[:2], *cells)) == []
    (site,) = read_farm(book.parent).sites
    assert (site.hives, len(site.hours), site.last_of_day, site.gate_code) == (10, 1, True, "0042")
    assert [day.isoformat() for day in site.closed_dates] == ["2026-12-24"]
    assert site.notes == "two   words\n=1+1"


def test_a_time_cell_is_a_time(book: Path) -> None:
    """As a span it is refused with its cell's name and the time that it holds."""
    time = '<table:table-cell office:value-type="time" office:time-value="PT08H30M00S"/>'
    assert with_rows(book, HEAD + row(*ONE, time))[0].startswith('farm.ods, Sites!D2: hours "08:30" is not a span')


def test_faults_hidden_rows_titles_notes_and_formulas_by_cell(book: Path) -> None:
    bad = text("12x")
    error = (
        '<table:table-cell table:formula="of:=1/0" office:value-type="string" office:string-value="" '
        'calcext:value-type="error"><text:p>#DIV/0!</text:p></table:table-cell>'
    )
    blank = row('<table:table-cell table:number-columns-repeated="16384"/>', more='table:number-rows-repeated="3"')
    rows = row(text("My sites")) + blank + HEAD
    rows += row(*ONE, more='table:visibility="collapse"')
    rows += row(text("two"), text("52.2, -2.7"), bad)
    rows += row(text("three"), text("52.3, -2.7"), '<table:table-cell table:formula="of:=A1"/>')
    rows += row(text("four"), text("52.4, -2.7"), error) + blank + row(text("Checked by Ash"))
    assert with_rows(book, rows) == [
        "farm.ods, Sites: hidden row is read like any other: 6; delete what is not meant",
        'farm.ods, Sites!C7: hives "12x" is not a whole number',
        "farm.ods, Sites!C8: is a formula without a value; open it in a spreadsheet and save it, or write the value",
        'farm.ods, Sites!C9: is an error of a formula: "#DIV/0!"; mend the formula, or write the value',
        'farm.ods, Sites!A13: "Checked by Ash" below the table was taken for a note and not read',
    ]


def test_a_cell_in_the_last_row_and_column_is_named(book: Path) -> None:
    far = row('<table:table-cell table:number-columns-repeated="16383"/>', text("x"))
    gap = row('<table:table-cell table:number-columns-repeated="16384"/>', more='table:number-rows-repeated="1048573"')
    found = with_rows(book, HEAD + row(*ONE) + gap + far)
    assert found[0].startswith("farm.ods, Sites: has a cell in row 1,048,576, and rows after 25,000 are not read")
    assert found[1].startswith("farm.ods, Sites: has a cell in column XFD, and columns after GR are not read")


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        (row(*ONE, more='table:number-rows-repeated="1048575"'), "farm.ods, Sites: has a cell in row 1,048,576"),
        (row(*ONE, more='table:number-rows-repeated="9999999"'), "farm.ods: has more rows than any sheet"),
        (row(*ONE, more='table:number-rows-repeated="10000000"'), "farm.ods: repeats a cell or a row as often"),
        (row(*ONE, more='table:number-rows-repeated="-1"'), "farm.ods: repeats a cell or a row as often"),
        (
            row(
                *ONE,
                text("x").replace("<table:table-cell", '<table:table-cell table:number-columns-repeated="9000000"'),
            ),
            "farm.ods: has more columns than any sheet",
        ),
        (row(*ONE[:2], text("x" * 50_000)), "farm.ods: has a cell of more than 40,000 characters"),
        (row(*ONE[:2], text('a<text:s text:c="99999999"/>b')), "farm.ods: repeats a cell or a row as often"),
        (row(*ONE[:2], text("<text:span>" * 200 + "x" + "</text:span>" * 200)), "farm.ods: is nested more deeply"),
        ("<table:table-row>", "farm.ods: is broken"),
    ],
)
def test_a_few_bytes_that_stand_for_millions_of_cells_are_not_unfolded(book: Path, rows: str, words: str) -> None:
    assert with_rows(book, HEAD + rows)[0].startswith(words)


def test_a_row_that_is_repeated_is_read_so_often(book: Path) -> None:
    """Three rows of one id: two faults, each on its own line."""
    found = with_rows(book, HEAD + row(*ONE, more='table:number-rows-repeated="3"'))
    assert [line.partition(":")[0] for line in found] == ["farm.ods, Sites!A3", "farm.ods, Sites!A4"]


def test_tables_within_cells_and_copies_of_other_files_are_no_sheets(book: Path) -> None:
    inner = f'<table:table-cell><table:table table:name="Jobs">{row(text("site"))}</table:table></table:table-cell>'
    linked = f'<table:table table:name="Drives"><table:table-source/>{row(text("from"))}</table:table>'
    assert with_rows(book, HEAD + row(*ONE) + row(inner), before=linked) == []


def test_a_document_type_is_refused(book: Path) -> None:
    with_part(book, "content.xml", content(row(text("&a9;")), doctype=f'<!DOCTYPE x [<!ENTITY a0 "ha">{BILLION}]>'))
    assert told(book)[0].startswith("farm.ods: declares a document type")


def test_passwords_macros_and_other_files_of_that_name(book: Path) -> None:
    good = book.read_bytes()
    manifest = part_of(book, "META-INF/manifest.xml").replace(b"</manifest:manifest>", b"<x-encryption-data/>")
    for name, held, words in (
        ("META-INF/manifest.xml", manifest, "is protected by a password"),
        ("encrypted-package", b"x", "is protected by a password"),
        ("Basic/Standard/Module1.xml", b"<x/>", "holds macros"),
        ("mimetype", b"application/vnd.oasis.opendocument.text", "is an OpenDocument file, but not a spreadsheet"),
        ("content.xml", None, "is a zip file, but not a workbook"),
        ("[Content_Types].xml", b"<x/>", "is no .ods workbook, though its name says so"),
    ):
        book.write_bytes(good)
        with_part(book, name, held)
        assert told(book)[0].startswith(f"farm.ods: {words}")
    book.write_bytes(good[: len(good) // 2])
    assert told(book)[0].startswith("farm.ods: is not a whole workbook: it is cut short, or no .ods file at all")


def test_a_file_that_unfolds_to_gigabytes_is_not_unfolded(book: Path) -> None:
    with zipfile.ZipFile(book, "a", zipfile.ZIP_DEFLATED) as parts, parts.open("Pictures/x.png", "w") as part:
        for _ in range(100):
            part.write(bytes(1_000_000))
    assert book.stat().st_size < 500_000
    assert told(book)[0].startswith("farm.ods: unfolds to more than 60 million bytes")


@pytest.mark.parametrize("seed", range(60))
def test_any_damage_is_a_fault_or_nothing(book: Path, seed: int) -> None:
    """Bytes changed in the zip or within its content, or the file cut: a farm or faults, never another error."""
    dice = random.Random(seed)
    if seed % 2:
        part = bytearray(content(HEAD + row(*ONE, more='table:number-rows-repeated="2"')))
        for _ in range(dice.randint(1, 6)):
            part[dice.randrange(len(part))] = dice.choice(b'<>"/=0179AZ& \x00')
        with_part(book, "content.xml", bytes(part))
    else:
        held = bytearray(book.read_bytes())
        for _ in range(dice.randint(1, 20)):
            held[dice.randrange(len(held))] = dice.randrange(256)
        book.write_bytes(bytes(held[: dice.randint(1, len(held))] if seed % 4 else held))
    assert told(book) or read_farm(book.parent).sites
