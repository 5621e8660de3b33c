"""Nights in which the clocks change, days that end after midnight, and rounds of two days."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import pytest

from routing.check import broken_promises
from routing.round import Round
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
