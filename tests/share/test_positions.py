"""Positions are written so that other programs read the same place."""

import geouri
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.share.safety.positions import degrees, degrees_text, geo_uri

LATITUDES, LONGITUDES = st.floats(-90, 90), st.floats(-180, 180)


@given(LATITUDES, LONGITUDES)
def test_another_reader_finds_the_place_to_a_tenth_of_a_metre(latitude: float, longitude: float) -> None:
    found = geouri.parse(geo_uri(latitude, longitude))
    assert float(found.lat) == pytest.approx(latitude, abs=0.6e-6)
    if abs(degrees(latitude)) != 90:
        assert float(found.lon) == pytest.approx(longitude, abs=0.6e-6)
    assert found.crs == "wgs84"  # Source: RFC 5870, section 3.4.1: the default


def test_a_pole_has_longitude_nought() -> None:
    """Source: RFC 5870, section 3.4.2."""
    assert geo_uri(90, 22.43) == "geo:90,0"
    assert geo_uri(-90, -22.43) == "geo:-90,0"


@pytest.mark.parametrize(
    ("value", "text"), [(52.71, "52.71"), (-1e-7, "0"), (1e-6, "0.000001"), (100.0, "100"), (-2.9300004, "-2.93")]
)
def test_no_exponent_no_minus_nought_no_needless_zeros(value: float, text: str) -> None:
    assert degrees_text(value) == text


def test_rounding_never_gives_a_negative_nought() -> None:
    assert str(degrees(-1e-9)) == "0.0"
