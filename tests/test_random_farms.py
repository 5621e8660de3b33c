"""Whole rounds of random farms: every one passes the independent check, and none leaves out what still fits."""

from __future__ import annotations

import datetime as dt

import pytest

from routing.check import broken_promises, still_fits
from routing.planning.day_numbers import with_numbers
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import fit_day, plan_days
from routing.travel.farm import farm_legs
from tests.planned_numbers import assert_numbers_give_planned_times
from tests.random_farms import random_farm, with_tight_loads
from tests.split_jobs import split_jobs
from tests.together import then_deep

ONE_DAY, SEVERAL, LOADS = 30, 15, 15
"""Sixty farms in every run; two thousand in `make test-deep`."""


@pytest.mark.parametrize("seed", then_deep(range(ONE_DAY), range(1000)))
def test_a_random_farm_gives_a_round_that_keeps_every_promise(seed: int) -> None:
    """Anywhere on earth, any day of the year, any mix of jobs, hours, vehicles, stock and crews; `fit` agrees with it.

    So do the numbers that crews' pages reckon with.
    """
    farm, date = random_farm(seed)
    legs = farm_legs(farm)
    days = build_instance(farm, legs, (date,))
    planned = with_numbers(plan_days(days), farm, legs)
    assert broken_promises(planned, farm, legs) == ()
    assert still_fits(planned, farm, legs) == ()
    assert_numbers_give_planned_times(planned)
    answer = fit_day(days)
    assert answer.fits is planned.all_done
    assert answer.fits or answer.round is None
    if answer.fits and days.problem.tasks:
        assert answer.round is not None
        assert answer.round.all_done
        assert broken_promises(answer.round, farm, legs) == ()


def test_some_random_farms_have_numbers() -> None:
    """Else those of the test above might be missing all along."""
    farm, date = random_farm(0)
    legs = farm_legs(farm)
    planned = with_numbers(plan_days(build_instance(farm, legs, (date,))), farm, legs)
    assert sum(day.numbers is not None for day in planned.itineraries) > 0


@pytest.mark.parametrize("seed", then_deep(range(1000, 1000 + SEVERAL), range(1000, 1500)))
def test_a_random_farm_over_three_days_keeps_every_promise(seed: int) -> None:
    """Three dates in one round, not always next to each other."""
    farm, date = random_farm(seed)
    legs = farm_legs(farm)
    dates = (date, date + dt.timedelta(days=1), date + dt.timedelta(days=3 + seed % 90))
    planned = plan_days(build_instance(farm, legs, dates))
    assert broken_promises(planned, farm, legs) == ()
    assert still_fits(planned, farm, legs) == ()


@pytest.mark.parametrize("seed", then_deep(range(2000, 2000 + LOADS), range(2000, 2500)))
def test_a_random_farm_with_tight_loads_keeps_every_promise(seed: int) -> None:
    """Jobs too heavy for one visit are shared out, and crews come back to base to load again, on one day or two."""
    farm, date = random_farm(seed)
    farm = with_tight_loads(farm, seed)
    legs = farm_legs(farm)
    dates = tuple(date + dt.timedelta(days=day) for day in range(1 + seed % 2))
    farm = split_jobs(farm, legs, dates)
    planned = plan_days(build_instance(farm, legs, dates), work=5)
    assert broken_promises(planned, farm, legs) == ()
    assert still_fits(planned, farm, legs) == ()
