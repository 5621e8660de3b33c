"""A stopping place of the site's own, on a farm without a road map."""

from __future__ import annotations

import datetime as dt

import pytest

from routing.check import broken_promises
from routing.farm.models import BASE, Place
from routing.planning.ask.moment import Moment
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.round import StoppingPlace
from routing.stages.ask import replan
from routing.travel.farm import farm_and_legs
from routing.travel.straight import geodesic_metres, straight_line_legs
from tests.moving_farm import HOLLOW, MILL, RIDGE, SUMMER, moving_farm
from tests.travel.roads.hand_map import at, farm_on

DATE = dt.date(2026, 6, 10)
PLAIN = farm_on(None, at(0, 0), {"alder": at(4, 0), "birch": at(0, 5)})
PARKED = PLAIN.model_copy(
    update={"sites": (PLAIN.sites[0].model_copy(update={"parking": at(4, 0.24)}), PLAIN.sites[1])}
)


def test_it_is_driven_to_and_walked_from_in_a_straight_line() -> None:
    """240 m at 4.8 km/h and a barrow at 1.5 times that: 4.5 min, a tenth more for the rounding up of 240 point nought."""
    farm, legs = farm_and_legs(PARKED)
    spots = [(BASE, at(0, 0)), ("alder", at(4, 0.24)), ("birch", at(0, 5))]
    assert legs.seconds.tolist() == straight_line_legs(spots, farm.rules).seconds.tolist()
    assert [site.walking_minutes for site in farm.sites] == [pytest.approx(4.5, abs=0.11), 0]
    metres = geodesic_metres([at(4, 0.24)], [at(4, 0)])[0]
    minutes = farm.sites[0].walking_minutes
    (note,) = legs.notes
    assert note == (
        f"The walk to Alder is estimated: {metres:.0f} m from where the vehicle stops, "
        f"in a straight line, {minutes:g} min each way."
    )


def test_the_site_s_own_minutes_stay() -> None:
    sites = (PARKED.sites[0].model_copy(update={"walking_minutes": 2.5}), PARKED.sites[1])
    farm, legs = farm_and_legs(PARKED.model_copy(update={"sites": sites}))
    assert farm.sites[0].walking_minutes == 2.5
    assert legs.notes == ()


def test_without_one_nothing_changes() -> None:
    farm, legs = farm_and_legs(PLAIN)
    assert farm == PLAIN
    assert (legs.parked, legs.notes) == ({}, ())


def test_the_round_tells_it_and_is_checked() -> None:
    farm, legs = farm_and_legs(PARKED)
    round_ = plan_days(build_instance(farm, legs, (DATE,)))
    assert broken_promises(round_, farm, legs) == ()
    told = {stop.site: stop.stopping_place for stop in round_.itineraries[0].stops}
    spot = at(4, 0.24)
    assert told == {"alder": StoppingPlace(latitude=spot.latitude, longitude=spot.longitude), "birch": None}
    assert legs.notes[0] in round_.estimates


def test_the_rest_of_a_day_is_planned_from_where_the_crew_stands() -> None:
    rest = replan(PARKED, DATE, "crew-van", Moment(at=dt.time(12), here="52.05, -3.0", done=["birch"]))
    assert [stop.site for stop in rest.itineraries[0].stops] == ["alder"]
    assert rest.itineraries[0].stops[0].stopping_place is not None
    assert any(line.startswith("The walk to Alder is estimated") for line in rest.estimates)


def test_both_ends_of_a_move_tell_theirs() -> None:
    ridge, hollow = (
        site.model_copy(update={"parking": Place(latitude=site.place.latitude + 0.001, longitude=-2.9)})
        for site in (RIDGE, HOLLOW)
    )
    farm, legs = farm_and_legs(moving_farm(sites=(ridge, hollow, MILL)))
    round_ = plan_days(build_instance(farm, legs, (SUMMER,)))
    assert broken_promises(round_, farm, legs) == ()
    told = {stop.site: stop.stopping_place for stop in round_.itineraries[0].at_sites}
    assert told == {
        "mill": None,
        "ridge": StoppingPlace(latitude=RIDGE.place.latitude + 0.001, longitude=-2.9),
        "hollow": StoppingPlace(latitude=HOLLOW.place.latitude + 0.001, longitude=-2.9),
    }
