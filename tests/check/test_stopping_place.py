"""A stopping place that is not the site's own, is left out, or is not where the drive ends is caught."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from routing.check import broken_promises
from routing.farm.models import Farm, Place
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.round import Round, StoppingPlace
from routing.travel.farm import farm_and_legs
from routing.travel.legs import Legs
from tests.travel.roads.hand_map import HandMap, at, farm_on

Planned = tuple[Round, Farm, Legs]
DATE = dt.date(2026, 6, 10)


def planned(path: Path | None, parking: Place | None = None) -> Planned:
    """Return the round of one site 100 m off a lane, on a road map where a path for one is given."""
    lane = {"highway": "unclassified", "name": "Mill Lane"}
    road_map = path and HandMap({"a": (0, 0), "b": (4, 0)}, [(("a", "b"), lane)]).write(path / "lane.osm.pbf")
    farm = farm_on(road_map, at(0, 0), {"alder": at(2, 0.1)})
    farm = farm.model_copy(update={"sites": (farm.sites[0].model_copy(update={"parking": parking}),)})
    farm, legs = farm_and_legs(farm)
    return plan_days(build_instance(farm, legs, (DATE,))), farm, legs


def told(planned: Planned, place: Place | None, road: str = "Mill Lane") -> tuple[str, ...]:
    """Return what the check says where the vehicle is said to stop at a place."""
    round_, farm, legs = planned
    (day,) = round_.itineraries
    shown = place and StoppingPlace(latitude=place.latitude, longitude=place.longitude, road=road)
    stop = day.stops[0].model_copy(update={"stopping_place": shown})
    day = day.model_copy(update={"stops": (stop,)})
    return broken_promises(round_.model_copy(update={"itineraries": (day,)}), farm, legs)


def test_where_the_line_ends_is_the_stopping_place(tmp_path: Path) -> None:
    good = planned(tmp_path)
    assert broken_promises(*good) == ()
    place = good[0].itineraries[0].stops[0].stopping_place
    assert place is not None
    assert place.road == "Mill Lane"
    assert any("the road stopped on" in line for line in told(good, at(2, 0), "Hill Road"))
    assert any("where the line ends" in line for line in told(good, at(2.03, 0)))
    assert any("near enough to walk" in line for line in told(good, at(3, 0)))
    assert any("it is told where the vehicle stops" in line for line in told(good, None))


@pytest.mark.parametrize("with_map", [True, False])
def test_the_site_s_own_place_is_told_and_no_other(tmp_path: Path, *, with_map: bool) -> None:
    good = planned(tmp_path if with_map else None, parking=at(2.1, 0.01))
    assert broken_promises(*good) == ()
    for wrong in (at(2.1, 0.02), None):
        assert any("the site's own place" in line for line in told(good, wrong))


def test_without_a_map_no_other_place_is_told() -> None:
    assert any("only the site's own stopping place" in line for line in told(planned(None), at(2, 0)))
