"""The chance that a day holds against the printed tables of the normal and the binomial distribution.

Source: M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 1964, table 26.1 (normal), from memory: 0.5 is
0.69146, 1 is 0.84134, 1.28 is 0.89973, 2 is 0.97725. Python's own statistics.NormalDist gives the same five places.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from routing.farm.models import Figure
from routing.planning.chance.simulate import DAYS, Odds, odds, simulate
from routing.planning.chance.spread import Spread
from routing.round import Itinerary, Round
from tests.published.one_day import farm_with, planned

NORMAL = {0.5: 0.69146, 1.0: 0.84134, 1.28: 0.89973, 2.0: 0.97725}
HOME_BY = "13:30"
"""35 minutes after the plan is home, and long before dark in June, so that being home in time is all that is at stake."""


def figure(value: float) -> Figure:
    return Figure(value=value, source="chosen for the check", confidence="farm")


def spread(visit: float = 0.0, site: float = 0.0, day_work: float = 0.0, drive: float = 0.0) -> Spread:
    nothing = figure(0.0)
    return Spread(
        visit=figure(visit), site=figure(site), day_work=figure(day_work), drive=figure(drive), day_drive=nothing
    )


def day(folder: Path, home_by: str = HOME_BY) -> Round:
    """Return a day of one visit: 10 min there, 15 min + 20 hives of 10 min on site, 10 min back: home at 12:55."""
    return planned(farm_with(folder, [("weekly-inspection", 20)], starts="09:00", home_by=home_by))


def room(itinerary: Itinerary) -> float:
    """Return how many times its planned length the work may take until the crew is home too late."""
    (stop,) = itinerary.stops
    spare = (itinerary.home_by - itinerary.home).total_seconds()
    return (stop.on_site_seconds + spare) / stop.on_site_seconds


def assert_chance(found: float, table: float) -> None:
    """Hold a share of days against a printed chance: four standard errors, the root of p (1 - p) / days each."""
    assert found == pytest.approx(table, abs=4 * math.sqrt(table * (1 - table) / DAYS))


def chances(round_: Round, told: Spread) -> Odds:
    return odds(simulate(round_, told))


@pytest.mark.parametrize(("z", "table"), NORMAL.items())
def test_the_chance_to_be_home_in_time_is_that_of_the_normal_table(tmp_path: Path, z: float, table: float) -> None:
    """Work may take `room` times as long; with a spread of ln(room) / z that is z standard deviations of its logarithm."""
    round_ = day(tmp_path)
    (itinerary,) = round_.itineraries
    found = chances(round_, spread(visit=math.log(room(itinerary)) / z))
    assert_chance(found.crews[0].home_chance, table)
    assert found.crews[0].stops[0].chance > 0.999  # the light is hours away
    assert_chance(found.chance, table)


def test_spreads_that_go_their_own_ways_add_up_as_squares(tmp_path: Path) -> None:
    """3, 4 and 12 make 13: the visit's, the site's and the day's spread together are one of 13 / 12 of the last."""
    round_ = day(tmp_path)
    (itinerary,) = round_.itineraries
    all_in_all = math.log(room(itinerary))
    parts = (all_in_all * part / 13 for part in (3, 4, 12))
    assert_chance(chances(round_, spread(*parts)).chance, NORMAL[1.0])


def test_five_crews_of_nine_in_ten_each_are_all_home_on_59_days_of_100(tmp_path: Path) -> None:
    """0.59049, the last row of five trials at 0.9 in a binomial table (0.9 to the fifth; all that is needed of it)."""
    round_ = day(tmp_path)
    (itinerary,) = round_.itineraries
    (stop,) = itinerary.stops
    crews = tuple(
        itinerary.model_copy(update={"crew": name, "stops": (stop.model_copy(update={"site": f"site {name}"}),)})
        for name in "abcde"
    )
    told = spread(visit=math.log(room(itinerary)) / 1.2816)
    found = chances(round_.model_copy(update={"itineraries": crews}), told)
    assert all(crew.chance == pytest.approx(0.9, abs=0.012) for crew in found.crews)
    assert_chance(found.chance, 0.59049)


def test_the_table_notices_a_missing_home_by(tmp_path: Path) -> None:
    """What the check above is for: planned and lived without the hour to be home, nearly every day holds."""
    (itinerary,) = day(tmp_path).itineraries
    told = spread(visit=math.log(room(itinerary)))
    with pytest.raises(AssertionError):
        assert_chance(chances(day(tmp_path, home_by="23:55"), told).chance, NORMAL[1.0])
