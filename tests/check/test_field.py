"""Every number that the page in the field reckons with is held against the farm, and a false one goes with all of them."""

import dataclasses
import datetime as dt
from pathlib import Path as File

import pytest

from routing.check import broken_promises, what_holds
from routing.farm.folder import read_farm
from routing.farm.models import Farm, Rank, Underway
from routing.planning.ask.moment import Moment, aboard_now, had_until
from routing.planning.ask.rest_of_day import from_here, rest_of_day
from routing.planning.day_numbers import with_numbers
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.round import ReasonCode, Round
from routing.stages import ask as ask_stage
from routing.stages import plan as plan_stage
from routing.travel.farm import farm_and_legs
from routing.travel.legs import Legs
from tests.check.damage import Path, leaves, lists, nudged, with_change, with_twice, without
from tests.moving_farm import SUMMER, legs_of, moving_farm
from tests.returning_farm import SUMMER as RETURNING
from tests.returning_farm import legs_of as returning_legs
from tests.returning_farm import returning_farm

JUNE = dt.date(2026, 6, 10)


@dataclasses.dataclass(frozen=True)
class Planned:
    farm: Farm
    legs: Legs
    round: Round


@pytest.fixture(
    scope="module",
    params=["a plain day", "a day of a move", "the rest of a day", "a day with work near it", "two trips"],
)
def planned(request: pytest.FixtureRequest) -> Planned:
    """Four sites, one with two jobs, and a break; hives that are moved; and what is left of such a day at noon."""
    if request.param == "a day of a move":
        moving = moving_farm()
        return Planned(moving, legs_of(moving), plan_stage.plan(moving, SUMMER))
    if request.param == "a day with work near it":
        return _short_day()
    if request.param == "two trips":
        farm, legs = returning_farm(), returning_legs(returning_farm())
        round_ = plan_days(build_instance(farm, legs, (RETURNING,)))
        return Planned(farm, legs, with_numbers(round_, farm, legs))
    whole = _plain_day()
    return whole if request.param == "a plain day" else _rest_of(whole)


def _short_day() -> Planned:
    """At Birch there is more to do than fits, and at Damson too."""
    farm = read_farm(File("examples/four-sites"))
    heft = farm.jobs[1].model_copy(update={"id": "jobs.csv:9", "kind": "fondant", "rank": Rank.PASSING})
    crew = farm.crews[0].model_copy(update={"home_by": dt.time(11, 25)})
    farm, legs = farm_and_legs(farm.model_copy(update={"jobs": (*farm.jobs, heft), "crews": (crew,)}))
    return Planned(farm, legs, plan_stage.plan(farm, JUNE))


def _rest_of(whole: Planned) -> Planned:
    (crew,) = whole.farm.crews
    moment = Moment(at=dt.time(10), here="B", done=("B",), planned=whole.round)
    stands = Underway(name="Birch", place=whole.farm.site("B").place, at=moment.at)
    had, aboard = had_until(crew, JUNE, moment), aboard_now(whole.farm, crew.id, moment)
    return Planned(
        rest_of_day(whole.farm, crew, stands, had, aboard),
        from_here(whole.legs, whole.legs.index("B")),
        ask_stage.replan(whole.farm, JUNE, crew.id, moment),
    )


def _plain_day() -> Planned:
    farm = read_farm(File("examples/four-sites"))
    fed = tuple(job.model_copy(update={"id": f"{job.id}b", "kind": "fondant"}) for job in farm.jobs[:1])
    supers = tuple(job.model_copy(update={"id": f"{job.id}c", "kind": "harvest"}) for job in farm.jobs[1:2])
    kinds = farm.job_kinds
    more = (*fed, *(job for job in supers if job.kind in kinds))
    crew = farm.crews[0].model_copy(update={"break_minutes": 20.0, "break_after_hours": 4.0, "home_by": dt.time(17)})
    farm = farm.model_copy(update={"jobs": (*farm.jobs, *more), "crews": (crew,)})
    farm, legs = farm_and_legs(farm)
    return Planned(farm, legs, plan_stage.plan(farm, JUNE))


def below(planned: Planned) -> tuple[list[Path], list[tuple[Path, int]]]:
    dump = planned.round.model_dump()
    inside = ("itineraries", 0, "numbers")
    return (
        [path for path, _ in leaves(dump) if path[:3] == inside],
        [(path, index) for path, length in lists(dump) if path[:3] == inside for index in range(length)],
    )


def test_true_numbers_are_let_through(planned: Planned) -> None:
    numbers = planned.round.itineraries[0].numbers
    assert numbers is not None
    assert bool(numbers.near) == any(left.reason is ReasonCode.NO_ROOM for left in planned.round.left_out)
    assert broken_promises(planned.round, planned.farm, planned.legs) == ()


def test_a_changed_number_is_caught(planned: Planned) -> None:
    paths, _ = below(planned)
    assert len(paths) > 60
    for path in paths:
        found = broken_promises(with_change(planned.round, path, nudged(path)), planned.farm, planned.legs)
        assert found, path


def test_a_missing_or_doubled_part_is_caught(planned: Planned) -> None:
    for path, index in below(planned)[1]:
        for damage in (without, with_twice):
            assert broken_promises(damage(planned.round, path, index), planned.farm, planned.legs), (path, index)


def test_false_numbers_are_left_away_and_the_day_stays(planned: Planned) -> None:
    path = ("itineraries", 0, "numbers", "home_by")
    mended = what_holds(with_change(planned.round, path, nudged(path)), planned.farm, planned.legs)
    (day,) = mended.itineraries
    assert day.numbers is None
    assert day.model_copy(update={"numbers": planned.round.itineraries[0].numbers}) == planned.round.itineraries[0]
    assert "a wrong number for the field in the day of" in mended.faults[0]
