"""A good round passes; damage it and the promise that was broken is named."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from routing.check import broken_promises, require_good
from routing.errors import CheckFailed
from routing.farm.models import Farm
from routing.round import Round
from routing.travel.leg_origin import LegOrigin
from routing.travel.legs import Legs
from tests.check.damage import Path, shifted, thawed, with_change, with_twice, without
from tests.check.naive_round import naive_round
from tests.check.small_farm import FARM, LEFT, LEGS, ORDERS, WEDNESDAY, farm_with, figure

SECOND = dt.timedelta(seconds=1)
STOPS = [(day, stop) for day, crew in enumerate(ORDERS) for stop in range(len(ORDERS[crew]))]


def names(broken: tuple[str, ...], promise: str) -> bool:
    return any(promise in sentence for sentence in broken)


def at(day: int, stop: int | None = None, *more: str | int) -> Path:
    return ("itineraries", day, *(() if stop is None else ("stops", stop)), *more)


def plus(amount: Any) -> Callable[[Any], Any]:
    return lambda value: value + amount


def put(value: Any) -> Callable[[Any], Any]:
    return lambda _: value


def test_a_good_round_keeps_every_promise(good: Round) -> None:
    assert broken_promises(good, FARM, LEGS) == ()
    require_good(good, FARM, LEGS)


def test_a_good_round_is_good_after_its_journey_through_json(good: Round) -> None:
    assert broken_promises(Round.model_validate_json(good.model_dump_json()), FARM, LEGS) == ()


def test_a_broken_round_is_refused_with_every_broken_promise(good: Round) -> None:
    damaged = with_change(good, at(0, 1, "arrive"), plus(SECOND))
    with pytest.raises(CheckFailed) as caught:
        require_good(damaged, FARM, LEGS)
    assert caught.value.broken == broken_promises(damaged, FARM, LEGS)


def test_the_sentence_names_crew_stop_promise_expected_and_found(good: Round) -> None:
    """Hill is left at 9:48:12; to mill it is 600 + 97 + 5 = 702 s, so 9:59:54."""
    assert broken_promises(with_change(good, at(0, 1, "arrive"), plus(SECOND)), FARM, LEGS)[0] == (
        "crew anna on 2025-12-03, stop 2 at mill: arrival is the leaving before plus the drive: "
        "expected 2025-12-03 09:59:54, found 2025-12-03 09:59:55"
    )


STOP_TIMES = {
    "arrive": "arrival is the leaving before plus the drive",
    "start": "work starts on arrival, after a break before it, or when the window opens",
    "finish": "finish is the start plus the work",
    "window_opens": "the window is the site's working light and hours",
    "window_closes": "the window is the site's working light and hours",
}


@pytest.mark.parametrize("step", [SECOND, -SECOND])
@pytest.mark.parametrize(("day", "stop"), STOPS)
@pytest.mark.parametrize("field", STOP_TIMES)
def test_a_stop_s_time_is_exact_to_the_second(good: Round, day: int, stop: int, field: str, step: dt.timedelta) -> None:
    damaged = with_change(good, at(day, stop, field), plus(step))
    assert names(broken_promises(damaged, FARM, LEGS), STOP_TIMES[field])


@pytest.mark.parametrize("step", [SECOND, -SECOND])
@pytest.mark.parametrize("day", [0, 1])
@pytest.mark.parametrize(
    ("field", "promise"),
    [
        ("load_from", "leaving follows the loading"),
        ("leave", "leaving follows the loading"),
        ("home", "home is the last finish plus the drive"),
        ("home_by", "home_by is the crew's"),
    ],
)
def test_a_day_s_time_is_exact_to_the_second(
    good: Round, day: int, field: str, promise: str, step: dt.timedelta
) -> None:
    assert names(broken_promises(with_change(good, at(day, None, field), plus(step)), FARM, LEGS), promise)


BEN_FORD = at(1, 1)
ANNA_HILL = at(0, 0)
ANNA_MILL = at(0, 1)
REST = {"start": dt.datetime(2025, 12, 3, 9, tzinfo=dt.UTC), "seconds": 1200}
DAMAGE: dict[str, tuple[Path, Callable[[Any], Any], str]] = {
    "light left": ((*ANNA_HILL, "light_left_seconds"), plus(-1), "light left is close less finish"),
    "on site": ((*ANNA_HILL, "on_site_seconds"), plus(1), "on_site_seconds are walk, set-up and work"),
    "work": ((*ANNA_HILL, "jobs", 0, "work_seconds"), plus(1), "work_seconds of the job are right"),
    "hives": ((*ANNA_HILL, "jobs", 0, "hives"), plus(-1), "the hives of the job are right"),
    "cautions": ((*ANNA_HILL, "jobs", 0, "cautions"), put(()), "the cautions of the job are right"),
    "overdue": ((*ANNA_HILL, "jobs", 0, "days_overdue"), plus(-1), "days overdue are right"),
    "overdue left out": (("left_out", 0, "jobs", 0, "days_overdue"), plus(1), "days overdue are right"),
    "notes": ((*ANNA_HILL, "notes"), put(""), "the site's notes are right"),
    "moved site": ((*ANNA_HILL, "latitude"), plus(1e-6), "the site's latitude is right"),
    "number": ((*BEN_FORD, "number"), plus(1), "stops are numbered in order"),
    "origin": ((*BEN_FORD, "drive", "origin"), put(LegOrigin.ROAD), "drive origin from wood is the leg's"),
    "metre": ((*BEN_FORD, "drive", "metres"), plus(1), "drive metres from wood are the leg's"),
    "second": ((*BEN_FORD, "drive", "seconds"), plus(1), "drive seconds from wood are the leg's"),
    "home drive": (at(1, None, "drive_home", "metres"), plus(-1), "drive metres from ford are the leg's"),
    "gram": ((*ANNA_HILL, "load_kg"), plus(0.001), "load_kg is what is on board on leaving"),
    "millilitre": ((*ANNA_HILL, "load_litres"), plus(-0.001), "load_litres is what is on board on leaving"),
    "half a gram": ((*ANNA_HILL, "load_kg"), plus(0.0004), "load_kg is what is on board on leaving"),
    "no number": ((*ANNA_HILL, "load_kg"), put(float("nan")), "load_kg is what is on board on leaving"),
    "fullest kg": (at(0, None, "load", "fullest_kg"), plus(-0.001), "fullest_kg is the largest load"),
    "fullest litres": (at(1, None, "load", "fullest_litres"), plus(0.001), "fullest_litres is the largest load"),
    "fullest at": (at(1, None, "load", "fullest_kg_at"), put("base"), "fullest_kg_at is where the load is largest"),
    "packs": (at(0, None, "load", "out", 0, "packs"), plus(-1), "packs are whole and enough"),
    "pack": (at(0, None, "load", "out", 0, "pack"), put("box of 10 kg"), "the pack is told as it is sold"),
    "out kg": (at(0, None, "load", "out", 0, "kg"), plus(0.001), "kg are as loaded"),
    "back litres": (at(1, None, "load", "back", 0, "litres"), plus(0.001), "litres are as loaded"),
    "back packs": (at(1, None, "load", "back", 0, "packs"), put(5), "what comes back is not in packs"),
    "away": (at(0, None, "away_seconds"), plus(1), "away_seconds is home less leave"),
    "driving": (at(0, None, "drive_seconds"), plus(-1), "drive_seconds is the sum of the drives"),
    "distance": (at(0, None, "distance_metres"), plus(1), "distance_metres is the sum of the drives"),
    "people": (at(0, None, "people"), put(2), "the people of the crew are right"),
    "vehicle": (at(0, None, "vehicle"), put("truck"), "the vehicle is the crew's"),
    "other crew": (at(0, None, "crew"), put("ben"), "a crew has one itinerary a date"),
    "no such crew": (at(0, None, "crew"), put("carl"), "every crew is the farm's"),
    "wrong day": (at(0, None, "date"), plus(dt.timedelta(days=1)), "the date is one of the round's"),
    "dates": (("dates",), put((WEDNESDAY, WEDNESDAY)), "dates are in order, each once"),
    "no break": ((*ANNA_MILL, "rest"), put(None), "one break where the day is longer than 3 h"),
    "two breaks": ((*ANNA_HILL, "rest"), put(REST), "one break where the day is longer than 3 h"),
    "needless break": ((*BEN_FORD, "rest"), put(REST), "one break where the day is longer than 6 h"),
    "short break": ((*ANNA_MILL, "rest", "seconds"), plus(-1), "the break is as long as the crew's"),
    "late break": ((*ANNA_MILL, "rest", "start"), plus(SECOND), "the break lies right before the stop's work or right"),
    "early break": (
        (*ANNA_MILL, "rest", "start"),
        plus(-SECOND),
        "the break lies right before the stop's work or right",
    ),
    "break at work": (
        (*ANNA_MILL, "rest", "start"),
        plus(-1200 * SECOND),
        "the break lies right before the stop's work",
    ),
    "break before no work": (
        (*ANNA_MILL, "rest", "start"),
        plus(-42 * 60 * SECOND),
        "work starts on arrival, after a break before it",
    ),
    "needless second break": (
        at(0, None, "cautions"),
        put(("Take a second break.",)),
        "no second break is asked for where none is due",
    ),
    "call late": (at(0, None, "call_ins", 0, "by"), plus(3600 * SECOND), "calls are never further apart than the rule"),
    "call uneven": (at(0, None, "call_ins", 0, "by"), plus(SECOND), "calls between are spread evenly"),
    "call elsewhere": (
        at(0, None, "call_ins", 0, "where"),
        put("Lane apiary"),
        "the call-in says where the crew is",
    ),
    "call in company": (
        at(1, None, "call_ins"),
        put([{"by": dt.datetime(2025, 12, 3, 9, tzinfo=dt.UTC), "where": "Wood apiary"}]),
        "only a lone worker has call-ins",
    ),
    "invented job": ((*ANNA_HILL, "jobs", 0, "id"), put("jobs.csv:99"), "no job is invented"),
    "no jobs": ((*ANNA_HILL, "jobs"), put(()), "every visit has a job"),
    "no stops": (at(1, None, "stops"), put(()), "an itinerary has at least one stop"),
    "other site": ((*ANNA_HILL, "site"), put("moor"), "the job belongs to the site"),
    "other zone": (
        at(0, None, "leave"),
        lambda leave: leave.astimezone(dt.timezone(dt.timedelta(hours=1))),
        "leave stands in the farm's time zone",
    ),
    "part second": ((*ANNA_HILL, "start"), plus(SECOND / 2), "start is a whole second"),
    "not due": (("left_out", 1, "reason"), put("too far"), "not due is said of jobs that are not"),
    "due": (("left_out", 2, "reason"), put("not due"), "not due is said of jobs that are not"),
    "no insertion": (("left_out", 0, "insertion"), put(None), "an insertion is given exactly where"),
    "no estimates": (("estimates",), put(()), "a round on estimated drives says so"),
    "version": (("schema_version",), plus(1), "the schema version is the one of today"),
}


@pytest.mark.parametrize(("path", "change", "promise"), DAMAGE.values(), ids=DAMAGE.keys())
def test_damage_is_named(good: Round, path: Path, change: Callable[[Any], Any], promise: str) -> None:
    assert names(broken_promises(with_change(good, path, change), FARM, LEGS), promise)


@pytest.mark.parametrize("call", range(5))
def test_a_call_in_that_is_missing_is_named(good: Round, call: int) -> None:
    promise = (
        "calls are never further apart than the rule",
        "a lone worker calls on finishing the last stop",
        "a lone worker calls on coming home",
    )[max(0, call - 2)]
    assert names(broken_promises(without(good, at(0, None, "call_ins"), call), FARM, LEGS), promise)


ONCE = "every job is planned once or left out once"


def test_a_dropped_stop_is_named(good: Round) -> None:
    assert names(broken_promises(without(good, at(0, None, "stops"), 1), FARM, LEGS), ONCE)


def test_a_stop_that_is_there_twice_is_named(good: Round) -> None:
    broken = broken_promises(with_twice(good, at(0, None, "stops"), 1), FARM, LEGS)
    assert names(broken, ONCE)
    assert names(broken, "no site is visited twice for the same jobs")


def test_a_job_that_is_there_twice_is_named(good: Round) -> None:
    assert names(broken_promises(with_twice(good, (*ANNA_HILL, "jobs"), 1), FARM, LEGS), ONCE)


def test_a_job_both_planned_and_left_out_is_named(good: Round) -> None:
    planned = good.itineraries[0].stops[0].jobs[1].model_copy(update={"work_seconds": 0})
    damaged = with_change(good, ("left_out", 0, "jobs"), lambda jobs: [*jobs, planned.model_dump()])
    assert names(broken_promises(damaged, FARM, LEGS), ONCE)


def test_a_dropped_entry_of_what_is_left_out_is_named(good: Round) -> None:
    assert names(broken_promises(without(good, ("left_out",), 2), FARM, LEGS), ONCE)


def test_swapped_stops_are_named(good: Round) -> None:
    def swap(stops: list[dict[str, Any]]) -> list[dict[str, Any]]:
        return [{**stops[1], "number": 1}, {**stops[0], "number": 2}, stops[2]]

    broken = broken_promises(with_change(good, at(0, None, "stops"), swap), FARM, LEGS)
    assert names(broken, "drive seconds from mill are the leg's")
    assert names(broken, "arrival is the leaving before plus the drive")


def test_leaving_base_a_minute_early_is_named(good: Round) -> None:
    """Anna would only wait a minute longer at hill, where the light comes at 8:25:05."""
    dump = thawed(good.model_dump())
    for name in ("load_from", "leave"):
        dump["itineraries"][0][name] -= 60 * SECOND
    dump["itineraries"][0]["stops"][0]["arrive"] -= 60 * SECOND
    dump["itineraries"][0]["away_seconds"] += 60
    dump["even"], dump["proof"]["optimal"] = None, False
    for call, sooner in zip(dump["itineraries"][0]["call_ins"][:3], (45, 30, 15), strict=True):  # a quarter less each
        call["by"] -= sooner * SECOND
    broken = broken_promises(Round.model_validate(dump), FARM, LEGS)
    assert len(broken) == 1
    assert names(broken, "base is left as late as costs nothing")


def test_a_whole_day_a_minute_late_is_named(good: Round) -> None:
    for day in (0, 1):
        broken = broken_promises(shifted(good, day, 60), FARM, LEGS)
        assert names(broken, "home is that of the least time away that this order allows")


def test_a_whole_day_a_minute_early_is_named(good: Round) -> None:
    early = broken_promises(shifted(good, 0, -60), FARM, LEGS)
    assert names(early, "no work starts before the window opens")
    assert names(broken_promises(shifted(good, 1, -60), FARM, LEGS), "loading never begins before the earliest start")


def rebuilt(farm: Farm, legs: Legs = LEGS) -> Round:
    return naive_round(farm, legs, WEDNESDAY, ORDERS, LEFT)


def item(farm: Farm, group: str, id_: str, **change: object) -> Farm:
    return farm_with(farm, group, id_, **change)


BEFORE: dict[str, tuple[Farm, str]] = {
    "payload out": (item(FARM, "vehicles", "van", payload_kg=51.64), "the payload is never passed"),
    "payload back": (item(FARM, "vehicles", "truck", payload_kg=73.709), "the payload is never passed"),
    "space": (item(FARM, "vehicles", "truck", space_litres=216.029), "the space is never passed"),
    "stock": (FARM.model_copy(update={"stock": {"guard": 15.9}}), "the stock of guard serves all crews"),
    "day off": (item(FARM, "crews", "ben", days_off_dates={WEDNESDAY}), "no crew goes out on a day off"),
    "vehicle": (item(FARM, "sites", "hill", vehicle_needed="4x4"), "the vehicle reaches the site"),
    "people": (item(FARM, "job_kinds", "guards", people=2), "the crew has the people that the job needs"),
    "too soon": (
        item(FARM, "jobs", "jobs.csv:4", not_before=WEDNESDAY + dt.timedelta(days=1)),
        "no job is done before it may be",
    ),
    "suspect first": (item(FARM, "sites", "hill", last_of_day=True), "no other site follows a last-of-day site"),
}


@pytest.mark.parametrize(("farm", "promise"), BEFORE.values(), ids=BEFORE.keys())
def test_a_round_planned_against_a_rule_of_the_farm_is_named(farm: Farm, promise: str) -> None:
    assert names(broken_promises(rebuilt(farm), farm, LEGS), promise)


RULES: dict[str, tuple[Farm, str]] = {
    "longer break rule": (item(FARM, "crews", "anna", break_after_hours=4), "one break where the day"),
    "home too late": (item(FARM, "crews", "anna", home_by=dt.time(11, 54, 2)), "the crew is home in time"),
    "slower work": (item(FARM, "job_kinds", "strips", minutes_a_hive=figure(3.01)), "finish is the start plus"),
    "closed": (
        item(FARM, "sites", "hill", closed_dates={WEDNESDAY}),
        "the window is the site's working light and hours",
    ),
    "light margin": (
        FARM.model_copy(update={"rules": FARM.rules.model_copy(update={"light_margin_minutes": figure(31)})}),
        "the window is the site's working light and hours",
    ),
}


@pytest.mark.parametrize(("farm", "promise"), RULES.values(), ids=RULES.keys())
def test_a_round_of_another_rule_is_named(good: Round, farm: Farm, promise: str) -> None:
    assert names(broken_promises(good, farm, LEGS), promise)


def test_a_drive_where_there_is_no_way_is_named(good: Round) -> None:
    seconds = np.array(LEGS.seconds)
    seconds[0, 1] = -1
    broken = broken_promises(good, FARM, Legs(LEGS.places, seconds, np.array(LEGS.metres), LEGS.origins))
    assert names(broken, "there is a way for every drive: expected a way from base to hill")


@pytest.mark.parametrize(
    ("id_", "limits"), [("van", {"payload_kg": 51.641, "space_litres": 44.063}), ("truck", {"payload_kg": 73.71})]
)
def test_a_vehicle_may_be_loaded_to_the_gram(id_: str, limits: dict[str, float]) -> None:
    """Fondant 4 boxes 50 kg + 11 guards 1.221 kg + 2 packets of strips 0.42 kg = 51.641 kg."""
    farm = item(FARM, "vehicles", id_, **limits)
    assert broken_promises(rebuilt(farm), farm, LEGS) == ()


def test_part_of_a_pack_goes_out_where_the_stock_is_short_of_a_whole_one() -> None:
    """47.5 kg are used; four boxes would be 50 kg, but only 48 kg are there."""
    farm = FARM.model_copy(update={"stock": {"fondant": 48}})
    left = (("moor", (9,), "no stock"), *LEFT[1:])
    round_ = naive_round(farm, LEGS, WEDNESDAY, ORDERS, left)
    assert round_.itineraries[0].load.out[0].kg == 48
    assert broken_promises(round_, farm, LEGS) == ()
