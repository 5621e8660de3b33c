"""Straight lines on the earth against published geodesics."""

from __future__ import annotations

import math

import pytest
from geographiclib.test import test_geodesic
from geopy.distance import geodesic

from routing.farm.models import Place
from routing.travel.straight import geodesic_metres


def metres(start: tuple[float, float], end: tuple[float, float]) -> float:
    """Return what the product measures between two points of (latitude, longitude) in degrees."""
    places = [
        Place(latitude=latitude, longitude=math.remainder(longitude, 360)) for latitude, longitude in (start, end)
    ]
    (found,) = geodesic_metres(places[:1], places[1:])
    return float(found)


def degrees(whole: int, minutes: int, seconds: float) -> float:
    """Return decimal degrees; the sign of the whole degrees holds for all."""
    return math.copysign(abs(whole) + minutes / 60 + seconds / 3600, whole)


def test_flinders_peak_to_buninyong() -> None:
    """54,972.271 m on GRS 80, which gives the same millimetre as WGS 84.

    Source: Geocentric Datum of Australia technical manual, worked example of Vincenty's formula.
    """
    flinders_peak = degrees(-37, 57, 3.72030), degrees(144, 25, 29.52440)
    buninyong = degrees(-37, 39, 10.15610), degrees(143, 55, 35.38390)
    assert metres(flinders_peak, buninyong) == pytest.approx(54_972.271, abs=0.0006)


def test_lands_end_to_john_o_groats() -> None:
    """969,954.166 m, to the millimetre.

    Source: worked example of Vincenty's formula for 50.06632 N 5.71475 W to 58.64402 N 3.07009 W on movable-type.co.uk.
    """
    assert metres((50.06632, -5.71475), (58.64402, -3.07009)) == pytest.approx(969_954.166, abs=0.0006)


CASES = test_geodesic.GeodesicTest.testcases
"""Rows of latitude, longitude, azimuth, latitude, longitude, azimuth, metres and more.

Source: C. F. F. Karney's test set for geodesics, read where GeographicLib's Python package ships it."""


@pytest.mark.parametrize("case", CASES, ids=[f"case {number}" for number in range(1, len(CASES) + 1)])
def test_karney_geodesics(case: list[float]) -> None:
    """All twenty published lengths, from 2,300 to 17,300 km, to a tenth of a micrometre."""
    assert len(CASES) == 20
    assert metres((case[0], case[1]), (case[3], case[4])) == pytest.approx(case[6], abs=1e-7)


def test_points_all_but_opposite_have_their_distance() -> None:
    """0 N 0 E to 0.5 N 179.7 E, where Vincenty's formula does not converge: 19,944,127.421 m.

    Source: C. F. F. Karney, "Geodesics on an ellipsoid of revolution", arXiv 1102.1215 (value from memory).
    """
    assert metres((0, 0), (0.5, 179.7)) == pytest.approx(19_944_127.421, abs=0.001)


@pytest.mark.parametrize("end", [(51.4, -2.3), (51.5074, -0.1278), (-41.2865, 174.7762), (90, 0), (51.2, -2.6)])
def test_geopy_measures_the_same(end: tuple[float, float]) -> None:
    """Geopy's geodesic, the pure Python form of the same formula, within a micrometre; 0 between a place and itself."""
    start = (51.2, -2.6)
    assert metres(start, end) == pytest.approx(geodesic(start, end).m, abs=1e-6)
