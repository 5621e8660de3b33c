"""The break before a stop's work or after it: where it may be, when it must begin, and when a second one is due."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from routing.check import broken_promises
from routing.farm.models import Farm, Hours
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.round import Proof, Round
from tests.check.damage import thawed, with_change
from tests.check.naive_round import naive_round
from tests.check.small_farm import FARM, LEFT, LEGS, ORDERS, WEDNESDAY, farm_with
from tests.moving_farm import CREW, MOVE, SUMMER, legs_of, moving_farm

SECOND = dt.timedelta(seconds=1)
REST = dt.timedelta(minutes=20)


def anna(**change: object) -> Farm:
    return farm_with(FARM, "crews", "anna", **change)


def day_of(farm: Farm) -> Round:
    return naive_round(farm, LEGS, WEDNESDAY, ORDERS, LEFT)


def names(sentences: tuple[str, ...], promise: str) -> bool:
    return any(promise in sentence for sentence in sentences)


def with_stop(round_: Round, stop: int, **change: object) -> Round:
    """Return the round with some fields of one of Anna's stops changed."""
    return with_change(round_, ("itineraries", 0, "stops", stop), lambda old: {**old, **change})


def with_rest_at_lane(round_: Round) -> Round:
    """Return the round with the break that follows mill taken on arriving at lane instead: all else stays as it is."""
    mill, lane = round_.itineraries[0].stops[1:]
    assert mill.rest is not None
    arrive = lane.arrive - REST
    moved = with_stop(with_stop(round_, 1, rest=None), 2, arrive=arrive, rest={"start": arrive, "seconds": 1200})
    calls = moved.itineraries[0].call_ins
    told = [{"by": call.by, "where": "Hill apiary, Mill apiary, Lane apiary"} for call in calls[:3]]
    return with_change(moved, ("itineraries", 0, "call_ins"), lambda old: [*told, *old[3:]])


HEALTHY = farm_with(FARM, "sites", "lane", last_of_day=False)


def test_a_break_may_be_taken_at_either_end_of_the_drive() -> None:
    """After mill or on arriving at lane, it costs the same."""
    assert broken_promises(day_of(HEALTHY), HEALTHY, LEGS) == ()
    assert broken_promises(with_rest_at_lane(day_of(HEALTHY)), HEALTHY, LEGS) == ()


@pytest.mark.parametrize("step", [SECOND, -SECOND])
def test_a_break_before_the_work_is_exact_to_the_second(step: dt.timedelta) -> None:
    rested = with_rest_at_lane(day_of(HEALTHY))
    wrong = with_change(rested, ("itineraries", 0, "stops", 2, "rest", "start"), lambda start: start + step)
    assert names(broken_promises(wrong, HEALTHY, LEGS), "the break lies right before the stop's work or right after it")


def test_a_break_at_a_suspect_site_is_named_where_another_would_do() -> None:
    found = broken_promises(with_rest_at_lane(day_of(FARM)), FARM, LEGS)
    assert len(found) == 1
    assert names(found, "at lane: no break is taken at a last-of-day site where one elsewhere is possible")


def test_a_break_at_a_suspect_site_is_good_where_all_are() -> None:
    farm = farm_with(farm_with(FARM, "sites", "hill", last_of_day=True), "sites", "mill", last_of_day=True)
    round_ = day_of(farm)
    assert any(stop.rest and stop.last_of_day for stop in round_.itineraries[0].stops)
    assert broken_promises(round_, farm, LEGS) == ()


def test_a_break_that_begins_too_late_in_the_day_is_named() -> None:
    """Mill is finished 2 h 28 min after leaving: a rule of 3 h lets the break begin there, one of 2 h does not."""
    tired = anna(break_after_hours=2)
    assert names(broken_promises(day_of(FARM), tired, LEGS), "the break begins within 2 h of leaving base")
    assert broken_promises(day_of(tired), tired, LEGS) == ()


def test_a_break_may_begin_on_arriving_at_a_first_stop_however_far_it_is() -> None:
    """Hill is 697 s away, and after 6 min a break is due: it is taken there, before the work."""
    tired = anna(break_after_hours=0.1)
    round_ = day_of(tired)
    rest = round_.itineraries[0].stops[0].rest
    assert rest is not None
    assert rest.start == round_.itineraries[0].stops[0].arrive
    assert broken_promises(round_, tired, LEGS) == ()


SHORT = anna(break_after_hours=1.6)
"""Of 3 h 20 the break comes after 1 h 35, and 1 h 46 are left, which is longer than 1 h 36."""


def test_a_second_break_that_is_due_is_told() -> None:
    round_ = day_of(SHORT)
    (told,) = round_.itineraries[0].cautions
    assert told.startswith("After the break it is 1 h 46 without another, longer than 1.6 h")
    assert broken_promises(round_, SHORT, LEGS) == ()


@pytest.mark.parametrize(
    "cautions",
    [(), ("After the break it is 1 h 46 without another, longer than 1.6 h: rest.",), ("Take a second one.",)],
)
def test_a_second_break_that_is_not_told_or_in_other_words_is_named(cautions: tuple[str, ...]) -> None:
    wrong = with_change(day_of(SHORT), ("itineraries", 0, "cautions"), lambda _: cautions)
    assert names(broken_promises(wrong, SHORT, LEGS), "a second break that is due is told")
    twice = with_change(day_of(SHORT), ("itineraries", 0, "cautions"), lambda old: [*old, *old])
    assert names(broken_promises(twice, SHORT, LEGS), "a second break that is due is told")


def test_a_wait_as_long_as_a_break_is_one() -> None:
    """Of 2 h 10 after the break 25 min are a wait at lane's gate: no stretch is longer than 1 h 36, no second is due.

    Hill's gate closes early, so that leaving later would not save the wait.
    """
    gate = (Hours(opens=dt.time(11, 38, 46), closes=dt.time(17)),)
    early = (Hours(opens=dt.time(8), closes=dt.time(9, 50)),)
    farm = farm_with(farm_with(SHORT, "sites", "lane", hours=gate), "sites", "hill", hours=early)
    round_ = day_of(farm)
    lane = round_.itineraries[0].stops[2]
    assert (lane.start - lane.arrive).total_seconds() >= 1200
    assert round_.itineraries[0].cautions == ()
    assert broken_promises(round_, farm, LEGS) == ()
    needless = with_change(round_, ("itineraries", 0, "cautions"), lambda _: ("Take a second break.",))
    assert names(broken_promises(needless, farm, LEGS), "no second break is asked for where none is due")


def moved(farm: Farm, place: int, **change: Any) -> Round:
    """Return the day of one move with a break of 20 min: the crew leaves so much sooner, and rests where it is said."""
    plain = moving_farm(jobs=(MOVE,), crews=(CREW.model_copy(update={"break_minutes": 0}),))
    round_ = plan_days(build_instance(plain, legs_of(plain), (SUMMER,)))
    dump = thawed(round_.model_copy(update={"proof": Proof(optimal=False, text="")}).model_dump())
    (day,) = dump["itineraries"]
    for name in ("load_from", "leave"):
        day[name] -= REST
    day["stops"][0]["arrive"] -= REST
    day["away_seconds"] += 1200
    day["stops"][place] |= change
    assert farm.crews[0].break_minutes == 20
    return Round.model_validate(dump)


def test_with_hives_to_move_the_break_is_before_or_after_all_of_it() -> None:
    tired = moving_farm(jobs=(MOVE,), crews=(CREW.model_copy(update={"break_minutes": 20, "break_after_hours": 1.5}),))
    first, last = moved(tired, 0).itineraries[0].stops
    promise = "no break while hives are on their way"

    def broken(place: int, start: dt.datetime) -> tuple[str, ...]:
        return broken_promises(moved(tired, place, rest={"start": start, "seconds": 1200}), tired, legs_of(tired))

    assert not [line for line in broken(0, first.arrive) if "second break" not in line]
    assert names(broken(0, first.finish), promise)
    assert names(broken(1, last.start), promise)
    assert names(broken(1, last.finish), "no break comes after the last work")
