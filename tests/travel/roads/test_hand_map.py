"""The engine on maps made by hand, where the best way is known by arithmetic.

Speeds are the posted limits that the maps give, so minutes are metres / limit. The engine counts whole seconds.
"""

from __future__ import annotations

import itertools
import math
import random
from pathlib import Path

import networkx as nx
import osmium
import pytest
from osmium.osm import mutable

from routing.farm.models import Drives, Farm, Place
from routing.travel.farm import farm_and_legs, farm_legs
from routing.travel.leg_origin import LegOrigin
from routing.travel.legs import UNREACHABLE, Legs
from routing.travel.polyline import decode
from tests.travel.roads.hand_map import HandMap, at, farm_on, metres

# Four corners of a 3 km x 2 km block. From a to d: by b 3 km at 60 and 2 km at 30 (3 + 4 = 7 min), by c 2 km at 60 and
# 3 km at 20 (2 + 9 = 11 min).
CORNERS = {"a": (0.0, 0.0), "b": (3.0, 0.0), "c": (0.0, 2.0), "d": (3.0, 2.0)}
FAST, MIDDLE, SLOW = ({"highway": "primary", "maxspeed": limit} for limit in ("55", "30", "20"))
TOP = CORNERS["d"]


def block(**changes: dict[str, str]) -> HandMap:
    """Return the block of four roads; `changes` add tags to the road of two letters."""
    roads = {"ab": FAST, "bd": MIDDLE, "ac": FAST, "cd": SLOW}
    return HandMap(CORNERS, [(tuple(name), tags | changes.get(name, {})) for name, tags in roads.items()])


def legs_on(road_map: HandMap, path: Path, drives: Drives = "van", **rules: float) -> Legs:
    """Return the legs between the four corners, a the base."""
    return farm_legs(corner_farm(road_map, path, drives, **rules))


def corner_farm(road_map: HandMap, path: Path, drives: Drives = "van", **rules: float) -> Farm:
    sites = {name: at(*CORNERS[name]) for name in "bcd"}
    return farm_on(
        road_map.write(path / "hand.osm.pbf"), at(0, 0), sites, {"v": drives}, known=(), drive_factor=1.0, **rules
    )


def seconds(*parts: tuple[float, float]) -> float:
    """Return the seconds for (kilometres, km/h) pieces."""
    return sum(km / kmh * 3600 for km, kmh in parts)


def leg(legs: Legs, start: str, end: str) -> tuple[int, int]:
    i, j = legs.index(start), legs.index(end)
    return int(legs.seconds[i, j]), int(legs.metres[i, j])


def test_the_quickest_way_is_taken_and_timed(tmp_path: Path) -> None:
    """By b: 3 km at 55 and 2 km at 30 = 196 + 240 = 436 s; by c: 131 + 540 = 671 s."""
    legs = legs_on(block(), tmp_path)
    for end, expected, length in (("d", seconds((3, 55), (2, 30)), 5000), ("b", seconds((3, 55)), 3000)):
        found = leg(legs, "base", end)
        assert found[0] == pytest.approx(expected, abs=12)
        assert found[1] == pytest.approx(length, rel=0.005)
    assert {origin for row in legs.origins for origin in row} == {LegOrigin.ROAD}


def test_a_one_way_road_makes_the_way_back_another(tmp_path: Path) -> None:
    """From d to a by c now: 3 km at 20 and 2 km at 55 = 540 + 131 s."""
    legs = legs_on(block(bd={"oneway": "yes"}), tmp_path)
    assert leg(legs, "base", "d")[0] == pytest.approx(436, abs=12)
    assert leg(legs, "d", "base")[0] == pytest.approx(seconds((3, 20), (2, 55)), abs=12)


@pytest.mark.parametrize(
    ("tags", "van", "off_road"),
    [
        ({"highway": "track", "tracktype": "grade3"}, 671, seconds((3, 55), (2, 12))),
        ({"ford": "yes"}, 671, seconds((3, 55), (2, 12))),
        ({"access": "no"}, 671, 671),
        ({"motor_vehicle": "no"}, 671, 671),
    ],
)
def test_a_way_shut_to_vans_is_gone_round(tmp_path: Path, tags: dict[str, str], van: float, off_road: float) -> None:
    """On a track or through a ford: 196 s and 2 km at 12 km/h = 600 s, so a 4x4 goes round by c, too: 671 < 796."""
    assert leg(legs_on(block(bd=tags), tmp_path), "base", "d")[0] == pytest.approx(van, abs=12)
    (tmp_path / "hand.osm.pbf").unlink()
    expected = min(671, off_road)
    assert leg(legs_on(block(bd=tags), tmp_path, "4x4"), "base", "d")[0] == pytest.approx(expected, abs=12)


@pytest.mark.parametrize("tags", [{"highway": "track"}, {"ford": "yes"}])
def test_the_only_way_is_for_a_4x4_and_no_van_takes_it(tmp_path: Path, tags: dict[str, str]) -> None:
    """Without the road from c to d, d hangs on bd alone; its far end is 2 km from any road for a van."""
    road_map = block(bd=tags)
    road_map.ways.pop()
    legs = legs_on(road_map, tmp_path)
    assert leg(legs, "base", "d") == (UNREACHABLE, UNREACHABLE)
    assert legs.no_road == {"d": pytest.approx(2000, rel=0.005)}
    (tmp_path / "hand.osm.pbf").unlink()
    assert leg(legs_on(road_map, tmp_path, "4x4"), "base", "d")[0] == pytest.approx(seconds((3, 55), (2, 12)), abs=12)


def test_a_barrier_is_gone_round_and_a_gate_costs_its_minutes(tmp_path: Path) -> None:
    """With a bollard half-way from b to d the way is by c; with a gate it is by b and 2 minutes longer."""
    road_map = block()
    road_map.spots = {**CORNERS, "m": (3.0, 1.0)}
    road_map.ways[1] = (("b", "m", "d"), MIDDLE)
    for barrier, expected in (("bollard", 671), ("gate", 436 + 120), ("cattle_grid", 436)):
        road_map.node_tags = {"m": {"barrier": barrier}}
        assert leg(legs_on(road_map, tmp_path), "base", "d")[0] == pytest.approx(expected, abs=12)
        (tmp_path / "hand.osm.pbf").unlink()
    road_map.node_tags = {"m": {"barrier": "gate"}}
    quick = legs_on(road_map, tmp_path, gate_minutes=0.5)
    assert leg(quick, "base", "d")[0] == pytest.approx(436 + 30, abs=12)


def test_a_turn_that_is_forbidden_is_not_taken(tmp_path: Path) -> None:
    """No left turn at b, from ab into bd: the way to d is by c."""
    plain = block().write(tmp_path / "plain.osm.pbf")
    path = tmp_path / "turn.osm.pbf"
    writer = osmium.SimpleWriter(str(path))
    for thing in osmium.FileProcessor(str(plain)):
        writer.add(thing)
    members = [("w", 1, "from"), ("n", 2, "via"), ("w", 2, "to")]
    tags = {"type": "restriction", "restriction": "no_left_turn"}
    writer.add_relation(mutable.Relation(id=1, version=1, members=members, tags=tags))
    writer.close()
    legs = farm_legs(farm_on(path, at(0, 0), {"d": at(3, 2)}))
    assert leg(legs, "base", "d")[0] == pytest.approx(671, abs=12)
    assert leg(legs, "d", "base")[0] == pytest.approx(436, abs=12)


def test_a_shut_road_beside_an_open_one_is_never_parked_on(tmp_path: Path) -> None:
    """A site on a track, 1 km along it: a van stops at the road's end, 1 km off, and is refused beyond 500 m."""
    road_map = HandMap(
        {"a": (0, 0), "b": (2, 0), "t": (2, 1)},
        [(("a", "b"), FAST), (("b", "t"), {"highway": "track", "tracktype": "grade4"})],
    )
    site = {"hut": at(2, 1)}
    farm = farm_on(road_map.write(tmp_path / "hand.osm.pbf"), at(0, 0), site, {"van": "van", "jeep": "4x4"})
    legs = farm_legs(farm)
    assert leg(legs.of("van"), "base", "hut")[0] == UNREACHABLE
    assert leg(legs.of("jeep"), "base", "hut")[0] == pytest.approx(seconds((2, 55), (1, 12)), abs=12)
    assert legs.of("jeep").no_road == {}


def test_an_island_is_no_way_and_a_far_field_is_no_road(tmp_path: Path) -> None:
    road_map = block()
    road_map.spots = {**CORNERS, "i": (8.0, 0.0), "j": (8.0, 1.0)}
    road_map.ways.append((("i", "j"), FAST))
    sites = {"island": at(8, 0.5), "moor": at(1.5, 1.0), "near": at(1.5, 0.2)}
    legs = farm_legs(farm_on(road_map.write(tmp_path / "hand.osm.pbf"), at(0, 0), sites))
    assert leg(legs, "base", "island") == (UNREACHABLE, UNREACHABLE)
    assert legs.no_road == {"moor": pytest.approx(1000, rel=0.01)}
    assert leg(legs, "base", "near")[0] == pytest.approx(seconds((1.5, 55)), abs=3)


def test_shapes_run_from_road_to_road_and_turns_are_told(tmp_path: Path) -> None:
    road_map = block(ab={"name": "Low Road"}, bd={"name": "Mill Lane"})
    for units, words in (("miles", "miles)"), ("km", "km)")):
        farm = corner_farm(road_map, tmp_path)
        farm = farm.model_copy(update={"rules": farm.rules.model_copy(update={"units": units})})
        legs = farm_legs(farm)
        way = legs.way(0, legs.index("d"))
        points = decode(way.shape)
        for point, spot in ((points[0], (0, 0)), (points[-1], TOP)):
            place = at(*spot)
            assert point == pytest.approx((place.latitude, place.longitude), abs=1e-4)
        assert [turn.partition(" (")[0] for turn in way.turns] == [
            "Drive east on Low Road.",
            "Turn left onto Mill Lane.",
        ]
        assert all(turn.endswith(words) for turn in way.turns)
        (tmp_path / "hand.osm.pbf").unlink()
    assert legs.way(0, 0).shape == ""


def brute(spots: dict[str, tuple[float, float]], ways: list[tuple[str, str, int, bool]]) -> dict[str, dict[str, float]]:
    """Return the least seconds between all names by trying every way that visits no place twice."""
    graph = nx.DiGraph()
    graph.add_nodes_from(spots)
    for start, end, kmh, one_way in ways:
        cost = metres(spots[start], spots[end]) / kmh * 3.6
        for here, there in [(start, end)] + ([] if one_way else [(end, start)]):
            if cost < graph.get_edge_data(here, there, {"weight": math.inf})["weight"]:
                graph.add_edge(here, there, weight=cost)
    found: dict[str, dict[str, float]] = {}
    for start, end in itertools.product(spots, spots):
        paths = [[start]] if start == end else nx.all_simple_paths(graph, start, end)
        found.setdefault(start, {})[end] = min((nx.path_weight(graph, path, "weight") for path in paths), default=-1)
    return found


@pytest.mark.parametrize("seed", range(3))
def test_random_small_networks_agree_with_brute_force(tmp_path: Path, seed: int) -> None:
    """Reached or not exactly as by brute force; minutes never less and at most a few seconds a turn more."""
    chance = random.Random(seed)
    names = [f"{row}{column}" for row in "abc" for column in "123"]
    spots = {
        name: (1.2 * int(name[1]) + chance.uniform(-0.2, 0.2), 1.2 * ord(name[0]) - 116 + chance.uniform(-0.2, 0.2))
        for name in names
    }
    neighbours = [(a, b) for a, b in itertools.combinations(names, 2) if metres(spots[a], spots[b]) < 1650]
    ways = [
        (a, b, chance.choice((20, 30, 40, 50)), chance.random() < 0.3)
        for a, b in neighbours
        if metres(spots[a], spots[b]) < 1500 and chance.random() < 0.8
    ]
    roads: list[tuple[tuple[str, str], dict[str, str]]] = [
        ((a, b), {"highway": "primary", "maxspeed": str(kmh)} | ({"oneway": "yes"} if one_way else {}))
        for a, b, kmh, one_way in ways
    ]
    joined = {name for a, b, _, _ in ways for name in (a, b)}
    places: dict[str, Place] = {name: at(*spots[name]) for name in names if name in joined}
    path = HandMap(spots, list(roads)).write(tmp_path / "random.osm.pbf")
    base = min(places)
    legs = farm_legs(farm_on(path, places[base], places))
    expected = brute(spots, ways)
    for start, end in itertools.permutations(places, 2):
        found, least = leg(legs, start, end)[0], expected[start][end]
        if least < 0:
            assert found == UNREACHABLE, (start, end)
        else:
            assert least - 3 <= found <= least * 1.03 + 25, (start, end)


def test_a_longer_walk_of_the_site_s_own_reaches_farther(tmp_path: Path) -> None:
    """700 m off the road: refused at 500 m; with 10 minutes of its own at 4.8 km/h it may be 800 m."""
    path = block().write(tmp_path / "hand.osm.pbf")
    farm = farm_on(path, at(0, 0), {"far": at(1.5, 0.7)})
    assert set(farm_legs(farm).no_road) == {"far"}
    own = farm.model_copy(update={"sites": (farm.sites[0].model_copy(update={"walking_minutes": 10}),)})
    planned, legs = farm_and_legs(own)
    assert legs.no_road == {}
    assert planned.sites[0].walking_minutes == 10


def test_the_walk_is_distance_by_speed_by_barrow_rounded_up(tmp_path: Path) -> None:
    """240 m at 4.8 km/h is 3 min, with a barrow 1.5 times that: 4.5 min, one way; a tenth more for the rounding."""
    path = block().write(tmp_path / "hand.osm.pbf")
    planned, legs = farm_and_legs(farm_on(path, at(0, 0), {"field": at(1.5, 0.24)}))
    assert planned.sites[0].walking_minutes == pytest.approx(4.5, abs=0.11)
    minutes = f"{planned.sites[0].walking_minutes:g} min each way"
    words = f"240 m from where the vehicle stops, straight over open ground, {minutes}"
    assert legs.notes == (f"The walk to Field is estimated: {words}.",)
