"""Nights in which the clocks change, days that end after midnight, and rounds of two days."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import numpy as np
import pytest

from routing.check import broken_promises
from routing.farm.models import Farm
from routing.round import Round
from routing.travel.legs import Legs
from tests.check.damage import with_change
from tests.check.naive_round import naive_round
from tests.check.small_farm import FARM, LEGS, WEDNESDAY, farm_with

STRIPS = FARM.model_copy(update={"jobs": tuple(job for job in FARM.jobs if job.kind == "strips")})
"""Work that needs no light."""

NIGHT = farm_with(
    STRIPS,
    "crews",
    "anna",
    earliest_start=dt.time(0, 50),
    home_by=dt.time(0, 50),
    days_off_weekdays=frozenset(),
)
ORDER = {"anna": (("ford", (8,)), ("lane", (5,)))}


@pytest.mark.parametrize("date", [dt.date(2026, 3, 29), dt.date(2026, 10, 25)])
def test_a_night_in_which_the_clocks_change_is_reckoned_in_real_seconds(date: dt.date) -> None:
    """British clocks change at 01:00 universal time on these dates (EU directive 2000/84/EC, kept in British law)."""
    round_ = naive_round(NIGHT, LEGS, date, ORDER, ())
    (day,) = round_.itineraries
    assert day.load_from.utcoffset() != day.home.utcoffset()
    assert broken_promises(round_, NIGHT, LEGS) == ()


def test_home_by_at_the_hour_of_the_start_means_the_next_day() -> None:
    round_ = naive_round(NIGHT, LEGS, WEDNESDAY, ORDER, ())
    assert round_.itineraries[0].home_by.date() == WEDNESDAY + dt.timedelta(days=1)
    early = with_change(round_, ("itineraries", 0, "home_by"), lambda by: by - dt.timedelta(days=1))
    assert any("home_by is the crew's" in sentence for sentence in broken_promises(early, NIGHT, LEGS))


def two_days() -> Round:
    """Return a round in which Anna goes to ford on Wednesday and to lane on Thursday."""
    dates = (WEDNESDAY, WEDNESDAY + dt.timedelta(days=1))
    days = [
        naive_round(NIGHT, LEGS, date, {"anna": (visit,)}, ()).itineraries[0]
        for date, visit in zip(dates, ORDER["anna"], strict=True)
    ]
    return naive_round(NIGHT, LEGS, WEDNESDAY, {}, ()).model_copy(update={"dates": dates, "itineraries": tuple(days)})


def test_a_round_of_two_days_is_checked_day_by_day() -> None:
    round_ = two_days()
    assert broken_promises(round_, NIGHT, LEGS) == ()
    assert all(first.date < second.date for first, second in pairwise(round_.itineraries))


def test_the_dates_of_two_days_are_not_to_be_changed_about() -> None:
    swapped = with_change(two_days(), ("itineraries", 0, "date"), lambda date: date + dt.timedelta(days=1))
    broken = broken_promises(swapped, NIGHT, LEGS)
    assert any("a crew has one itinerary a date" in sentence for sentence in broken)
    assert any("home_by is the crew's" in sentence for sentence in broken)


def at_the_yard() -> tuple[Round, Farm, Legs]:
    """Return the night round of ford alone, whose hives stand at the base's own place."""
    seconds = np.array(LEGS.seconds)
    base, ford = LEGS.places.index("base"), LEGS.places.index("ford")
    seconds[base, ford] = seconds[ford, base] = 0
    legs = Legs(LEGS.places, seconds, seconds * 13, LEGS.origins)
    farm = NIGHT.model_copy(update={"jobs": tuple(job for job in NIGHT.jobs if job.site == "ford")})
    return naive_round(farm, legs, WEDNESDAY, {"anna": (("ford", (8,)),)}, ()), farm, legs


def test_hives_at_the_base_s_own_place_need_one_call() -> None:
    """Finished and home are the same second: one call is due then, neither none nor two."""
    round_, farm, legs = at_the_yard()
    day = round_.itineraries[0]
    assert day.stops[-1].finish == day.home
    assert [call.by for call in day.call_ins] == [day.home]
    assert broken_promises(round_, farm, legs) == ()
    calls = ("itineraries", 0, "call_ins")
    for wrong in (with_change(round_, calls, lambda _: []), with_change(round_, calls, lambda old: [*old, *old])):
        assert any("call" in sentence for sentence in broken_promises(wrong, farm, legs))


@pytest.mark.parametrize("place", ["Ford apiary", "The yard"])
def test_the_one_call_may_name_the_site_or_the_base(place: str) -> None:
    round_, farm, legs = at_the_yard()
    told = with_change(round_, ("itineraries", 0, "call_ins", 0, "where"), lambda _: place)
    assert broken_promises(told, farm, legs) == ()


@pytest.mark.parametrize("date", [dt.date(2026, 3, 29), dt.date(2026, 10, 25)])
def test_a_break_in_a_night_of_changed_clocks_is_reckoned_in_real_seconds(date: dt.date) -> None:
    """A break is due after 24 min: by the clock the hour that is lost or gained would move it."""
    tired = farm_with(NIGHT, "crews", "anna", break_after_hours=0.4)
    round_ = naive_round(tired, LEGS, date, ORDER, ())
    assert [stop.rest for stop in round_.itineraries[0].stops if stop.rest is not None]
    assert broken_promises(round_, tired, LEGS) == ()
