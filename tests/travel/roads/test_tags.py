"""What a vehicle may use and how fast, one way or barrier at a time.

The meaning of the tags: wiki.openstreetmap.org, Key:access, Key:tracktype, Key:barrier, Key:ford, Key:maxspeed.
"""

from __future__ import annotations

import pytest

from routing.farm.models import Drives
from routing.travel.roads.tags import Crossing, crossing, passage, posted_kmh, single_track
from tests.travel.roads.hand_map import ROADS

ALL: tuple[Drives, ...] = ("van", "van with trailer", "4x4")


@pytest.mark.parametrize(
    ("tags", "may"),
    [
        ({"highway": "primary"}, ALL),
        ({"highway": "primary_link"}, ALL),
        ({"highway": "service"}, ALL),
        ({"highway": "footway"}, ()),
        ({"highway": "bridleway"}, ()),
        ({"highway": "proposed"}, ()),
        ({"highway": "track"}, ("4x4",)),
        ({"highway": "track", "tracktype": "grade1"}, ALL),
        ({"highway": "track", "tracktype": "grade2"}, ("4x4",)),
        ({"highway": "track", "surface": "asphalt"}, ALL),
        ({"highway": "unclassified", "ford": "yes"}, ("4x4",)),
        ({"highway": "unclassified", "ford": "no"}, ALL),
        ({"highway": "unclassified", "ford": "stepping_stones"}, ()),
        ({"highway": "residential", "access": "no"}, ()),
        ({"highway": "residential", "access": "no", "motor_vehicle": "yes"}, ALL),
        ({"highway": "residential", "motor_vehicle": "no"}, ()),
        ({"highway": "service", "access": "private"}, ALL),
        ({"highway": "service", "motor_vehicle": "agricultural"}, ("4x4",)),
        ({"highway": "track", "tracktype": "grade1", "motor_vehicle": "forestry"}, ("4x4",)),
    ],
)
def test_who_may_use_a_way(tags: dict[str, str], may: tuple[Drives, ...]) -> None:
    assert tuple(drives for drives in ALL if passage(tags, drives, ROADS)) == may


@pytest.mark.parametrize(
    ("tags", "drives", "kmh"),
    [
        ({"highway": "primary"}, "van", 55),
        ({"highway": "primary", "maxspeed": "30 mph"}, "van", 48),  # 30 x 1.609344 = 48.28
        ({"highway": "primary", "maxspeed": "60 mph"}, "van", 55),
        ({"highway": "primary", "maxspeed": "national"}, "van", 55),
        ({"highway": "unclassified"}, "van", 38),
        ({"highway": "unclassified", "lanes": "1"}, "van", 32),
        ({"highway": "unclassified", "lanes": "1", "oneway": "yes"}, "van", 38),
        ({"highway": "unclassified", "width": "3.2 m"}, "van", 32),
        ({"highway": "unclassified", "passing_places": "yes", "maxspeed": "20"}, "van", 20),
        ({"highway": "track", "maxspeed": "50"}, "4x4", 12),
        ({"highway": "tertiary", "ford": "yes"}, "4x4", 12),
        ({"highway": "motorway"}, "van", 92),
        ({"highway": "motorway_link"}, "van", 92),
    ],
)
def test_the_speed_of_a_way_is_the_least_of_all_that_bounds_it(tags: dict[str, str], drives: Drives, kmh: int) -> None:
    way = passage(tags, drives, ROADS)
    assert way is not None
    assert way.kmh == kmh


def test_a_trailer_keeps_the_lower_limit_on_a_motorway() -> None:
    fast = ROADS.model_copy(update={"speeds_kmh": {**ROADS.speeds_kmh, "motorway": ROADS.limits_kmh["van motorway"]}})
    kmh = {drives: way.kmh for drives in ALL if (way := passage({"highway": "motorway"}, drives, fast))}
    assert kmh == {"van": 113, "van with trailer": 97, "4x4": 113}  # 70 and 60 mph


@pytest.mark.parametrize(
    ("tags", "drives", "met"),
    [
        ({"barrier": "gate"}, "van", Crossing.GATE),
        ({"barrier": "gate", "access": "private"}, "van", Crossing.GATE),
        ({"barrier": "gate", "locked": "yes"}, "van", Crossing.SHUT),
        ({"barrier": "gate", "motor_vehicle": "no"}, "4x4", Crossing.SHUT),
        ({"barrier": "cattle_grid"}, "van", Crossing.OPEN),
        ({"barrier": "bollard"}, "4x4", Crossing.SHUT),
        ({"barrier": "bollard", "motor_vehicle": "yes"}, "van", Crossing.OPEN),
        ({"barrier": "something_new"}, "van", Crossing.SHUT),
        ({"ford": "yes"}, "van", Crossing.SHUT),
        ({"ford": "yes"}, "4x4", Crossing.OPEN),
        ({"ford": "stepping_stones"}, "4x4", Crossing.SHUT),
        ({}, "van", Crossing.OPEN),
    ],
)
def test_what_a_barrier_means(tags: dict[str, str], drives: Drives, met: Crossing) -> None:
    assert crossing(tags, drives) is met


@pytest.mark.parametrize(
    ("text", "kmh"),
    [("50", 50), ("50 km/h", 50), ("40 mph", 64.37376), ("40mph", 64.37376), ("walk", None), ("0", None), ("", None)],
)
def test_posted_limits_are_read_in_both_units(text: str, kmh: float | None) -> None:
    assert posted_kmh(text) == (None if kmh is None else pytest.approx(kmh))


def test_any_width_text_is_taken() -> None:
    assert single_track({"width": "3"})
    assert not single_track({"width": "narrow in places"})
    assert not single_track({"width": "6.5"})


def test_roundabouts_go_one_way_and_unnamed_tracks_and_fords_have_a_word() -> None:
    ring = passage({"highway": "primary", "junction": "roundabout"}, "van", ROADS)
    track = passage({"highway": "track"}, "4x4", ROADS)
    ford = passage({"highway": "unclassified", "ford": "yes", "name": "Mill Lane"}, "4x4", ROADS)
    assert ring is not None
    assert track is not None
    assert ford is not None
    assert (ring.oneway, track.name, ford.name) == ("yes", "track", "Mill Lane (ford)")
