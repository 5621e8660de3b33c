"""Whole rounds of random farms: every one passes the independent check, and none leaves out what still fits."""

from __future__ import annotations

import pytest

from routing.check import broken_promises, still_fits
from routing.planning.build import build_day
from routing.planning.day import fit_day, plan_day
from routing.travel.farm import farm_legs
from tests.random_farms import random_farm

FARMS = 120
"""How many a test run plans; a thousand were planned when this was written, all good."""


@pytest.mark.parametrize("seed", range(FARMS))
def test_a_random_farm_gives_a_round_that_keeps_every_promise(seed: int) -> None:
    """Anywhere on earth, any day of the year, any mix of jobs, hours, vehicles, stock and crews."""
    farm, date = random_farm(seed)
    legs = farm_legs(farm)
    day = build_day(farm, legs, date)
    planned = plan_day(day)
    assert broken_promises(planned, farm, legs) == ()
    assert not list(still_fits(planned, farm, legs))
    answer = fit_day(day)
    assert answer.fits is (planned.all_done) or len(farm.crews) > 1
    if answer.round is not None:
        assert broken_promises(answer.round, farm, legs) == ()
