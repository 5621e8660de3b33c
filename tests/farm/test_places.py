"""The forms in which people write a place, and the refusals."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.errors import PlaceError
from routing.farm.folder import read_farm
from routing.farm.location import kilometres
from routing.farm.places import parse_place

from .conftest import FaultsOf, Write

HALF = 52 + 6 / 60 + 30 / 3600


@pytest.mark.parametrize(
    ("text", "latitude", "longitude"),
    [
        ("52.1, -2.7", 52.1, -2.7),
        ("52.1 -2.7", 52.1, -2.7),
        ("52.1,-2.7", 52.1, -2.7),
        ("  52.1 ;  +2.7 ", 52.1, 2.7),
        ("52, 2", 52, 2),
        ("52.1N 2.7W", 52.1, -2.7),
        ("n52.1 w2.7", 52.1, -2.7),
        ("2.7 W, 52.1 N", 52.1, -2.7),
        ("41.3 S 174.8 E", -41.3, 174.8),
        ("52.1\N{DEGREE SIGN}, \N{MINUS SIGN}2.7\N{DEGREE SIGN}", 52.1, -2.7),
        ("52,1 -2,7", 52.1, -2.7),
        ("52,1; -2,7", 52.1, -2.7),
        ("52,1N 2,7W", 52.1, -2.7),
        ("52\N{DEGREE SIGN}06'30\"N 2\N{DEGREE SIGN}42'00\"W", HALF, -2.7),
        ("N 52\N{DEGREE SIGN} 6\N{PRIME} 30\N{DOUBLE PRIME}, W 2\N{DEGREE SIGN} 42\N{PRIME}", HALF, -2.7),
        (
            "52\N{DEGREE SIGN}6\N{RIGHT SINGLE QUOTATION MARK}30\N{RIGHT DOUBLE QUOTATION MARK} -2\N{DEGREE SIGN}42'",
            HALF,
            -2.7,
        ),
        ("52\N{DEGREE SIGN}06'30''N 2\N{DEGREE SIGN}42'W", HALF, -2.7),
        ("52\N{DEGREE SIGN}06.5'N 2\N{DEGREE SIGN}42.0'W", HALF, -2.7),
        ("52 06 30 N 2 42 00 W", HALF, -2.7),
        ("52 06 30, -2 42 00", HALF, -2.7),
    ],
)
def test_degrees_in_every_form(text: str, latitude: float, longitude: float) -> None:
    """Each way of writing the same angles gives the same point."""
    place = parse_place(text)
    assert (place.latitude, place.longitude) == pytest.approx((latitude, longitude), abs=1e-9)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "it is empty"),
        ("the old barn", "was not understood"),
        ("52.1", "is not two numbers"),
        ("52,1", "commas may part numbers or be decimal commas"),
        ("52,1,2,7", "commas may part numbers or be decimal commas"),
        ("52.1, -2.7, 80", "more than two parts"),
        ("152.1, 2.7", "are the two swapped?"),
        ("52.1, 190", "longitude at 180"),
        ("-52.1 N 2.7 W", "both a sign and a letter"),
        ("52.1 N 2.7", "one of N or S and one of E or W"),
        ("52.1 N 2.7 N", "one of N or S and one of E or W"),
        ("52 61 N 2 10 W", "end below 60"),
        ("52.5 30 N 2 10 W", "only the last"),
        ("52'06\N{DEGREE SIGN}, 2", "stands in the wrong place"),
        ("SO 123 45", "same number of digits"),
        ("SO 123", "even number of digits"),
        ("SO", "even number of digits"),
        ("SI 123 456", "without I"),
        ("351234 245678", "letters of their grid square"),
        ("HA 00 00", "the British grid has no land there"),
        ("ZZ 12 34", "the British grid has no land there"),
        ("A 00 00", "the Irish grid has no land there"),
        ("5" * 200, "too long"),
    ],
)
def test_refusals_say_why_and_which_forms_are_understood(text: str, reason: str) -> None:
    """A text that is not a place, or could be two, is refused with its reason and the accepted forms."""
    with pytest.raises(PlaceError, match="is not a place") as caught:
        parse_place(text)
    assert reason in str(caught.value)
    assert "British grid reference (SO 512 402)" in str(caught.value)


@pytest.mark.parametrize(
    "text", ["SO 51250 40250", "SO5125040250", "so 5125 4025", "SO51254025", "SO 512 402", "SO512402"]
)
def test_grid_reference_is_the_middle_of_its_square(text: str) -> None:
    """The 1 m, 10 m and 100 m squares around one point give places within half their diagonal, and more digits less."""
    digits = sum(character.isdigit() for character in text) // 2
    half_diagonal_metres = 10 ** (5 - digits) / 2 * math.sqrt(2)
    metres = kilometres(parse_place(text), parse_place("SO 51250 40250")) * 1000
    assert metres <= half_diagonal_metres * 1.01


def test_neighbouring_squares_are_a_square_apart() -> None:
    """Places of SO 51 40 and SO 52 40 are 1 km apart on the ground, to the grid's scale of 0.1 %."""
    assert kilometres(parse_place("SO 51 40"), parse_place("SO 52 40")) == pytest.approx(1, rel=0.005)


def test_a_thousand_metres_in_ireland() -> None:
    """Two Irish references 1 km apart are 1 km apart on the ground."""
    assert kilometres(parse_place("O 15 34"), parse_place("O 15 35")) == pytest.approx(1, rel=0.005)


@given(st.one_of(st.text(), st.text(alphabet="NSEWO0123456789.,;-+ \N{DEGREE SIGN}'\"", max_size=24)))
def test_any_text_is_a_place_or_refused(text: str) -> None:
    """Random text, and random text of the characters that places are made of, never gives another error."""
    try:
        outcome = str(parse_place(text))
    except PlaceError as error:
        outcome = str(error)
    assert "latitude=" in outcome or "is not a place" in outcome


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_decimal_degrees_survive(latitude: float, longitude: float) -> None:
    """A point written with nine decimals and read again is the same to a tenth of a millimetre, signs or letters."""
    with_signs = parse_place(f"{latitude:.9f}, {longitude:.9f}")
    north, east = ("N" if latitude >= 0 else "S"), ("E" if longitude >= 0 else "W")
    with_letters = parse_place(f"{abs(latitude):.9f}{north} {abs(longitude):.9f}{east}")
    for place in (with_signs, with_letters):
        assert (place.latitude, place.longitude) == pytest.approx((latitude, longitude), abs=1e-9)


@pytest.mark.parametrize("written", ["52.09 -2.71", "52°05'24\"N 2°42'36\"W", "52,09; -2,71"])
def test_a_stopping_place_is_written_as_a_place_is(write: Write, written: str) -> None:
    cell = '"' + written.replace('"', '""') + '"'
    (site,) = read_farm(write(sites=f"id,place,parking,hives\none,52.09 -2.7,{cell},10\n")).sites
    assert site.parking is not None
    assert (site.parking.latitude, site.parking.longitude) == pytest.approx((52.09, -2.71))


def test_a_site_without_a_stopping_place_has_none(write: Write) -> None:
    (site,) = read_farm(write(sites="id,place,parking,hives\none,52.1 -2.7,,10\n")).sites
    assert site.parking is None


def test_a_stopping_place_that_is_no_place_is_told_with_its_line(faults_of: FaultsOf) -> None:
    (fault,) = faults_of(sites="id,place,parking,hives\none,52.1 -2.7,by the barn,10\n")
    assert fault.startswith('sites.csv:2: parking: "by the barn" is not a place')


def test_a_stopping_place_far_from_the_hives_is_doubted(warnings_of: FaultsOf) -> None:
    (warning,) = warnings_of(sites="id,place,parking,hives\none,52.1 -2.7,52.2 -2.7,10\n")
    assert 'parking of site "one" is 11.1 km from its hives' in warning
