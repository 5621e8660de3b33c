"""Directions against published azimuths, links against an independent reader of RFC 5870."""

import geouri
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.share.safety.geo import coordinates, towards, ways
from routing.share.safety.positions import geo_uri
from tests.share.sample import alder


def test_directions_of_published_lines() -> None:
    # Source: Geoscience Australia's worked Vincenty example: Flinders Peak to Buninyong, azimuth 306 52 05.37.
    flinders = (-(37 + 57 / 60 + 3.7203 / 3600), 144 + 25 / 60 + 29.5244 / 3600)
    buninyong = (-(37 + 39 / 60 + 10.1561 / 3600), 143 + 55 / 60 + 35.3839 / 3600)
    assert towards(flinders, buninyong) == "north-west"
    assert towards(buninyong, flinders) == "south-east"
    # Land's End to John o'Groats: azimuth 9.1 degrees, reproduced with GeographicLib.
    assert towards((50.06632, -5.71475), (58.64402, -3.07009)) == "north"


def test_a_place_is_here_and_the_date_line_is_no_wall() -> None:
    assert towards((52, -3), (52, -3)) == "here"
    assert towards((0, 179.9), (0, -179.9)) == "east"


def test_each_drive_has_its_way_and_the_one_home_is_last() -> None:
    found = ways((52.61, -2.95), alder(), "km")
    assert len(found) == 5
    assert found[0] == "14.0 km to the north"  # 52.71 lies north of 52.61, two hundredths of a degree east
    assert found[4] == "21.0 km to the north"  # 52.52, -2.96 and home again


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_any_place_has_a_link_that_an_independent_reader_takes(latitude: float, longitude: float) -> None:
    """Within half of the last of six decimals; at a pole the longitude means nothing and is 0 (RFC 5870, 3.4.2)."""
    read = geouri.parse(geo_uri(latitude, longitude))
    assert float(read.lat) == pytest.approx(latitude, abs=6e-7)
    if abs(round(latitude, 6)) < 90:
        assert abs(float(read.lon)) == pytest.approx(abs(longitude), abs=6e-7)


def test_links_are_plain_decimals() -> None:
    assert geo_uri(52.2205, -2.9105) == "geo:52.2205,-2.9105"
    assert geo_uri(-1e-9, 100.0) == "geo:0,100"
    assert geo_uri(90, 45) == "geo:90,0"


def test_coordinates_are_read_out_with_five_decimals() -> None:
    assert coordinates(52.2205, -0.000001) == "52.22050, 0.00000"
