"""A lone worker's calls on the farm that a person can check with a pencil."""

import datetime as dt
from itertools import pairwise
from pathlib import Path

import pytest

from routing.check import broken_promises
from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.round import Round
from routing.stages import plan as plan_stage
from routing.travel.farm import farm_legs

EXAMPLES = Path(__file__).parents[2] / "examples"
JUNE = dt.date(2026, 6, 10)


def farm(minutes: float, people: int = 1) -> Farm:
    """Return the example with calls at most so many minutes apart."""
    read = read_farm(EXAMPLES / "four-sites")
    figure = read.rules.call_in_minutes.model_copy(update={"value": minutes})
    rules = read.rules.model_copy(update={"call_in_minutes": figure})
    crew = read.crews[0].model_copy(update={"people": people})
    return read.model_copy(update={"rules": rules, "crews": (crew,)})


@pytest.mark.parametrize("minutes", [45, 60, 61.5, 90, 240])
def test_calls_are_never_too_far_apart_and_never_needlessly_close(minutes: float) -> None:
    """Only the calls on the last finish and on coming home may follow another sooner than half the longest time."""
    lone = farm(minutes)
    day = (planned := plan_stage.plan(lone, JUNE)).itineraries[0]
    assert broken_promises(planned, lone, farm_legs(lone)) == ()
    times = [day.leave, *(call.by for call in day.call_ins)]
    gaps = [(later - sooner).total_seconds() / 60 for sooner, later in pairwise(times)]
    assert max(gaps) <= minutes
    assert times[-2:] == [day.stops[-1].finish, day.home]
    assert min(gaps[:-1]) >= minutes / 2 - 1 / 60


def test_the_calls_of_the_example_day_are_45_minutes_apart_or_more(hollin_vale: Round) -> None:
    """Every 90 minutes from leaving would be a call at 15:05 and another on finishing there at 15:32."""
    day = hollin_vale.itineraries[0]
    times = [day.leave, *(call.by for call in day.call_ins[:-1])]
    assert min(later - sooner for sooner, later in pairwise(times)) >= dt.timedelta(minutes=45)


def test_a_crew_of_two_has_no_calls() -> None:
    assert plan_stage.plan(farm(90, people=2), JUNE).itineraries[0].call_ins == ()
