"""The land of a map: what is kept of it, what is cut out around a round, and that it stays small."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import osmium
import pytest
from osmium.osm import mutable

from routing.farm.models import Place
from routing.travel.land import Land, Mark, RoadName
from routing.travel.polyline import decode
from routing.travel.roads.clipped import clipped_line, clipped_ring
from routing.travel.roads.extract import read_extract
from routing.travel.roads.land import worth_metres, write_land
from routing.travel.roads.land_cut import LARGEST_LAND, box_around, land_around
from routing.travel.roads.land_tags import area_kind, line_kind, mark_kind
from routing.travel.roads.road_names import road_names
from routing.travel.roads.store import background, write_store

BOX = (51.9, -3.1, 52.1, -2.9)
HERE = (Place(latitude=52.0, longitude=-3.0),)

Way = tuple[list[tuple[float, float]], dict[str, str]]


def written(folder: Path, ways: list[Way], points: list[tuple[float, float, dict[str, str]]]) -> tuple[Path, Path]:
    """Write a map of ways and points, and return what is kept of its lines and of its land."""
    path = folder / "map.osm.pbf"
    writer = osmium.SimpleWriter(str(path))
    numbers: dict[tuple[float, float], int] = {}
    for line, _ in ways:
        for up, along in line:
            if (up, along) not in numbers:
                numbers[up, along] = len(numbers) + 1
                writer.add_node(mutable.Node(id=len(numbers), version=1, location=(along, up)))
    for number, (up, along, tags) in enumerate(points, start=len(numbers) + 1):
        writer.add_node(mutable.Node(id=number, version=1, location=(along, up), tags=tags))
    for number, (line, tags) in enumerate(ways, start=1):
        writer.add_way(mutable.Way(id=number, version=1, nodes=[numbers[spot] for spot in line], tags=tags))
    writer.close()
    extract = read_extract(path)
    lines, land = folder / "lines.npz", folder / "land.npz"
    write_store(extract, lines)
    write_land(path, extract, land)
    return lines, land


def square(up: float, along: float, wide: float) -> list[tuple[float, float]]:
    """Return a closed ring; `wide` in degrees."""
    return [(up, along), (up, along + wide), (up + wide, along + wide), (up + wide, along), (up, along)]


LANE: Way = ([(51.99, -3.0), (52.0, -3.0), (52.01, -3.0)], {"highway": "tertiary", "name": "Long Lane", "ref": "B9"})


def test_woods_waters_lines_and_landmarks_are_read_and_cut_out(tmp_path: Path) -> None:
    ways: list[Way] = [
        LANE,
        (square(52.0, -3.0, 0.01), {"landuse": "forest"}),
        (square(52.02, -3.0, 0.01), {"natural": "water"}),
        ([(52.0, -3.05), (52.0, -2.95)], {"waterway": "stream"}),
        ([(52.03, -3.05), (52.03, -2.95)], {"railway": "rail"}),
        (square(52.005, -3.02, 0.0002), {"amenity": "place_of_worship", "building": "church", "name": "St Osyth"}),
    ]
    lines, kept = written(tmp_path, ways, [(52.04, -3.0, {"natural": "peak", "name": "Cold Top"})])
    land = land_around(kept, BOX, HERE)
    assert {kind: len(areas) for kind, areas in land.areas.items()} == {"wood": 1, "water": 1}
    assert decode(land.areas["wood"][0][0], 5)[0] == decode(land.areas["wood"][0][0], 5)[-1]
    assert set(land.lines) == {"stream", "rail"}
    assert [(mark.kind, mark.name) for mark in land.marks] == [("church", "St Osyth"), ("peak", "Cold Top")]
    names = road_names(lines, kept, BOX, HERE)
    assert [(name.text, name.numbered, abs(name.turn)) for name in names] == [("B9", True, 0), ("Long Lane", False, 90)]


def test_a_hole_in_a_wood_stays_a_hole(tmp_path: Path) -> None:
    """The inner ring runs the other way round, so that a fill that counts turns leaves it open."""
    path = tmp_path / "map.osm.pbf"
    writer = osmium.SimpleWriter(str(path))
    rings = [square(52.0, -3.0, 0.02), square(52.005, -2.995, 0.005)]
    spots = [*rings[0][:-1], *rings[1][:-1], (51.99, -3.0), (51.98, -3.0)]
    for number, (up, along) in enumerate(spots, start=1):
        writer.add_node(mutable.Node(id=number, version=1, location=(along, up)))
    writer.add_way(mutable.Way(id=1, version=1, nodes=[1, 2, 3, 4, 1]))
    writer.add_way(mutable.Way(id=2, version=1, nodes=[5, 6, 7, 8, 5]))
    writer.add_way(mutable.Way(id=3, version=1, nodes=[9, 10], tags={"highway": "tertiary"}))
    members = [("w", 1, "outer"), ("w", 2, "inner")]
    writer.add_relation(
        mutable.Relation(id=1, version=1, members=members, tags={"type": "multipolygon", "natural": "wood"})
    )
    writer.close()
    write_land(path, read_extract(path), tmp_path / "land.npz")
    (wood,) = land_around(tmp_path / "land.npz", BOX, HERE).areas["wood"]
    assert len(wood) == 2
    turns = [np.array(decode(ring, 5)) for ring in wood]
    sense = [np.sign(np.sum(ring[:-1, 1] * ring[1:, 0] - ring[1:, 1] * ring[:-1, 0])) for ring in turns]
    assert sense[0] == -sense[1]


def test_a_county_s_land_stays_within_its_bound_and_the_nearest_is_kept(tmp_path: Path) -> None:
    """Fifteen hundred ragged woods of sixty points each: four times the bound as they are."""
    chance = np.random.default_rng(3)
    ways: list[Way] = [LANE]
    for _ in range(1500):
        middle = chance.uniform([51.8, -3.2], [52.2, -2.8])
        angles = np.linspace(0, 2 * np.pi, 60, endpoint=False)
        far = chance.uniform(0.0015, 0.003, size=60)
        off = far[:, None] * np.stack([np.sin(angles), np.cos(angles)], axis=1)
        ring = [(float(up), float(along)) for up, along in np.round(middle + off, 7)]
        ways.append(([*ring, ring[0]], {"natural": "wood"}))
    ways.append((square(52.0001, -3.0001, 0.0004), {"natural": "water"}))
    _, kept = written(tmp_path, ways, [])
    land = land_around(kept, (51.8, -3.2, 52.2, -2.8), HERE)
    size = sum(len(ring) for areas in land.areas.values() for area in areas for ring in area)
    assert LARGEST_LAND / 2 < size <= LARGEST_LAND
    assert len(land.areas["water"]) == 1  # a pond of 40 m beside the site


def test_a_ring_is_cut_at_the_box_and_a_line_runs_on_to_its_edge() -> None:
    ring = np.array([(0, 0), (0, 20), (20, 20), (20, 0), (0, 0)], dtype=np.int64)
    cut = clipped_ring(ring, (5, 5, 10, 10))
    assert set(map(tuple, cut.tolist())) == {(5, 5), (5, 10), (10, 10), (10, 5)}
    assert cut[0].tolist() == cut[-1].tolist()
    assert len(clipped_ring(ring, (30, 30, 40, 40))) == 0
    line = np.array([(0, 0), (0, 10), (0, 20), (0, 30), (0, 40)], dtype=np.int64)
    assert [part.tolist() for part in clipped_line(line, (-5, 15, 5, 25))] == [[[0, 10], [0, 20], [0, 30]]]
    assert clipped_line(line, (5, 5, 9, 9)) == []


def test_a_point_is_worth_how_far_the_line_would_leave_it() -> None:
    """A bend of 1e-4 degrees of latitude is 11 m; one of 1e-5 is 1 m and is never kept."""
    line = np.array([(520_000_000, -30_000_000), (520_001_000, -29_950_000), (520_000_000, -29_900_000)])
    assert worth_metres(line)[1] == pytest.approx(11.1, abs=0.1)
    line[1, 0] = 520_000_100
    assert worth_metres(line)[1] == 0


def test_what_runs_underground_or_stands_in_a_yard_is_not_drawn() -> None:
    assert line_kind({"railway": "rail", "tunnel": "yes"}) is None
    assert line_kind({"railway": "rail", "service": "yard"}) is None
    assert line_kind({"waterway": "river"}) == "river"
    assert line_kind({"contour": "elevation", "ele": "120"}) == "contour"
    assert mark_kind({"barrier": "gate"}) == "gate"
    assert mark_kind({"barrier": "stile"}) is None
    assert area_kind({"building": "yes"}) is None
    assert area_kind({"natural": "water", "water": "lake"}) == "water"
    assert mark_kind({"amenity": "bench"}) is None


def test_names_that_are_to_be_hidden_go_and_landmarks_stay() -> None:
    land = Land(
        marks=(Mark("church", "Oak Chapel", 52.0, -3.0),),
        road_names=(RoadName("Oak Lane", 52.0, -3.0, 0, 90, 2, numbered=False),),
    )
    hidden = land.without_names(lambda text: "Oak" in text)
    assert hidden == Land(marks=(Mark("church", "", 52.0, -3.0),))


def test_a_map_without_land_has_none(tmp_path: Path) -> None:
    lines, kept = written(tmp_path, [([(52.0, -3.0), (52.01, -3.0)], {"highway": "tertiary"})], [])
    assert land_around(kept, BOX, HERE) == Land()
    assert road_names(lines, kept, BOX, HERE) == ()


def test_where_roads_are_too_many_tracks_go_elsewhere_and_stay_by_a_site(tmp_path: Path) -> None:
    """Four thousand tracks of forty points are far too many; the one that passes the site is still whole."""
    chance = np.random.default_rng(5)
    ways: list[Way] = [LANE, ([(52.0, -3.0005), (52.0008, -3.0), (52.0, -2.9995)], {"highway": "track"})]
    for number in range(4000):
        line = chance.uniform([51.92, -3.08], [51.97, -2.92]) + np.cumsum(
            chance.uniform(-0.0004, 0.0004, size=(40, 2)), axis=0
        )
        points = [(float(up), float(along)) for up, along in np.round(line, 7)]
        ways.append((points, {"highway": "track" if number % 2 else "tertiary"}))
    lines, _ = written(tmp_path, ways, [])
    roads = background(lines, BOX, "test", HERE)
    assert len(roads.lines["track"]) == 1
    assert len(decode(roads.lines["track"][0], 5)) == 3
    assert len(background(lines, BOX, "test").lines.get("track", ())) == 0


def test_the_box_around_places_is_about_as_wide_as_high() -> None:
    """Two places 20 km apart north to south: the map's frame may be wide, and is to be filled."""
    south, west, north, east = box_around((Place(latitude=52.0, longitude=-3.0), Place(latitude=52.18, longitude=-3.0)))
    assert (east - west) * np.cos(np.radians(52.09)) == pytest.approx(north - south, rel=0.01)
    assert north - south == pytest.approx(0.18 * 5 / 3, rel=0.01)


def test_gates_are_kept_near_the_places_alone_and_contours_everywhere(tmp_path: Path) -> None:
    """One gate 111 m north of the place, one 1.1 km: the first is what a driver looks for at the end of the way."""
    ways: list[Way] = [LANE, ([(52.05, -3.05), (52.05, -2.95)], {"contour": "elevation", "ele": "200"})]
    _, kept = written(tmp_path, ways, [(52.001, -3.0, {"barrier": "gate"}), (52.01, -3.0, {"barrier": "gate"})])
    land = land_around(kept, BOX, HERE)
    assert [(mark.kind, mark.latitude) for mark in land.marks] == [("gate", 52.001)]
    assert len(land.lines["contour"]) == 1
