"""No round leaves out a visit that still fits: the check finds the place where it would."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Sequence

import pytest

from routing.check import broken_promises, still_fits
from routing.farm.models import Farm, Place, Site
from routing.round import Round
from tests.check.naive_round import Orders, naive_round
from tests.check.small_farm import FARM, LEFT, LEGS, ORDERS, WEDNESDAY, farm_with, grid_legs, job

ROOM = "no room in the day"


def left_out(farm: Farm, orders: Orders, *more: tuple[str, Sequence[int], str]) -> Round:
    return naive_round(farm, LEGS, WEDNESDAY, orders, (*LEFT, *more))


def test_a_good_round_leaves_out_nothing_that_fits(good: Round) -> None:
    assert still_fits(good, FARM, LEGS) == ()


def test_a_visit_that_fits_at_the_end_is_found() -> None:
    """Ben has until 11:00 and is home before 10 without ford."""
    round_ = left_out(FARM, {**ORDERS, "ben": (("wood", (6, 7)),)}, ("ford", (8,), ROOM))
    broken = broken_promises(round_, FARM, LEGS)
    assert len(broken) == 1
    assert broken[0].startswith("left out at ford, jobs.csv:8: no round leaves out a visit that still fits")
    assert "found crew anna on 2025-12-03 can do it after base" in broken[0]


def test_a_job_that_fits_only_together_with_what_is_done_at_its_site_is_found() -> None:
    """Guards at hill lengthen the stop by 22 min of work; a visit of their own needs walk and set-up besides.

    With both jobs Anna, who loads from 7:58:28, is home at 11:54:03, so a home-by of that second leaves no more.
    """
    farm = farm_with(FARM, "crews", "anna", earliest_start=dt.time(7, 58, 28), home_by=dt.time(11, 54, 3))
    farm = farm_with(farm, "crews", "ben", home_by=dt.time(9, 50))
    orders = {**ORDERS, "anna": (("hill", (2,)), *ORDERS["anna"][1:])}
    broken = still_fits(left_out(farm, orders, ("hill", (3,), ROOM)), farm, LEGS)
    assert len(broken) == 1
    assert "can do it together with stop 1" in broken[0]


def test_a_second_later_there_is_no_room() -> None:
    farm = farm_with(FARM, "crews", "anna", earliest_start=dt.time(7, 58, 28), home_by=dt.time(11, 54, 2))
    farm = farm_with(farm, "crews", "ben", home_by=dt.time(9, 50))
    orders = {**ORDERS, "anna": (("hill", (2,)), *ORDERS["anna"][1:])}
    assert still_fits(left_out(farm, orders, ("hill", (3,), ROOM)), farm, LEGS) == ()


def test_a_crew_that_stays_at_home_could_go() -> None:
    """Nobody but Ben's crew can lift the supers at wood."""
    round_ = left_out(FARM, {"anna": ORDERS["anna"]}, ("wood", (6, 7), ROOM), ("ford", (8,), ROOM))
    found = still_fits(round_, FARM, LEGS)
    assert len([sentence for sentence in found if "at wood" in sentence and "crew ben" in sentence]) == 3


HINDRANCES: dict[str, Farm] = {
    "day off": farm_with(FARM, "crews", "ben", days_off_weekdays={2}),
    "vehicle": farm_with(FARM, "vehicles", "truck", reaches=frozenset()),
    "people": farm_with(FARM, "crews", "ben", people=1),
    "payload": farm_with(FARM, "vehicles", "truck", payload_kg=73.4),
    "space": farm_with(FARM, "vehicles", "truck", space_litres=215.4),
    "home by": farm_with(FARM, "crews", "ben", home_by=dt.time(9)),
    "closed": farm_with(FARM, "sites", "wood", closed_dates={WEDNESDAY}),
    "not due": farm_with(FARM, "jobs", "jobs.csv:6", not_before=dt.date(2025, 12, 4)),
}


@pytest.mark.parametrize("farm", HINDRANCES.values(), ids=HINDRANCES.keys())
def test_what_keeps_a_job_from_being_done_keeps_it_from_fitting(farm: Farm) -> None:
    round_ = left_out(farm, {"anna": ORDERS["anna"]}, ("wood", (6,), ROOM))
    assert not any("jobs.csv:6" in sentence for sentence in still_fits(round_, farm, LEGS))
    assert any("jobs.csv:6" in sentence for sentence in still_fits(round_, FARM, LEGS))


def test_stock_that_others_use_up_keeps_a_job_from_fitting() -> None:
    """Anna uses 12 strips and ford needs 6: 17 are too few and 18 are enough."""
    orders = {**ORDERS, "ben": (("wood", (6, 7)),)}
    for strips, fits in ((17, 0), (18, 1)):
        farm = FARM.model_copy(update={"stock": {"fondant": 200, "strip": strips}})
        assert len(still_fits(left_out(farm, orders, ("ford", (8,), ROOM)), farm, LEGS)) == fits


def test_no_healthy_site_is_tried_after_a_suspect_one() -> None:
    """Anna at lane alone could do hill only before it, and before it there is no way."""
    farm = farm_with(FARM, "crews", "ben", days_off_weekdays={2})
    orders = {"anna": (("lane", (5,)),)}
    rest = (("mill", (4,), ROOM), ("wood", (6, 7), ROOM), ("ford", (8,), ROOM), ("hill", (2, 3), ROOM))
    round_ = left_out(farm, orders, *rest)
    found = [sentence for sentence in still_fits(round_, farm, LEGS) if "at hill" in sentence]
    assert found
    assert all("after base" in sentence for sentence in found)


def test_a_round_of_thirty_stops_and_thirty_left_out_is_searched_in_seconds() -> None:
    """Three crews with ten stops each and thirty visits that only the break of 20 min keeps from fitting.

    Each takes at least 600 s of detour and 780 s of work; with 1,300 s to spare it would fit into a day without break,
    so every place of the break has to be tried. Measured: 0.2 s on one core of a 2-core server; the bound leaves room for a slow machine.
    """
    sites = tuple(
        Site(id=f"s{number}", name=f"Site {number}", place=Place(latitude=52, longitude=-1.5), hives=2)
        for number in range(60)
    )
    jobs = tuple(job(number, f"s{number}", "strips", 2) for number in range(60))
    crew = FARM.crews[0].model_copy(update={"earliest_start": dt.time(5), "home_by": dt.time(18)})
    crews = tuple(crew.model_copy(update={"id": name}) for name in ("anna", "ben", "carl"))
    farm = FARM.model_copy(update={"sites": sites, "jobs": jobs, "crews": crews, "stock": {}})
    legs = grid_legs(farm)
    orders = {
        crew.id: tuple((f"s{number}", (number,)) for number in range(10 * place, 10 * place + 10))
        for place, crew in enumerate(crews)
    }
    left = tuple((f"s{number}", (number,), ROOM) for number in range(30, 60))
    round_ = naive_round(farm, legs, WEDNESDAY, orders, left)
    for day in round_.itineraries:
        farm = farm_with(farm, "crews", day.crew, home_by=(day.home + dt.timedelta(seconds=1300)).time())
    began = time.process_time()
    assert still_fits(round_, farm, legs) == ()
    assert time.process_time() - began < 10
    roomier = farm_with(farm, "crews", "anna", home_by=dt.time(18))
    assert len(still_fits(round_, roomier, legs)) == 30
