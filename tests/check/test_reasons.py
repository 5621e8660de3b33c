"""A reason for leaving out is believed only where it is true."""

from __future__ import annotations

import datetime as dt
from functools import partial

import numpy as np
import pytest

from routing.check import broken_promises
from routing.farm.models import Farm, LightNeed
from routing.round import Shortfall
from routing.travel.legs import Legs
from tests.check.damage import with_change
from tests.check.naive_round import naive_round
from tests.check.small_farm import FARM, LEFT, LEGS, ORDERS, WEDNESDAY, farm_with, figure, job

SOUTH = "ford", (8,)
"""The visit that is left out here for one reason or another."""

STAYS = {"anna": ORDERS["anna"], "ben": (("wood", (6, 7)),)}


def no_way_to(site_id: str) -> Legs:
    seconds = np.array(LEGS.seconds)
    seconds[:, LEGS.places.index(site_id)] = -1
    return Legs(LEGS.places, seconds, np.array(LEGS.metres), LEGS.origins)


def broken(farm: Farm, reason: str, legs: Legs = LEGS) -> tuple[str, ...]:
    round_ = naive_round(farm, legs, WEDNESDAY, STAYS, (*LEFT, (*SOUTH, reason)))
    return broken_promises(round_, farm, legs)


NIGHT = farm_with(
    farm_with(FARM, "job_kinds", "strips", light=LightNeed.AFTER_FLYING), "jobs", "jobs.csv:5", kind="guards"
)
"""Strips only after the bees stop flying, when both crews have long been home; lane gets guards instead."""

TRUE: dict[str, tuple[Farm, Legs]] = {
    "closed": (farm_with(FARM, "sites", "ford", closed_dates={WEDNESDAY}), LEGS),
    "no way from base": (FARM, no_way_to("ford")),
    "no vehicle": (farm_with(FARM, "sites", "ford", vehicle_needed="boat"), LEGS),
    "needs more people": (
        FARM.model_copy(
            update={
                "job_kinds": {
                    **FARM.job_kinds,
                    "pair": FARM.job_kinds["strips"].model_copy(update={"id": "pair", "people": 3}),
                },
                "jobs": tuple(job(8, "ford", "pair", 3) if one.id == "jobs.csv:8" else one for one in FARM.jobs),
            }
        ),
        LEGS,
    ),
    "no stock": (farm_with(FARM, "jobs", "jobs.csv:8", hives=40), LEGS),
    "too heavy": (
        farm_with(FARM, "jobs", "jobs.csv:8", hives=30, kind="supers"),
        LEGS,
    ),
    "too dark": (NIGHT, LEGS),
    "too far": (farm_with(FARM, "jobs", "jobs.csv:8", hives=400, kind="guards"), LEGS),
}


@pytest.mark.parametrize("reason", TRUE)
def test_a_true_reason_is_believed(reason: str) -> None:
    farm, legs = TRUE[reason]
    assert not [sentence for sentence in broken(farm, reason, legs) if "left out at ford" in sentence]


@pytest.mark.parametrize("reason", [*TRUE, "no crew that day"])
def test_a_reason_is_not_believed_of_a_visit_that_fits_alone(reason: str) -> None:
    said = (
        f"a certain reason ({reason}) is true by the quickest ways: expected no crew can, found crew anna can make it"
    )
    assert any(said in sentence for sentence in broken(FARM, reason))


@pytest.mark.parametrize("reason", [*TRUE, "no crew that day"])
def test_a_reason_that_plain_arithmetic_denies_is_not_believed(reason: str) -> None:
    """The visit is impossible, but for another reason than the one told."""
    truth = "closed" if reason == "no stock" else "no stock"
    farm, legs = TRUE[truth]
    denied = [one for one in broken(farm, reason, legs) if "the reason is true by plain arithmetic" in one]
    could_be = {"too dark", "too far"}
    """What only the simulation of the visit alone can tell."""
    assert bool(denied) == (reason not in could_be)


def test_no_room_is_not_said_of_a_visit_that_never_fits() -> None:
    farm, legs = TRUE["too heavy"]
    promise = "an uncertain reason (no room in the day) is given only of a job that some crew could do"
    assert any(promise in sentence for sentence in broken(farm, "no room in the day", legs))


def test_no_crew_is_true_where_all_are_off() -> None:
    farm = farm_with(farm_with(FARM, "crews", "anna", days_off_weekdays={2}), "crews", "ben", days_off_weekdays={2})
    left = [(site.id, [int(one.id[9:]) for one in farm.jobs if one.site == site.id]) for site in farm.sites]
    entries = tuple((*entry, "not due" if entry[0] == "fen" else "no crew that day") for entry in left)
    assert broken_promises(naive_round(farm, LEGS, WEDNESDAY, {}, entries), farm, LEGS) == ()


@pytest.mark.parametrize(("amount", "good"), [(7.5, True), (7.501, False), (7, False)])
def test_a_shortfall_of_stock_is_held_to_the_figure(amount: float, good: bool) -> None:  # noqa: FBT001  # a table's column
    """Hill and mill use 47.5 kg, moor 100 kg; of 140 kg 7.5 kg are missing."""
    farm = FARM.model_copy(update={"stock": {"fondant": 140}})
    shortfall = Shortfall(what="stock of Fondant", amount=amount, unit="kg").model_dump()
    round_ = naive_round(farm, LEGS, WEDNESDAY, ORDERS, LEFT)
    told = with_change(round_, ("left_out", 0, "insertion", "shortfalls"), lambda _: [shortfall])
    assert (broken_promises(told, farm, LEGS) == ()) is good


def test_an_insertion_into_no_day_of_the_round_is_named() -> None:
    round_ = naive_round(FARM, LEGS, WEDNESDAY, ORDERS, LEFT)
    told = with_change(round_, ("left_out", 0, "insertion", "after"), lambda _: "wood")
    assert any("the insertion follows a place" in sentence for sentence in broken_promises(told, FARM, LEGS))


def test_needs_more_people_counts_only_crews_that_get_there() -> None:
    """Ben's two could lift, but only Anna's van reaches the island: both halves are true, each in its way."""
    farm = farm_with(FARM, "sites", "wood", vehicle_needed="boat")
    farm = farm_with(farm, "vehicles", "van", reaches=frozenset({"boat"}))
    orders = {"anna": ORDERS["anna"], "ben": ORDERS["ben"][1:]}
    for reason in ("no vehicle", "needs more people"):
        left = (*LEFT, ("wood", (6,), reason), ("wood", (7,), "no room in the day"))
        round_ = naive_round(farm, LEGS, WEDNESDAY, orders, left)
        assert not [one for one in broken_promises(round_, farm, LEGS) if "jobs.csv:6" in one]


def test_light_that_never_comes_makes_no_window() -> None:
    """Midwinter north of the Arctic circle: no daylight, so hill's fondant is left out as too dark, truly."""
    sites = tuple(
        site.model_copy(update={"place": site.place.model_copy(update={"latitude": 70.0, "longitude": 20.0})})
        for site in FARM.sites
        if site.id == "hill"
    )
    jobs = tuple(one for one in FARM.jobs if one.site == "hill" and one.kind == "fondant")
    farm = FARM.model_copy(update={"sites": sites, "jobs": jobs, "time_zone": "Europe/Oslo"})
    legs = Legs(LEGS.places[:2], LEGS.seconds[:2, :2], LEGS.metres[:2, :2], tuple(row[:2] for row in LEGS.origins[:2]))
    date = dt.date(2025, 12, 20)
    assert broken_promises(naive_round(farm, legs, date, {}, (("hill", (2,), "too dark"),)), farm, legs) == ()


def test_a_visit_alone_is_tried_with_its_break() -> None:
    """Ford and back are 37 min of driving and 112 min for Ben: in time by 11:00, but not with a break of 70 min."""
    farm = farm_with(FARM, "job_kinds", "strips", minutes_a_hive=figure(63))
    farm = farm_with(farm, "crews", "anna", days_off_weekdays={2})
    tired = farm_with(farm, "crews", "ben", break_after_hours=1, break_minutes=70)
    round_ = naive_round(farm, LEGS, WEDNESDAY, {}, (("ford", (8,), "too far"),))
    assert any("true by the quickest ways" in one for one in broken_promises(round_, farm, LEGS))
    assert not any("true by the quickest ways" in one for one in broken_promises(round_, tired, LEGS))


def test_no_room_is_believed_of_jobs_that_fit_one_by_one_but_not_together() -> None:
    """Each takes Ben 112 min of his 165; the two in one visit would take 217."""
    farm = farm_with(FARM, "job_kinds", "strips", minutes_a_hive=figure(63))
    farm = farm_with(farm, "crews", "anna", days_off_weekdays={2})
    farm = farm.model_copy(update={"jobs": (*farm.jobs, job(12, "ford", "strips", 3))})
    round_ = naive_round(farm, LEGS, WEDNESDAY, {}, (("ford", (8, 12), "no room in the day"),))
    found = broken_promises(round_, farm, LEGS)
    assert not any("an uncertain reason" in sentence for sentence in found)
    assert len([sentence for sentence in found if "no round leaves out a visit that still fits" in sentence]) == 2


def by_way_of_wood() -> Legs:
    """Return drives on which ford is 3 h from base, and back, but only 20 min by way of wood."""
    seconds = np.array(LEGS.seconds)
    base, wood, ford = (LEGS.places.index(place) for place in ("base", "wood", "ford"))
    seconds[base, ford] = seconds[ford, base] = 3 * 3600
    seconds[base, wood] = seconds[wood, base] = seconds[wood, ford] = seconds[ford, wood] = 600
    return Legs(LEGS.places, seconds, np.array(LEGS.metres), LEGS.origins)


def ford_left(reason: str, text: str, farm: Farm = FARM) -> list[str]:
    """Return what is broken where Ben stays at home and ford is left out in these words, but that it still fits."""
    legs = by_way_of_wood()
    left = (*LEFT, ("wood", (6, 7), "no room in the day"), (*SOUTH, reason))
    round_ = with_change(
        naive_round(farm, legs, WEDNESDAY, {"anna": ORDERS["anna"]}, left), ("left_out", 4, "text"), lambda _: text
    )
    return [line for line in broken_promises(round_, farm, legs) if "left out at ford (" in line]


def test_a_certain_reason_must_hold_by_the_quickest_ways() -> None:
    """Straight there and back are 6 h, more than Ben or Anna have; by way of wood Ben is back in time."""
    for reason in ("too far", "no way from base"):
        assert any("is true by the quickest ways" in line for line in ford_left(reason, "In words."))
    assert ford_left("no room in the day", "In words.") == []


def test_what_is_said_to_fit_alone_must_fit_by_the_direct_drives() -> None:
    said = "would fit alone, but not beside the visits that are planned"
    (told,) = ford_left("no room in the day", said)
    assert "job jobs.csv:8: what is said to fit alone does" in told
    longer = farm_with(FARM, "crews", "ben", home_by=dt.time(18))
    assert not [line for line in ford_left("no room in the day", said, longer) if "said to fit alone" in line]


def test_what_fits_alone_but_for_the_break_must_fit_without_it() -> None:
    """6 h 12 away, home by 14:30: a break of an hour is too much, and so is the way alone with home by 14."""
    said = "would fit alone but for the break that so long a day needs, and not beside the visits that are planned"
    tired = farm_with(FARM, "crews", "ben", home_by=dt.time(14, 30), break_minutes=60, break_after_hours=3)
    plain = said.replace(" but for the break that so long a day needs, and", ", but")
    assert [line for line in ford_left("no room in the day", plain, tired) if "said to fit alone" in line]
    assert not [line for line in ford_left("no room in the day", said, tired) if "said to fit alone" in line]
    short = farm_with(tired, "crews", "ben", home_by=dt.time(14))
    assert [line for line in ford_left("no room in the day", said, short) if "said to fit alone" in line]


def told_of_moor(extra: int, what: str, unit: str) -> list[str]:
    round_ = naive_round(FARM, LEGS, WEDNESDAY, ORDERS, LEFT)
    facts = {"extra_seconds": extra, "shortfalls": [{"what": what, "amount": 1, "unit": unit}]}
    told = with_change(round_, ("left_out", 0, "insertion"), lambda old: {**old, **facts})
    return [line for line in broken_promises(told, FARM, LEGS) if "a visit more takes its time" in line]


def test_a_visit_more_takes_its_time() -> None:
    assert told_of_moor(0, "home by", "seconds")
    assert told_of_moor(-1, "home by", "seconds")
    assert told_of_moor(0, "payload", "kg")
    assert not told_of_moor(1, "home by", "seconds")


def test_a_visit_that_lacks_only_stock_may_lie_in_a_wait() -> None:
    assert not told_of_moor(0, "stock of Fondant", "kg")
    assert told_of_moor(-1, "stock of Fondant", "kg")


def test_an_insertion_is_missing_only_where_a_fault_of_that_site_is_told() -> None:
    round_ = with_change(naive_round(FARM, LEGS, WEDNESDAY, ORDERS, LEFT), ("left_out", 0, "insertion"), lambda _: None)
    for fault, good in (("A fault at Moor apiary.", True), ("A fault at Mill apiary.", False)):
        told = round_.model_copy(update={"faults": (fault,)})
        assert (broken_promises(told, FARM, LEGS) == ()) is good


def test_shortfalls_that_are_said_twice_or_not_at_all_are_named() -> None:
    farm = FARM.model_copy(update={"stock": {"fondant": 140}})
    short = {"what": "stock of Fondant", "amount": 7.5, "unit": "kg"}
    late = {"what": "home by", "amount": 1, "unit": "seconds"}
    round_ = naive_round(farm, LEGS, WEDNESDAY, ORDERS, LEFT)
    for falls, promise in (([short, short], "each shortfall once"), ([late], "all that the stock lacks is said")):
        facts = {"shortfalls": falls}
        told = with_change(round_, ("left_out", 0, "insertion"), partial(dict, **facts))
        assert any(promise in sentence for sentence in broken_promises(told, farm, LEGS))


REMEDIES = {
    "no amount": ("later home", 0),
    "endless": ("later home", float("inf")),
    "all the hives": ("fewer hives at once", 40),
}


@pytest.mark.parametrize(("kind", "amount"), REMEDIES.values(), ids=REMEDIES.keys())
def test_a_remedy_that_cannot_be_is_named(kind: str, amount: float) -> None:
    round_ = naive_round(FARM, LEGS, WEDNESDAY, ORDERS, LEFT)
    remedy = {"kind": kind, "amount": amount, "text": "In words."}
    told = with_change(round_, ("left_out", 0, "remedies"), lambda _: [remedy])
    assert any("the amount of a remedy" in sentence for sentence in broken_promises(told, FARM, LEGS))


def test_an_insertion_may_be_missing_where_there_is_no_place_for_it() -> None:
    """Ford is reached only by way of wood, which nobody visits: no day has a place for it."""
    seconds = np.array(LEGS.seconds)
    wood, ford = LEGS.places.index("wood"), LEGS.places.index("ford")
    others = [place for place in range(len(LEGS.places)) if place != wood]
    seconds[others, ford] = -1
    legs = Legs(LEGS.places, seconds, np.array(LEGS.metres), LEGS.origins)
    for orders, good in (({"anna": ORDERS["anna"]}, True), (STAYS, False)):
        rest = () if "ben" in orders else (("wood", (6, 7), "no room in the day"),)
        round_ = naive_round(FARM, legs, WEDNESDAY, orders, (*LEFT, *rest, (*SOUTH, "no room in the day")))
        told = with_change(round_, ("left_out", len(round_.left_out) - 1, "insertion"), lambda _: None)
        said = [line for line in broken_promises(told, FARM, legs) if "left out at ford (" in line]
        assert (said == []) is good
