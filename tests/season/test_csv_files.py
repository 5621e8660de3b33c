"""The log as CSV, out and in again."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.errors import FarmError
from routing.farm.formulas import STARTS_A_FORMULA, guarded, unguarded
from routing.farm.ways import ways_of
from routing.season.csv_files import ALL, entries_csv, read_entries
from routing.season.entries import Entry, Medicine
from tests.season.small_farm import done

ZONES = ("", "Europe/London", "Europe/Berlin")
words = st.text(
    st.characters(
        blacklist_categories=("Cs", "Cc", "Cn"),
        blacklist_characters="\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f",
    ),
    min_size=1,
    max_size=20,
).filter(lambda text: text.strip() == text and text)
ids = words.filter(lambda text: ";" not in text)
entries = st.builds(
    Entry,
    date=st.dates(min_value=dt.date(2000, 1, 1), max_value=dt.date(2100, 1, 1)),
    time=st.none() | st.times().map(lambda time: time.replace(microsecond=0)),
    site=ids,
    kind=ids,
    minutes=st.none() | st.integers(0, 2000).map(lambda number: number / 4),
    people=st.none() | st.integers(1, 20),
    partly=st.booleans(),
    stores_kg=st.none() | st.integers(0, 100).map(float),
    seen=st.sampled_from([(), ("lid-off",), ("stores-low", "robbing")]),
    materials=st.dictionaries(ids, st.integers(0, 4000).map(lambda number: number / 8) | st.floats(0, 1), max_size=3),
    note=words | st.just("") | st.text("=-'\uff1d;\n\t a1", max_size=12).map(str.strip),
    medicine=st.none()
    | st.builds(Medicine, product=words, batch=words, withdrawal_days=st.none() | st.integers(0, 99)),
)


@given(st.lists(entries, max_size=4, unique_by=lambda entry: entry.reference), st.sampled_from(ZONES))
@settings(deadline=None, max_examples=60)
def test_what_goes_out_comes_in_the_same(
    tmp_path_factory: pytest.TempPathFactory, written: list[Entry], zone: str
) -> None:
    """In no country's way, and in those of countries with decimal points and with decimal commas."""
    path = tmp_path_factory.mktemp("csv") / "log.csv"
    path.write_bytes(entries_csv(written, ways_of(zone)).encode())
    assert list(read_entries(path, ways_of(zone))) == written


def test_in_a_country_of_decimal_commas_the_log_has_them_and_semicolons(tmp_path: Path) -> None:
    """1.125 gets a fourth decimal, or it may be a thousand and more; a log of commas between cells is read as it is."""
    entry = done("one", "fondant", "2026-12-01", minutes=12.5, materials={"fondant": 1.125})
    german = ways_of("Europe/Berlin")
    text = entries_csv([entry], german)
    assert ";12,5;" in text
    assert ";1,1250 fondant;" in text
    for written in (text, entries_csv([entry])):
        (tmp_path / "log.csv").write_text(written)
        assert list(read_entries(tmp_path / "log.csv", german)) == [entry]


@given(st.text("=+'\uff1d\ufe66;\n\r\t a1", max_size=12))
def test_a_guarded_text_is_given_back_and_begins_no_formula_anywhere(text: str) -> None:
    """Wherever a cell may begin in some locale (after ; or a tab, on a new line) no sign stands."""
    shown = guarded(text)
    assert unguarded(shown) == text
    starts = [part.lstrip() for part in re.split(r"[;\t\r\n]", shown)]
    assert not [part for part in starts if part.startswith(STARTS_A_FORMULA)]


@pytest.mark.parametrize("mark", STARTS_A_FORMULA)
def test_no_cell_can_act_as_a_formula_and_the_file_says_it_is_utf_8(mark: str) -> None:
    """The marks that start a formula in a spreadsheet. Source: OWASP, "CSV Injection"."""
    bad = f"{mark}1+1"
    entry = done(bad, bad, "2026-01-02", crew=bad, note=bad, medicine={"product": bad, "batch": bad})
    text = entries_csv((entry.model_copy(update={"reference": bad}),))
    assert text.startswith("\ufeff")
    cells = [cell for row in csv.reader(io.StringIO(text.removeprefix("\ufeff"))) for cell in row]
    assert not [cell for cell in cells if cell.startswith(mark)]
    assert cells.count("'" + bad) == 7


def test_every_fault_is_told_at_once_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "in.csv"
    path.write_text(
        "date,site,kind,minutes,seen,materials\n"
        "2026-13-01,ash,heft,5,,\n"
        "2026-01-02,,heft,many,,\n"
        "2026-01-02,ash,heft,5,unicorns,fondant\n"
    )
    with pytest.raises(FarmError) as caught:
        read_entries(path)
    told = [str(fault) for fault in caught.value.faults]
    assert [text.split(" ")[0] for text in told] == ["in.csv:2:", "in.csv:3:", "in.csv:3:", "in.csv:4:"]
    assert "materials" in told[3]


def test_another_spreadsheets_file_is_read_too(tmp_path: Path) -> None:
    path = tmp_path / "in.csv"
    path.write_text("Date;Site;Kind;Minutes;Materials\n02/01/2026;ash;heft;12,5;2,5 fondant\n")
    (entry,) = read_entries(path, ways_of("Europe/London"))
    assert (entry.minutes, entry.materials, entry.date.isoformat()) == (12.5, {"fondant": 2.5}, "2026-01-02")
    assert set(ALL) >= {"reference", "medicine_batch"}
