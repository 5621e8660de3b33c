"""Drawn lines against metres of a sphere worked out here: along a meridian a degree is its radius times pi / 180."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from routing.check.ground import Ground
from routing.check.moves import cautions_are_right, distance_caution
from routing.check.shapes import shapes_join_their_places, stopping_places_are_right
from routing.farm.kinds import load_catalogue
from routing.farm.models import Farm, Place
from routing.round import Itinerary, Round, StoppingPlace
from routing.travel.leg_origin import LegOrigin
from routing.travel.polyline import encode
from tests.check.small_farm import FARM, LEGS, farm_with, figure
from tests.moving_farm import MOVE, legs_of, moving_farm

DEGREE = 6_371_008.8 * math.pi / 180
"""Metres of a degree of latitude on a sphere of the mean radius of GRS 80 (Moritz, Journal of Geodesy 74, 2000): 111,195.08."""

BASE = FARM.base.place


def farm(north: float, **change: object) -> Farm:
    """Return the farm with roads that are walked to for 100 m at 4 km/h, and hill so many degrees north of base."""
    roads = load_catalogue().rules.roads
    assert roads is not None
    roads = roads.model_copy(update={"walking_kmh": figure(4), "furthest_walk_metres": figure(100)})
    ruled = FARM.model_copy(update={"rules": FARM.rules.model_copy(update={"roads": roads}), "road_map": Path("x.pbf")})
    place = Place(latitude=BASE.latitude + north, longitude=BASE.longitude)
    return farm_with(ruled, "sites", "hill", place=place, **change)


def drawn(good: Round, ends: tuple[float, float], metres: int, told: float | None = None) -> Itinerary:
    """Return Anna's day with its first drive drawn due north between these degrees north of base, on a road map."""
    shape = encode((round((BASE.latitude + up) * 1e6), round(BASE.longitude * 1e6)) for up in ends)
    day = good.itineraries[0]
    first = day.stops[0]
    drive = first.drive.model_copy(update={"shape": shape, "metres": metres, "origin": LegOrigin.ROAD})
    place = told and StoppingPlace(latitude=BASE.latitude + told, longitude=BASE.longitude, road="A lane")
    stop = first.model_copy(update={"drive": drive, "stopping_place": place or None})
    return day.model_copy(update={"stops": (stop, *day.stops[1:])})


@pytest.mark.parametrize(
    ("degrees", "metres", "good_line"),
    [
        # 5,559.75 m: within 3 % of 5,398 to 5,731
        (0.05, 5398, True),
        (0.05, 5397, False),
        (0.05, 5731, True),
        (0.05, 5732, False),
        # 1,111.95 m: 40 m are more than 3 % of it
        (0.01, 1072, True),
        (0.01, 1071, False),
        (0.01, 1151, True),
        (0.01, 1152, False),
    ],
)
def test_a_line_is_as_long_as_its_leg_within_3_percent_or_40_metres(
    good: Round, degrees: float, metres: int, *, good_line: bool
) -> None:
    slack = max(40, 0.03 * metres)
    assert (abs(degrees * DEGREE - metres) <= slack) is good_line
    found = list(shapes_join_their_places(drawn(good, (0, degrees), metres), Ground.of(farm(degrees), LEGS)))
    assert any("as long as the leg" in line for line in found) is not good_line


def test_a_drive_that_is_known_is_held_to_no_length(good: Round) -> None:
    """A farmer's own minutes for a drive say nothing of its metres."""
    day = drawn(good, (0, 0.05), 1)
    known = day.stops[0].drive.model_copy(update={"origin": LegOrigin.KNOWN})
    day = day.model_copy(update={"stops": (day.stops[0].model_copy(update={"drive": known}), *day.stops[1:])})
    assert list(shapes_join_their_places(day, Ground.of(farm(0.05), LEGS))) == []


@pytest.mark.parametrize(
    ("change", "ends", "met"),
    [
        # 100 m and 3 %: 103 m are 0.000926 degrees
        ({}, (0.000926, 0.05), ()),
        ({}, (0.000927, 0.05), ("base",)),
        # 3.5 min at 4 km/h are 233.3 m, and 3 %: 240.3 m are 0.002161 degrees
        ({}, (0, 0.052161), ()),
        ({}, (0, 0.052162), ("hill",)),
        ({}, (0, 0.047838), ("hill",)),
        # a walk shorter than the rule leaves the rule
        ({"walking_minutes": 1.0}, (0, 0.050926), ()),
        ({"walking_minutes": 1.0}, (0, 0.050927), ("hill",)),
        # to a stopping place of the site's own nobody walks
        ({"parking": Place(latitude=52.05, longitude=-1.5)}, (0, 0.050926), ()),
        ({"parking": Place(latitude=52.05, longitude=-1.5)}, (0, 0.050927), ("hill",)),
    ],
)
def test_a_line_ends_no_farther_off_than_is_walked(
    good: Round, change: dict[str, object], ends: tuple[float, float], met: tuple[str, ...]
) -> None:
    day = drawn(good, ends, round((ends[1] - ends[0]) * DEGREE))
    found = list(shapes_join_their_places(day, Ground.of(farm(0.05, **change), LEGS)))
    assert [place for place in ("base", "hill") for line in found if f"the line driven meets {place}" in line] == list(
        met
    )


@pytest.mark.parametrize(("off", "met"), [(0, True), (0.000001, False)])
def test_where_no_walk_is_known_a_line_ends_at_its_places(good: Round, off: float, *, met: bool) -> None:
    plain = FARM.sites[0].place
    moved = farm_with(FARM, "sites", "hill", place=Place(latitude=plain.latitude, longitude=BASE.longitude))
    found = list(shapes_join_their_places(drawn(good, (off, 0.05), 5560), Ground.of(moved, LEGS)))
    assert any("the line driven meets base" in line for line in found) is not met


@pytest.mark.parametrize(("told", "there"), [(0.050089, True), (0.04991, False), (0.049911, True), (0.05009, False)])
def test_the_vehicle_stops_within_10_metres_of_the_end_of_the_line(good: Round, told: float, *, there: bool) -> None:
    """0.000089 degrees are 9.9 m, 0.00009 are 10.01 m."""
    found = list(shapes_join_their_places(drawn(good, (0, 0.05), 5560, told), Ground.of(farm(0.05), LEGS)))
    assert any("the vehicle stops at hill where the line ends" in line for line in found) is not there


@pytest.mark.parametrize(("told", "near"), [(0.052161, True), (0.052162, False)])
def test_the_stopping_place_is_no_farther_off_than_is_walked(good: Round, told: float, *, near: bool) -> None:
    day = drawn(good, (0, told), 5560, told)
    found = [line for line in stopping_places_are_right(day, Ground.of(farm(0.05), LEGS)) if "at hill" in line]
    assert any("near enough to walk" in line for line in found) is not near


@pytest.mark.parametrize("shape", ["?", "???", "_", "?_", "??\x7f?", "??>?", "\x7f", ">"])
def test_what_is_no_line_is_named(good: Round, shape: str) -> None:
    """A number without its fellow, one that breaks off, a letter past the sixty-four and one before them."""
    day = drawn(good, (0, 0.05), 5560)
    drive = day.stops[0].drive.model_copy(update={"shape": shape})
    day = day.model_copy(update={"stops": (day.stops[0].model_copy(update={"drive": drive}), *day.stops[1:])})
    assert any("can be read" in line for line in shapes_join_their_places(day, Ground.of(farm(0.05), LEGS)))


def test_a_line_of_many_letters_a_number_is_read_as_published(good: Round) -> None:
    """38.5, -120.2 and two more points are the example of the format's own page; of precision 6 they are a tenth of it.

    Source: Encoded Polyline Algorithm Format, developers.google.com/maps/documentation/utilities/polylinealgorithm. The
    farm's base and hill are put at its ends, so that only the true points meet them.
    """
    moved = farm_with(farm(0), "sites", "hill", place=Place(latitude=4.3252, longitude=-12.6453))
    moved = moved.model_copy(
        update={"base": moved.base.model_copy(update={"place": Place(latitude=3.85, longitude=-12.02)})}
    )
    day = drawn(good, (0, 0.05), 0)
    for shape, missed in (("_p~iF~ps|U_ulLnnqC_mqNvxq`@", 0), ("_p~iF~ps|U_ulLnnqC", 1)):
        drive = day.stops[0].drive.model_copy(update={"shape": shape})
        changed = day.model_copy(update={"stops": (day.stops[0].model_copy(update={"drive": drive}), *day.stops[1:])})
        found = list(shapes_join_their_places(changed, Ground.of(moved, LEGS)))
        assert sum("the line driven meets" in line for line in found) == missed


APART = 0.1 * DEGREE
"""Metres between Ridge and Hollow Lane, on one meridian: 11,119.5."""


@pytest.mark.parametrize(
    ("nearer_than", "farther_than", "with_it", "without"),
    [
        (5, 12_000, True, False),
        (APART / 1.02, 12_000, True, False),
        (APART * 1.02, 12_000, False, True),
        (5, APART * 1.02, True, False),
        (5, APART / 1.02, False, True),
        # so near to a limit both are right
        (APART, 12_000, True, True),
        (5, APART, True, True),
        (APART / 1.009, 12_000, True, True),
        (5, APART * 1.009, True, True),
    ],
)
def test_the_caution_on_a_move_s_distance_is_held_to_both_limits(
    nearer_than: float, farther_than: float, *, with_it: bool, without: bool
) -> None:
    """Foragers fly back to the old stand from farther than the one limit and nearer than the other."""
    plain = moving_farm()
    far = figure(round(farther_than / 1000, 6))
    limits = {"move_nearer_than_metres": figure(nearer_than), "move_farther_than_km": far}
    ruled = plain.model_copy(update={"rules": plain.rules.model_copy(update=limits)})
    ground, own = Ground.of(ruled, legs_of(ruled)), ruled.job_kinds[MOVE.kind].cautions
    told = f"Ridge and Hollow Lane lie nearer than {far.value:g} km, see {far.source}."
    assert (list(cautions_are_right("here", MOVE, (*own, told), ground)) == []) is with_it
    assert (list(cautions_are_right("here", MOVE, own, ground)) == []) is without
    own_words = distance_caution(MOVE, ground)
    assert bool(own_words) is with_it or (with_it and without)
    assert list(cautions_are_right("here", MOVE, (*own, *own_words), ground)) == []
    for word in ("Ridge", "Hollow Lane", "km", far.source):
        assert list(cautions_are_right("here", MOVE, (*own, told.replace(word, "")), ground))


def test_a_caution_on_the_distance_is_for_moves_and_where_the_rule_is_known() -> None:
    plain = moving_farm()
    without_rule = plain.model_copy(update={"rules": plain.rules.model_copy(update={"move_nearer_than_metres": None})})
    own = plain.job_kinds[MOVE.kind].cautions
    told = (*own, "Ridge and Hollow Lane are near.")
    assert list(cautions_are_right("here", MOVE, told, Ground.of(without_rule, legs_of(plain))))
    assert distance_caution(MOVE, Ground.of(without_rule, legs_of(plain))) == ()
    heft = plain.jobs[1]
    assert heft.to == ""
    assert distance_caution(heft, Ground.of(plain, legs_of(plain))) == ()
    more = (*plain.job_kinds[heft.kind].cautions, "Distance: it is near.")
    assert list(cautions_are_right("here", heft, more, Ground.of(plain, legs_of(plain))))
