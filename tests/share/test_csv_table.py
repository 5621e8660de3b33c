"""The table opens in a spreadsheet with its letters whole and nothing in it is calculated."""

import csv
import io
import math
import unicodedata

import pytest

from routing.round import Round, Start, StoppingPlace
from routing.share.exports.csv_table import HEADER, round_csv
from tests.share.hostile import TEXTS, broken_round, rounds
from tests.share.sample import alder, hostile_round, sample_round

NUMBERS = (
    *("Hives latitude", "Hives longitude", "Van latitude", "Van longitude"),
    *("Drive minutes", "Drive km", "Light left minutes", "Load kg on leaving", "Hives"),
)


def rows(round_: Round, separator: str = ",") -> list[list[str]]:
    text = round_csv(round_).encode().decode("utf-8-sig")
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))


def table(round_: Round) -> list[dict[str, str]]:
    header, *body = rows(round_)
    return [dict(zip(header, row, strict=True)) for row in body]


def test_it_has_a_byte_order_mark_and_ends_its_lines_as_the_standard_says() -> None:
    """Source: RFC 4180, section 2: CRLF after each record."""
    content = round_csv(sample_round()).encode()
    assert content.startswith(b"\xef\xbb\xbf")
    assert content.endswith(b"\r\n")
    assert content.count(b"\n") == content.count(b"\r\n") == 1 + 6 + 2 + 2 + 3  # header, stops, bases, homes, left out


def test_every_row_says_what_the_round_says() -> None:
    found = table(sample_round())
    assert [row["What"] for row in found] == [
        *("base", "stop", "stop", "stop", "stop", "home", "base", "stop", "stop", "home"),
        *("left out", "left out", "left out"),
    ]
    second = found[2]
    assert (second["Crew"], second["Stop"], second["Site"]) == ("Alder", "A2", "Long Meadow")
    assert (float(second["Hives latitude"]), float(second["Hives longitude"])) == (52.66, -2.78)
    assert (second["Arrive"], second["Finish"]) == ("2024-12-18 09:36", "2024-12-18 10:21")
    assert float(second["Drive minutes"]) == 24.8  # 1490 s / 60 = 24.83
    assert found[0]["Start"] == "2024-12-18 07:22"
    assert found[0]["Finish"] == "2024-12-18 07:37"
    assert found[5]["Arrive"] == "2024-12-18 14:59"  # home at 14:58:10, told to the safe side
    assert found[10]["Notes"] == "no vehicle: Far Moor needs a 4x4 and no vehicle is one."
    assert found[10]["Date"] == "2024-12-18"


def test_where_the_van_stops_and_where_the_hives_are_have_columns_of_their_own() -> None:
    """The van stops in Mill Lane below the hives; of Long Meadow no stopping place is known; base is the van's alone."""
    day = alder()
    lane = StoppingPlace(latitude=52.7081, longitude=-2.9312, road="=Mill Lane")
    first = day.stops[0].model_copy(update={"stopping_place": lane})
    day = day.model_copy(update={"stops": (first, *day.stops[1:])})
    base, mill, meadow, *_ = table(sample_round(itineraries=(day,)))
    names = ("Hives latitude", "Hives longitude", "Van stops on", "Van latitude", "Van longitude")
    assert [mill[name] for name in names] == ["52.71", "-2.93", "'=Mill Lane", "52.7081", "-2.9312"]
    assert [meadow[name] for name in names] == ["52.66", "-2.78", "", "", ""]
    assert [base[name] for name in names[:3]] == ["", "", ""]
    assert base["Van latitude"]


def test_the_rest_of_a_day_starts_where_the_crew_stands() -> None:
    start = Start(name="Elm", latitude=52.6, longitude=-2.9)
    row = table(sample_round(itineraries=(alder(),), start=start))[0]
    assert (row["What"], row["Site"], row["Van latitude"]) == ("start", "Elm", "52.6")


def starts_a_formula(cell: str) -> bool:
    """Source: OWASP, CSV Injection: = + - @ first in a cell, also after a tab or CR; full-width forms in some programs."""
    return unicodedata.normalize("NFKC", cell.lstrip(' "\t\r\n')[:1]) in {"=", "+", "-", "@"}


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("text", [text for text, _ in TEXTS.values()])
def test_no_cell_is_calculated_whichever_separator_the_spreadsheet_takes(text: str, separator: str) -> None:
    header, *body = rows(hostile_round(text), separator)
    assert len(header) == (len(HEADER) if separator == "," else 1)
    for row in body:
        for index, cell in enumerate(row):
            if separator == "," and HEADER[index] in NUMBERS:
                assert cell == "" or math.isfinite(float(cell))
            else:
                assert not starts_a_formula(cell)


@pytest.mark.parametrize(("_name", "round_", "seen"), rounds())
def test_hostile_text_keeps_the_columns_and_stays_readable(_name: str, round_: Round, seen: str) -> None:
    found = table(round_)
    assert len(found) == 13
    assert any(seen in value for row in found for value in row.values())
    assert all("\n" not in value and "\r" not in value for row in found for value in row.values())


def test_half_a_character_does_not_stop_the_writing() -> None:
    assert table(broken_round())[1]["Site"] == "Half \ufffd char"


def test_private_lines_come_only_when_given() -> None:
    assert "4471" not in round_csv(sample_round())
    assert "Gate code: 4471" in round_csv(sample_round(), {"mill bank": ("Gate code: 4471",)})


def test_the_same_round_gives_the_same_bytes() -> None:
    assert round_csv(sample_round()) == round_csv(sample_round())
