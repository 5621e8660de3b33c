"""The hour to be home against published values that only hold where it is kept: a shortest tour and a printed dusk."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from routing.planning.arrays import ArrayPlan, plan_arrays
from routing.round import Round
from tests.published.one_day import farm_with, planned
from tests.published.test_travelling_salesman import BURMA14, geo_distance

SHORTEST_TOUR = 3323
"""Of burma14. Source: TSPLIB, G. Reinelt, ORSA Journal on Computing 3 (1991)."""
DEFIANCE = "41.281944, -84.362778"
DATE = dt.date(2019, 11, 8)
CIVIL_DUSK = dt.datetime(2019, 11, 8, 22, 54, tzinfo=dt.UTC)
"""To the minute. Source: US Naval Observatory for Defiance, Ohio, as quoted in skyfield's test of its twilights."""
HALF_A_MINUTE = dt.timedelta(seconds=31)


def tour(home_by: int) -> ArrayPlan:
    """Return the plan of a visit of no length at each place of burma14, for a crew that leaves at 0."""
    travel = np.array([[geo_distance(a, b) if a != b else 0 for b in BURMA14] for a in BURMA14], dtype=np.int64)
    count = len(BURMA14) - 1
    return plan_arrays(
        travel_seconds=travel,
        work_seconds=np.zeros(count, dtype=np.int64),
        windows=[[0, 100_000]] * count,
        shift=(0, home_by),
    )


def assert_home_in_time(plan: ArrayPlan) -> None:
    """Hold that not all places are visited: a second less than the shortest tour takes, whatever the order."""
    assert plan.left_out != ()
    assert max(route.home for route in plan.routes) < SHORTEST_TOUR


def test_a_crew_that_must_be_home_when_the_shortest_tour_ends_makes_all_visits() -> None:
    """3,323 s: enough for all thirteen places; 3,322: for one less at the most."""
    enough = tour(SHORTEST_TOUR)
    assert (enough.left_out, enough.away_seconds) == ((), SHORTEST_TOUR)
    assert_home_in_time(tour(SHORTEST_TOUR - 1))


def test_a_missing_home_by_is_noticed_by_the_shortest_tour() -> None:
    """Planned without it, all thirteen are visited, and the same check fails."""
    with pytest.raises(AssertionError):
        assert_home_in_time(tour(100_000))


def guards(folder: Path, hives: int, more: str) -> Round:
    """Return the plan of mouse guards for so many hives, an hour's drive from a base at Defiance.

    Light to work in: from sunrise 12:17 UT and 20 min to sunset 22:25 UT less 20 min, so the work may begin at 12:37 UT
    and last to 22:05. On site: 10 min and 2 a hive.
    """
    farm = farm_with(
        folder,
        [("mouse-guards", hives)],
        zone="America/New_York",
        base=DEFIANCE,
        starts="03:00",
        more=more,
        drive_minutes=60,
    )
    return planned(farm, DATE)


def assert_home_before_dusk(round_: Round) -> None:
    """Nobody is home later than the printed dusk, and what would make them so is left out."""
    homes = [itinerary.home for itinerary in round_.itineraries]
    assert all(home <= CIVIL_DUSK + HALF_A_MINUTE for home in homes)
    assert round_.left_out != ()


BEFORE_DARK = "home_before_dark = true"


def test_a_crew_is_home_before_the_printed_dusk_and_uses_the_day_until_then(tmp_path: Path) -> None:
    """12:37 + 10 + 2 x 273 min = 21:53, and an hour home: 22:53 UT; with one hive more 22:55, after dusk."""
    last = guards(tmp_path, 273, BEFORE_DARK)
    assert last.left_out == ()
    ((home,),) = ([itinerary.home for itinerary in last.itineraries],)
    assert dt.timedelta() <= CIVIL_DUSK + HALF_A_MINUTE - home.astimezone(dt.UTC) <= dt.timedelta(minutes=2)
    assert home.tzinfo == ZoneInfo("America/New_York")
    assert_home_before_dusk(guards(tmp_path, 274, BEFORE_DARK))


def test_a_missing_home_by_is_noticed_by_the_printed_dusk(tmp_path: Path) -> None:
    """Without it the same work ends in the light, and the drive home in the dark: the check fails."""
    with pytest.raises(AssertionError):
        assert_home_before_dusk(guards(tmp_path, 274, "home_before_dark = false"))
