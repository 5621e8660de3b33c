"""A place's grid reference, against published points and against the reading of references."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.farm.location import kilometres
from routing.farm.models import Place
from routing.farm.place_to_grid import grid_reference
from routing.farm.places import parse_place


@pytest.mark.parametrize(
    ("latitude", "longitude", "reference"),
    [
        # Source: Ordnance Survey, OSTN15 test points TP01, TP09 and TP27: E 91492.146 N 11318.804 (square SV, which
        # starts at 0, 0), E 530624.974 N 178388.464 (TQ, 500000, 100000), E 319188.434 N 670947.534 (NT, 300000, 600000).
        (49.92226394, -6.29977752, "SV 91492 11318"),
        (51.48936565, -0.11992557, "TQ 30624 78388"),
        (55.92478266, -3.29479219, "NT 19188 70947"),
    ],
)
def test_ostn15_test_points(latitude: float, longitude: float, reference: str) -> None:
    assert grid_reference(Place(latitude=latitude, longitude=longitude), 5) == reference


def test_spire_of_dublin() -> None:
    # Source: its published Irish grid reference is O 15904 34671, about 53.34978 N, 6.26028 W.
    assert grid_reference(Place(latitude=53.34978, longitude=-6.26028), 3) == "O 159 346"


def test_digits_are_cut_and_not_rounded() -> None:
    place = Place(latitude=51.48936565, longitude=-0.11992557)  # TQ 30624 78388
    assert grid_reference(place, 4) == "TQ 3062 7838"
    assert grid_reference(place, 2) == "TQ 30 78"


@pytest.mark.parametrize(
    ("name", "latitude", "longitude", "letters"),
    # Squares from memory of the grids' maps; the places' coordinates too.
    [
        ("Belfast", 54.6, -5.93, "J"),
        ("Cork", 51.9, -8.47, "W"),
        ("Mull of Kintyre", 55.31, -5.77, "NR"),
        ("Douglas, Isle of Man", 54.15, -4.48, "SC"),
        ("Dover", 51.13, 1.31, "TR"),
        ("Lerwick", 60.155, -1.145, "HU"),
    ],
)
def test_each_island_has_its_own_grid(name: str, latitude: float, longitude: float, letters: str) -> None:
    assert grid_reference(Place(latitude=latitude, longitude=longitude)).split()[0] == letters, name


@pytest.mark.parametrize(
    ("latitude", "longitude"), [(48.8, 2.3), (50.95, 1.85), (49.9, 1.1), (40.7, -74.0), (-52.0, 0.0), (90.0, 0.0)]
)
def test_elsewhere_there_is_none(latitude: float, longitude: float) -> None:
    assert grid_reference(Place(latitude=latitude, longitude=longitude)) == ""


@given(st.floats(52, 55), st.floats(-10, -5.35) | st.floats(-5.33, 0.5))
def test_a_reference_read_back_is_within_half_a_squares_diagonal(latitude: float, longitude: float) -> None:
    """Squares of 10 m: the centre is at most 7.1 m from any point of it; 5 m more for the Irish datum shift.

    Off the very edge of the Irish area (5.34 W, at sea), where the reading of references refuses the centre of a square.
    """
    place = Place(latitude=latitude, longitude=longitude)
    assert kilometres(parse_place(grid_reference(place)), place) < 0.0125


def test_none_or_six_digits_are_refused() -> None:
    for digits in (0, 6):
        with pytest.raises(ValueError, match="1 to 5 digits"):
            grid_reference(Place(latitude=52, longitude=-2), digits)
