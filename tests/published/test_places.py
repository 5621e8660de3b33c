"""Grid references against published coordinates."""

from __future__ import annotations

import pyproj
import pytest

from routing.farm.location import kilometres
from routing.farm.models import Place
from routing.farm.national_grids import british_place, irish_place
from routing.farm.places import parse_place

ONE_MILLIMETRE_DEGREES = 1e-8
"""Roughly: a degree of latitude is 111 km."""


@pytest.mark.parametrize(
    ("east", "north", "latitude", "longitude"),
    [
        (91492.146, 11318.804, 49.92226394, -6.29977752),
        (530624.974, 178388.464, 51.48936565, -0.11992557),
        (319188.434, 670947.534, 55.92478266, -3.29479219),
    ],
    ids=["TP01", "TP09", "TP27"],
)
def test_ostn15_test_points(east: float, north: float, latitude: float, longitude: float) -> None:
    """Three of the Ordnance Survey's OSTN15 test points (in its developer pack) are met to a few millimetres."""
    place = british_place(east, north)
    assert place.latitude == pytest.approx(latitude, abs=2 * ONE_MILLIMETRE_DEGREES)
    assert place.longitude == pytest.approx(longitude, abs=3 * ONE_MILLIMETRE_DEGREES)


def test_ordnance_survey_worked_example() -> None:
    """The example of "A guide to coordinate systems in Great Britain", TG 51409 13177, is the point it works out.

    The guide gives 52 39 27.2531 N, 1 43 4.5177 E on the Airy ellipsoid for E 651409.903, N 313177.270. That is taken
    to WGS 84 by pyproj's own datum shift, which without the OSTN15 grid is good to 5 m; the two must agree to that.
    """
    airy_latitude = 52 + 39 / 60 + 27.2531 / 3600
    airy_longitude = 1 + 43 / 60 + 4.5177 / 3600
    to_grid = pyproj.Transformer.from_crs("EPSG:4277", "EPSG:27700", always_xy=True)
    assert to_grid.transform(airy_longitude, airy_latitude) == pytest.approx((651409.903, 313177.270), abs=0.001)
    to_wgs84 = pyproj.Transformer.from_crs("EPSG:4277", "EPSG:4326", always_xy=True)
    longitude, latitude = to_wgs84.transform(airy_longitude, airy_latitude)
    read = parse_place("TG 51409 13177")
    assert kilometres(read, Place(latitude=latitude, longitude=longitude)) < 0.005


def test_spire_of_dublin() -> None:
    """O 15904 34671 is the Spire of Dublin, about 53.34978 N, 6.26028 W, within 5 m. Source: its published references."""
    assert kilometres(parse_place("O 15904 34671"), Place(latitude=53.34978, longitude=-6.26028)) < 0.005


def test_irish_grid_backwards() -> None:
    """Taking WGS 84 53.34978 N, 6.26028 W to the Irish Grid by pyproj comes back to the Spire's reference within 5 m."""
    to_grid = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:29903", always_xy=True)
    east, north = to_grid.transform(-6.26028, 53.34978)
    assert (east, north) == pytest.approx((315904, 234671), abs=5)
    assert kilometres(irish_place(east, north), Place(latitude=53.34978, longitude=-6.26028)) < 0.001


@pytest.mark.parametrize("reference", ["SV 90 10", "TQ 30 78", "SO 51 40", "NT 19 70", "HU 45 41", "NY 21 07"])
def test_ostn15_and_helmert_agree(reference: str) -> None:
    """From Scilly to Shetland our place is within 5 m of pyproj's independent datum shift from EPSG:27700."""
    first, east, north = reference.split()
    squares = {"SV": (0, 0), "TQ": (5, 1), "SO": (3, 2), "NT": (3, 6), "HU": (4, 11), "NY": (3, 5)}
    corner_east, corner_north = squares[first]
    to_wgs84 = pyproj.Transformer.from_crs("EPSG:27700", "EPSG:4326", always_xy=True)
    longitude, latitude = to_wgs84.transform(
        corner_east * 100_000 + int(east) * 1000 + 500, corner_north * 100_000 + int(north) * 1000 + 500
    )
    assert kilometres(parse_place(reference), Place(latitude=latitude, longitude=longitude)) < 0.005
