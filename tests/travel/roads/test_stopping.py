"""Where a van stops and how the hives are walked to, on maps of a few roads; distances by hand, in kilometres.

Every map has a lane from the base far away, so that a site's own roads are what its test is about.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

from routing.farm.models import Drives, Farm, Place
from routing.travel.farm import farm_and_legs, farm_road_report
from routing.travel.legs import Legs
from routing.travel.polyline import decode
from routing.travel.straight import geodesic_metres
from tests.travel.roads.hand_map import HandMap, at, farm_on

Spot = tuple[float, float]
LANE = {"highway": "unclassified", "name": "Mill Lane"}
RIVER = {"waterway": "river", "name": "Arrow"}


def road_map(
    path: Path, *ways: tuple[Mapping[str, str], Sequence[Spot]], nodes: Mapping[Spot, str] | None = None
) -> Path:
    """Write a map of ways given by their tags and spots; spots that are the same are one node."""
    spots = {str(spot): spot for _, line in ways for spot in line}
    tags = {str(spot): {"ford": "yes"} if tag == "ford" else {"barrier": tag} for spot, tag in (nodes or {}).items()}
    hand = HandMap(spots, [([str(spot) for spot in line], way) for way, line in ways], tags)
    return hand.write(path / "stopping.osm.pbf")


def one_site(path: Path, hives: Spot, drives: Drives = "van", **site: object) -> Farm:
    """Return a farm with its base at the west end of the lane and one site."""
    farm = farm_on(path, at(0, 0), {"alder": at(*hives)}, {"v": drives})
    return farm.model_copy(update={"sites": (farm.sites[0].model_copy(update=site),)})


def stop_of(farm: Farm) -> tuple[str, Place]:
    """Return the road's name and the point where the vehicle stops for the one site."""
    parked = farm_and_legs(farm)[1].parked["alder"]
    return parked.road, parked.place


def away(one: Place, other: Place) -> float:
    return float(geodesic_metres([one], [other])[0])


def near(place: Place, spot: Spot, metres: float = 3) -> bool:
    return away(place, at(*spot)) <= metres


@pytest.mark.parametrize(
    ("tags", "words"),
    [
        ({"highway": "motorway", "ref": "A14"}, "A14 motorway, 79 m: no stopping"),
        ({"highway": "trunk", "ref": "A9", "oneway": "yes"}, "A9 trunk road, 79 m: no stopping"),
        ({"highway": "trunk", "ref": "A9", "motorroad": "yes"}, "A9 trunk road, 79 m: no stopping"),
        ({"highway": "primary_link", "ref": "A9"}, "A9 slip road, 79 m: no stopping on a slip road"),
        ({**LANE, "bridge": "yes"}, "Mill Lane (road), 79 m: no stopping on a bridge"),
        ({**LANE, "tunnel": "yes"}, "Mill Lane (road), 79 m: no stopping in a tunnel"),
        ({**LANE, "junction": "roundabout", "oneway": "no"}, "Mill Lane (road), 79 m: no stopping on a roundabout"),
        ({**LANE, "parking:both:restriction": "no_stopping"}, "Mill Lane (road), 79 m: no stopping"),
        ({"highway": "service", "access": "private"}, "service road, 79 m: private"),
        ({"highway": "service", "service": "emergency_access"}, "service road, 79 m: to be kept clear"),
        ({"highway": "track"}, "track, 79 m: not for a van"),
    ],
)
def test_a_nearer_road_that_is_none_to_stop_on_is_passed_over(tmp_path: Path, tags: dict[str, str], words: str) -> None:
    """The road that is none to stop on is 79 m south of the hives, the lane 110 m north of them."""
    path = road_map(
        tmp_path,
        (tags, [(0, 0), (4, 0)]),
        ({"highway": "tertiary", "name": "Hill Road"}, [(0, 0), (0, 0.189), (4, 0.189)]),
    )
    farm = one_site(path, (2, 0.079))
    road, place = stop_of(farm)
    assert road == "Hill Road"
    assert near(place, (2, 0.189))
    lines = farm_road_report(farm)
    assert any(line.startswith("Alder: a van stops on Hill Road (road); walk 110 m, straight") for line in lines)
    assert f"  passed over: {words}" in lines


@pytest.mark.parametrize("tags", [{"highway": "trunk"}, {"highway": "primary"}, {"highway": "service"}, LANE])
def test_a_plain_road_is_stopped_on(tmp_path: Path, tags: dict[str, str]) -> None:
    path = road_map(tmp_path, (tags, [(0, 0), (4, 0)]), (LANE, [(0, 0), (0, 0.189), (4, 0.189)]))
    assert near(stop_of(one_site(path, (2, 0.079)))[1], (2, 0))


@pytest.mark.parametrize(
    ("tags", "words"),
    [
        ({"highway": "motorway", "ref": "A14", "oneway": "yes"}, "the motorway A14"),
        ({"railway": "rail", "name": "Vale Line"}, "the railway Vale Line"),
        (RIVER, "the river Arrow"),
        ({"waterway": "canal"}, "the canal"),
    ],
)
def test_a_walk_never_crosses_what_bars_it(tmp_path: Path, tags: dict[str, str], words: str) -> None:
    """Mill Lane is 40 m south of the hives but beyond the bar; Hill Road, 300 m north, is free."""
    path = road_map(
        tmp_path,
        (LANE, [(0, 0), (4, 0)]),
        (tags, [(1, 0.02), (2, 0.02), (3, 0.02)]),  # with a point right between hives and lane
        ({"highway": "tertiary", "name": "Hill Road"}, [(0, 0), (0, 0.34), (4, 0.34)]),
    )
    farm = one_site(path, (2, 0.04))
    road, place = stop_of(farm)
    assert (road, near(place, (2, 0.34))) == ("Hill Road", True)
    assert f"  passed over: Mill Lane (road), 40 m: beyond {words}" in farm_road_report(farm)


MERE: tuple[list[Spot], ...] = (
    [(1, 0.02), (1, 0.01), (3, 0.01), (3, 0.02)],
    [(1, 0.02), (1, 0.03), (3, 0.03), (3, 0.02)],
)
"""The south shore of a lake and the north shore, which meet at both ends; the hives lie north of it, the lane south."""


def by_the_mere(path: Path, tags: Mapping[str, str], left_out: frozenset[str] = frozenset()) -> Farm:
    """Return a farm with a lake between hives and lane whose shores are two lines without tags, of one area with tags."""
    hill = {"highway": "tertiary", "name": "Hill Road"}
    lines: list[tuple[Mapping[str, str], Sequence[Spot]]] = [
        (LANE, [(0, 0), (4, 0)]),
        (hill, [(0, 0), (0, 0.34), (4, 0.34)]),
        *(({}, shore) for shore in MERE),
    ]
    spots = {str(spot): spot for _, line in lines for spot in line}
    named: list[tuple[Sequence[str], Mapping[str, str]]] = [([str(spot) for spot in line], way) for way, line in lines]
    hand = HandMap(spots, named, areas=[((2, 3), tags)], left_out=left_out)
    return one_site(hand.write(path / "mere.osm.pbf"), (2, 0.04))


@pytest.mark.parametrize("tags", [{"natural": "water", "name": "Long Mere"}, {"water": "lake", "name": "Long Mere"}])
@pytest.mark.parametrize("left_out", [frozenset(), frozenset({"(3, 0.02)"})])
def test_no_walk_crosses_a_lake_whose_shore_is_made_of_several_lines(
    tmp_path: Path, tags: dict[str, str], left_out: frozenset[str]
) -> None:
    """Mill Lane is 40 m south of the hives beyond the lake, whole or cut at the map's edge; Hill Road is 300 m north."""
    farm = by_the_mere(tmp_path, tags, left_out)
    road, place = stop_of(farm)
    assert (road, near(place, (2, 0.34))) == ("Hill Road", True)
    assert "  passed over: Mill Lane (road), 40 m: beyond the water Long Mere" in farm_road_report(farm)


def test_an_area_that_is_no_water_bars_nobody(tmp_path: Path) -> None:
    assert stop_of(by_the_mere(tmp_path, {"natural": "wood"}))[0] == "Mill Lane"


def with_bridge(path: Path, footpath: dict[str, str], river: dict[str, str] | None = None) -> Path:
    """Write Mill Lane 40 m from the hives beyond a river, and a footpath that meets lane and river 100 m east."""
    return road_map(
        path,
        (LANE, [(0, 0), (2.1, 0), (4, 0)]),
        (river or RIVER, [(1, 0.02), (3, 0.02)]),
        ({"highway": "footway", **footpath}, [(2.1, 0), (2.1, 0.04)]),
    )


def test_a_walk_goes_over_a_footbridge(tmp_path: Path) -> None:
    """100 m over open ground to the path's north end and 40 m along it over the river: 140 m at most.

    No shorter than straight to the river at the bridge, 102 m, and on.
    """
    farm = one_site(with_bridge(tmp_path, {"bridge": "yes"}), (2, 0.04))
    planned, legs = farm_and_legs(farm)
    assert legs.parked["alder"].road == "Mill Lane"
    assert away(legs.parked["alder"].place, at(2.1, 0)) <= 25
    (note,) = legs.notes
    metres = float(note.split("estimated: ")[1].split(" m ")[0])
    assert 110 <= metres <= 141
    assert "by the map's ways, because the river Arrow lies between" in note
    assert planned.sites[0].walking_minutes == pytest.approx(metres / 4800 * 60 * 1.5, abs=0.12)


@pytest.mark.parametrize("footpath", [{}, {"ford": "yes"}, {"bridge": "yes", "foot": "no"}])
def test_a_path_through_the_river_or_shut_to_walkers_is_no_way_over_it(
    tmp_path: Path, footpath: dict[str, str]
) -> None:
    """No other road is near: the site is refused, and told why."""
    farm = one_site(with_bridge(tmp_path, footpath), (2, 0.04))
    _, legs = farm_and_legs(farm)
    assert legs.no_road == {"alder": 40}
    assert legs.barred == {"alder": "the river Arrow"}
    assert any(
        "the nearest to stop on is Mill Lane (road), 40 m away, beyond the river Arrow, and the map knows no way over it"
        in line
        for line in farm_road_report(farm)
    )


@pytest.mark.parametrize("ford", [True, False])
def test_a_path_that_shares_a_point_with_the_river_goes_through_it(tmp_path: Path, *, ford: bool) -> None:
    """A railway may be crossed where a way shares a point with it, a river not, whether it is marked as a ford or not."""
    path = road_map(
        tmp_path,
        (LANE, [(0, 0), (2.1, 0), (4, 0)]),
        (RIVER, [(1, 0.02), (2.1, 0.02), (3, 0.02)]),
        ({"highway": "footway"}, [(2.1, 0), (2.1, 0.02), (2.1, 0.04)]),
        nodes={(2.1, 0.02): "ford"} if ford else {},
    )
    assert farm_and_legs(one_site(path, (2, 0.04)))[1].barred == {"alder": "the river Arrow"}


def test_a_river_in_a_culvert_bars_nobody(tmp_path: Path) -> None:
    path = with_bridge(tmp_path, {}, {**RIVER, "tunnel": "culvert"})
    assert near(stop_of(one_site(path, (2, 0.04)))[1], (2, 0))


def test_a_level_crossing_is_a_way_over_a_railway_and_a_vehicle_keeps_off_it(tmp_path: Path) -> None:
    """The track to the hives meets the line on the level 30 m north of the lane."""
    path = road_map(
        tmp_path,
        (LANE, [(0, 0), (2, 0), (4, 0)]),
        ({"highway": "track"}, [(2, 0), (2, 0.03), (2, 0.06)]),
        ({"railway": "rail"}, [(1, 0.03), (2, 0.03), (3, 0.03)]),
    )
    _, legs = farm_and_legs(one_site(path, (2, 0.06)))
    assert near(legs.parked["alder"].place, (2, 0))
    jeep = stop_of(one_site(path, (2.0005, 0.034), "4x4"))[1]  # 4 m from the crossing
    assert 9.9 <= away(jeep, at(2, 0.03)) <= 31


def test_a_walk_that_the_farm_states_is_not_given_up_where_the_map_knows_no_way(tmp_path: Path) -> None:
    planned, legs = farm_and_legs(one_site(with_bridge(tmp_path, {}), (2, 0.04), walking_minutes=5))
    assert planned.sites[0].walking_minutes == 5
    assert near(legs.parked["alder"].place, (2, 0))
    assert legs.notes == (
        "For the walk to Alder the map knows no way over the river Arrow: its minutes are what the farm says.",
    )


def test_a_road_that_leads_there_but_not_back_is_passed_over(tmp_path: Path) -> None:
    """A one-way road 30 m off ends in a field; the lane is 100 m off."""
    path = road_map(
        tmp_path,
        (LANE, [(0, 0), (1, 0), (4, 0)]),
        ({"highway": "residential", "name": "No Way", "oneway": "yes"}, [(1, 0), (1, 0.13), (3, 0.13)]),
    )
    farm = one_site(path, (2, 0.1))
    road, place = stop_of(farm)
    assert (road, near(place, (2, 0))) == ("Mill Lane", True)
    assert "  passed over: No Way (residential road), 30 m: no way there and back" in farm_road_report(farm)


def ends(legs: Legs, start: int, end: int) -> tuple[Place, Place]:
    points = decode(legs.way(start, end).shape)
    first, last = (Place(latitude=point[0], longitude=point[1]) for point in (points[0], points[-1]))
    return first, last


def test_a_van_arrives_and_leaves_at_one_place_below_a_bridge_too(tmp_path: Path) -> None:
    """A main road on a bridge crosses the lane right beside the hives: stopping keeps 10 m off, on the lane."""
    path = road_map(
        tmp_path,
        (LANE, [(0, 0), (4, 0)]),
        ({"highway": "primary", "name": "High Road"}, [(0, 0), (0, 1), (2, 1), (2, 0.05)]),
        ({"highway": "primary", "name": "High Road", "bridge": "yes"}, [(2, 0.05), (2, -0.05)]),
        ({"highway": "primary", "name": "High Road"}, [(2, -0.05), (2, -1)]),
    )
    _, legs = farm_and_legs(one_site(path, (2.001, 0.004)))
    place = legs.parked["alder"].place
    assert legs.parked["alder"].road == "Mill Lane"
    assert 10 <= away(place, at(2, 0)) <= 35
    there, back = ends(legs, 0, 1)[1], ends(legs, 1, 0)[0]
    assert away(there, place) <= 1
    assert away(back, place) <= 1


def test_a_site_s_own_stopping_place_is_what_is_driven_to(tmp_path: Path) -> None:
    """The yard at the end of a private drive, 300 m north of the lane; hives 60 m east of it."""
    path = road_map(
        tmp_path,
        (LANE, [(0, 0), (2, 0), (4, 0)]),
        ({"highway": "service", "name": "Court Drive", "access": "private"}, [(2, 0), (2, 0.3)]),
    )
    plain = one_site(path, (2.06, 0.3))
    assert near(stop_of(plain)[1], (2.06, 0))
    own = one_site(path, (2.06, 0.3), parking=at(2.005, 0.3))
    planned, legs = farm_and_legs(own)
    assert legs.parked["alder"].place == at(2.005, 0.3)
    assert legs.parked["alder"].road == "Court Drive"
    field = stop_of(one_site(path, (2.06, 0.3), parking=at(2.05, 0.3)))
    assert field == ("off Court Drive", at(2.05, 0.3))
    assert near(ends(legs, 0, 1)[1], (2, 0.3))
    assert legs.metres[0, 1] == pytest.approx(2300, abs=15)
    assert planned.sites[0].walking_minutes == pytest.approx(55 / 4800 * 60 * 1.5, abs=0.11)
    assert any(
        line.startswith("Alder: a van stops at its own place, 5 m from Court Drive (service road); walk 55 m")
        for line in farm_road_report(own)
    )


def test_the_walk_from_an_own_stopping_place_goes_over_the_bridge_or_says_that_none_is_known(tmp_path: Path) -> None:
    """Parked on the lane right below the hives, the river between: 100 m to the bridge, 40 over it and 100 back."""
    for number, (footpath, words) in enumerate(
        (
            ({"bridge": "yes"}, "by the map's ways, because the river Arrow lies between"),
            ({}, "in a straight line, although the river Arrow lies between and the map knows no way over it"),
        )
    ):
        folder = tmp_path / str(number)
        folder.mkdir()
        farm = one_site(with_bridge(folder, footpath), (2, 0.04), parking=at(2, 0))
        (note,) = farm_and_legs(farm)[1].notes
        assert words in note
        metres = float(note.split("estimated: ")[1].split(" m ")[0])
        assert 205 <= metres <= 245 if footpath else metres == 40


def test_the_base_may_lie_on_a_private_drive(tmp_path: Path) -> None:
    path = road_map(
        tmp_path,
        (LANE, [(0, 0.3), (4, 0.3)]),
        ({"highway": "service", "access": "private"}, [(0, 0.3), (0, 0)]),
    )
    _, legs = farm_and_legs(one_site(path, (2, 0.3)))
    assert near(ends(legs, 0, 1)[0], (0, 0))
    assert legs.metres[0, 1] == pytest.approx(2300, abs=10)
