"""Drives against published road speeds, detours and distances.

Source of speeds: Department for Transport, "Travel time measures for the Strategic Road Network and local 'A' roads",
gov.uk: local A roads 25.4 mph in the year to June 2019 (25.3 to March 2019, 23.3 to June 2023); motorways and trunk roads
57.6 mph in the year to June 2023 (59.0 to June 2019). England, towns and countryside together.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from routing.farm.kinds import load_catalogue
from routing.farm.models import Figure, Place, Rules
from routing.travel.farm import farm_legs
from routing.travel.straight import estimated_drive_seconds, estimated_road_metres, geodesic_metres
from tests.travel.roads.hand_map import HandMap, at, farm_on

METRES_PER_MILE = 1609.344
LOCAL_A_ROADS_MPH = 25.4
STRATEGIC_ROADS_MPH = 57.6
RULES = load_catalogue().rules
TOO_QUICK = 1.2
"""A fifth more than the true speed: what a check of speeds must notice."""


def estimated_mph(straight_km: float, rules: Rules) -> float:
    """Return the average speed of an estimated drive, road miles by hours."""
    metres = np.array([straight_km * 1000])
    miles = estimated_road_metres(metres, rules)[0] / METRES_PER_MILE
    return float(miles / (estimated_drive_seconds(metres, rules)[0] / 3600))


def assert_like_local_a_roads(rules: Rules) -> None:
    """From one site to another, some 10 km: 26 mph. A tenth more or less than the published average is allowed."""
    assert estimated_mph(10, rules) == pytest.approx(LOCAL_A_ROADS_MPH, rel=0.1)


def quicker(rules: Rules) -> Rules:
    """Return rules in which each estimated drive is a fifth quicker."""
    bands = tuple(band.model_copy(update={"speed_kmh": band.speed_kmh * TOO_QUICK}) for band in rules.drive_bands)
    return rules.model_copy(update={"drive_bands": bands})


def test_an_estimated_drive_between_sites_is_as_quick_as_local_a_roads() -> None:
    assert_like_local_a_roads(RULES)


def test_short_drives_are_slower_and_none_is_as_quick_as_a_motorway() -> None:
    """Lanes first, trunk roads never all the way: below 25.4 mph at 2 km, below 57.6 at 80."""
    assert estimated_mph(2, RULES) < LOCAL_A_ROADS_MPH < estimated_mph(40, RULES) < STRATEGIC_ROADS_MPH
    assert estimated_mph(80, RULES) < STRATEGIC_ROADS_MPH


def test_a_fifth_more_speed_is_noticed() -> None:
    """The same check fails when the bands are a fifth quicker, and when the farm's drive factor makes them so."""
    with pytest.raises(AssertionError):
        assert_like_local_a_roads(quicker(RULES))
    with pytest.raises(AssertionError):
        assert_like_local_a_roads(RULES.model_copy(update={"drive_factor": 1 / TOO_QUICK}))


def test_long_drives_have_the_detour_of_motorway_networks() -> None:
    """1.3 +/- 0.1 from 40 km on. Source: Wang et al., npj Complexity 1:22, 2024, arXiv 2406.06490."""
    for straight_km in (40, 80, 160):
        metres = np.array([straight_km * 1000.0])
        assert estimated_road_metres(metres, RULES)[0] / metres[0] == pytest.approx(1.3, abs=0.1)


@pytest.mark.parametrize(
    ("start", "end", "published_miles"),
    [((52.0565, -2.7160), (52.2282, -2.7385), 13), ((52.0611, -2.7081), (52.0745, -3.1253), 21)],
    ids=["Hereford to Leominster", "Hereford station to Hay-on-Wye"],
)
def test_estimated_miles_are_not_below_published_ones(
    start: tuple[float, float], end: tuple[float, float], published_miles: float
) -> None:
    """About 13 miles (fifty5plus.com, Hereford) and 21 miles (luxurycottages.com, Hay Market House); towns from memory.

    Straight main roads: the estimate is for lanes, so up to a quarter longer is on the careful side.
    """
    places = [[Place(latitude=latitude, longitude=longitude)] for latitude, longitude in (start, end)]
    miles = estimated_road_metres(geodesic_metres(*places), RULES)[0] / METRES_PER_MILE
    assert published_miles <= miles <= 1.25 * published_miles


def motorway_mph(folder: Path, kmh_factor: float = 1.0) -> float:
    """Return the average speed of a van on twenty kilometres of motorway, between two streets of 50 m, by hand."""
    spots = {"yard": (-0.05, 0.0), "on": (0.0, 0.0), "off": (20.0, 0.0), "gate": (20.05, 0.0)}
    street = {"highway": "residential"}
    road = HandMap(
        spots,
        [(("yard", "on"), street), (("on", "off"), {"highway": "motorway", "oneway": "no"}), (("off", "gate"), street)],
    )
    speeds = {
        key: Figure(value=figure.value * kmh_factor, source="chosen for the check", confidence="farm")
        for key, figure in (RULES.roads.speeds_kmh if RULES.roads else {}).items()
    }
    here, there = at(*spots["yard"]), {"gate": at(*spots["gate"])}
    farm = farm_on(road.write(folder / "hand.osm.pbf"), here, there, {"v": "van"}, known=())
    assert farm.rules.roads is not None
    roads = farm.rules.roads.model_copy(update={"speeds_kmh": speeds})
    farm = farm.model_copy(update={"rules": farm.rules.model_copy(update={"roads": roads})})
    legs = farm_legs(farm)
    i, j = legs.index("base"), legs.index("gate")
    return float(legs.metres[i, j] / METRES_PER_MILE / (legs.seconds[i, j] / 3600))


def test_a_motorway_of_a_road_map_is_driven_at_the_published_speed(tmp_path: Path) -> None:
    """57.6 mph, within a twentieth; a fifth more is noticed."""
    assert motorway_mph(tmp_path) == pytest.approx(STRATEGIC_ROADS_MPH, rel=0.05)
    quick = tmp_path / "quick"
    quick.mkdir()
    assert motorway_mph(quick, TOO_QUICK) != pytest.approx(STRATEGIC_ROADS_MPH, rel=0.05)


@pytest.mark.parametrize(
    ("way", "mph"),
    [("van motorway", 70), ("van dual", 60), ("van single", 50), ("trailer motorway", 60), ("trailer single", 50)],
)
def test_legal_limits_are_the_published_ones(way: str, mph: float) -> None:
    """Goods vehicles to 7.5 t. Source: the gov.uk table of speed limits, read in a copy by Gateshead Council."""
    assert RULES.roads is not None
    assert RULES.roads.limits_kmh[way].value == pytest.approx(mph * METRES_PER_MILE / 1000, abs=0.05)
