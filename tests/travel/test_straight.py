"""Drives estimated from the straight line: sums that can be followed, and minutes that never fall."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from routing.farm.kinds import load_catalogue
from routing.farm.models import DriveBand, Rules
from routing.travel.leg_origin import LegOrigin
from routing.travel.straight import (
    estimated_drive_seconds,
    estimated_road_metres,
    geodesic_metres,
    straight_line_legs,
)
from tests.daylight.builders import bands, place, rules

HILL = place(52.0, -2.5)
VALLEY = place(52.1, -2.4)
COAST = place(52.5, -4.0)


@pytest.mark.parametrize(
    ("straight_km", "road_km", "minutes"),
    [
        (0, 0, 0),
        (5, 7.5, 15),  # below the first point its values hold: 5 x 1.5 km, at 30 km/h
        (10, 15, 30),  # on the first point
        (15, 21, 36),  # half way between: 15 x 1.4 km, at 35 km/h
        (20, 26, 39),  # on the second point: 20 x 1.3 km, at 40 km/h
        (100, 130, 195),  # beyond the last point its values hold: 100 x 1.3 km, at 40 km/h
    ],
)
def test_distance_and_time_are_interpolated_over_the_points(straight_km: float, road_km: float, minutes: float) -> None:
    """Points: 10 km with detour 1.5 at 30 km/h, 20 km with 1.3 at 40 km/h."""
    asked = np.array([straight_km * 1000.0])
    assert estimated_road_metres(asked, rules()) == pytest.approx([road_km * 1000])
    assert estimated_drive_seconds(asked, rules()) == pytest.approx([minutes * 60])


@pytest.mark.parametrize(("straight_km", "minutes"), [(9, 27), (10, 30), (15, 30), (20, 30), (25, 30), (30, 36)])
def test_the_longest_time_so_far_holds_where_the_points_would_let_it_fall(straight_km: float, minutes: float) -> None:
    """Points 10 km, 1.5, 30 km/h (30 min) and 20 km, 1.2, 60 km/h (24 min): 30 min hold from 10 km until 25 km."""
    steep = rules(drive_bands=bands((10, 1.5, 30), (20, 1.2, 60)))
    assert estimated_drive_seconds(np.array([straight_km * 1000.0]), steep) == pytest.approx([minutes * 60])


def test_the_drive_factor_stretches_time_and_not_distance() -> None:
    """1.5 x the 15 min of 5 straight kilometres = 22.5 min; 7.5 km stay."""
    slow = rules(drive_factor=1.5)
    assert estimated_drive_seconds(np.array([5000.0]), slow) == pytest.approx([22.5 * 60])
    assert estimated_road_metres(np.array([5000.0]), slow) == pytest.approx([7500])


def test_legs_are_whole_seconds_and_metres_rounded_up_and_alike_both_ways() -> None:
    """Hill to valley is d = 13.0 km: seconds and metres are those of d, rounded up."""
    legs = straight_line_legs([("base", HILL), ("valley", VALLEY), ("coast", COAST)], rules())
    (straight,) = geodesic_metres([HILL], [VALLEY])
    share = (straight / 1000 - 10) / 10
    detour, metres_a_second = 1.5 - 0.2 * share, (30 + 10 * share) / 3.6
    assert 13_000 < straight < 13_100
    assert legs.metres[0, 1] == math.ceil(straight * detour)
    assert legs.seconds[0, 1] == math.ceil(straight * detour / metres_a_second)
    assert legs.places == ("base", "valley", "coast")
    assert (legs.seconds == legs.seconds.T).all()
    assert (legs.metres == legs.metres.T).all()
    assert not legs.seconds.diagonal().any()
    assert {origin for row in legs.origins for origin in row} == {LegOrigin.ESTIMATE}


def test_noise_in_the_last_digit_adds_no_second() -> None:
    """1 km x 1.1 at 39.6 km/h is 100 s; with floats 100.00000000000001, which must not become 101."""
    even = rules(drive_bands=bands((1, 1.1, 39.6)))
    seconds = estimated_drive_seconds(np.array([1000.0]), even)
    assert seconds[0] == pytest.approx(100)
    west, east = place(0, 0), place(0, 1000 / 6_378_137 * 180 / math.pi)  # 1 km of the equator
    legs = straight_line_legs([("base", west), ("east", east)], even)
    assert (legs.seconds[0, 1], legs.metres[0, 1]) == (100, 1100)


def test_two_places_in_one_spot_are_nothing_apart() -> None:
    legs = straight_line_legs([("base", HILL), ("yard", HILL)], rules())
    assert not legs.seconds.any()
    assert not legs.metres.any()


@pytest.mark.parametrize("count", [0, 1])
def test_a_list_of_no_place_or_one_has_legs_of_that_size(count: int) -> None:
    legs = straight_line_legs([("base", HILL)][:count], rules())
    assert legs.seconds.shape == (count, count)


POINTS = st.lists(
    st.tuples(st.floats(0, 300), st.floats(1, 4), st.floats(3, 130)),
    min_size=1,
    max_size=6,
    unique_by=lambda point: round(point[0], 2),
)


def falls(asked: Rules, kilometres: list[float]) -> bool:
    """Whether any farther distance is estimated quicker than a nearer one, beyond the noise of floats."""
    seconds = estimated_drive_seconds(np.sort(np.array(kilometres)) * 1000, asked)
    return bool((np.diff(seconds) < -1e-6).any())


@given(points=POINTS, kilometres=st.lists(st.floats(0, 400), min_size=2, max_size=30))
@example(points=[(1, 1, 10), (2, 1, 100)], kilometres=[number / 10 for number in range(40)])
@example(points=[(10, 1.5, 30), (20, 1.2, 60)], kilometres=[number / 2 for number in range(60)])
def test_minutes_never_fall_with_distance_whatever_the_points(
    points: list[tuple[float, float, float]], kilometres: list[float]
) -> None:
    """Any points at all, even with a far one much quicker than a near one."""
    assert not falls(rules(drive_bands=bands(*sorted(points))), kilometres)


def test_the_points_of_the_package_need_no_bending() -> None:
    """With the package's own points the plain sum distance x detour / speed itself rises, every 50 m to 300 km."""
    own = load_catalogue().rules
    metres = np.arange(50.0, 300_000.0, 50.0)
    plain = [plain_hours(own.drive_bands, float(straight) / 1000) * 3600 for straight in metres]
    found = estimated_drive_seconds(metres, own) / own.drive_factor
    assert (np.diff(found) > 0).all()
    assert found == pytest.approx(plain)


def plain_hours(points: tuple[DriveBand, ...], kilometres: float) -> float:
    """Interpolate by hand: the last point at or below the distance and the first one above it."""
    below = [point for point in points if point.straight_km <= kilometres]
    above = [point for point in points if point.straight_km > kilometres]
    near, far = (below or above)[-1 if below else 0], (above or below)[0 if above else -1]
    width = far.straight_km - near.straight_km
    share = (kilometres - near.straight_km) / width if width else 0.0
    detour = near.detour_factor + share * (far.detour_factor - near.detour_factor)
    speed = near.speed_kmh + share * (far.speed_kmh - near.speed_kmh)
    return kilometres * detour / speed
