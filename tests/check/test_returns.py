"""A day with two loads is held from end to end: damage it, or the farm under it, and the promise is named."""

from __future__ import annotations

import datetime as dt
from functools import cache

import pytest

from routing.check import broken_promises
from routing.farm.models import Farm, Hours
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.round import LoadList, Round
from tests.check.damage import (
    Path,
    fields_met,
    leaves,
    lists,
    nudged,
    pattern,
    thawed,
    with_change,
    with_twice,
    without,
)
from tests.check.test_every_leaf import NOT_JUDGED
from tests.returning_farm import CREW, JOBS, SITES, SUMMER, VAN, legs_of, returning_farm

STOPS = ("itineraries", 0, "stops")


@cache
def good() -> Round:
    """Return the round of the farm: Fern takes supers home in two loads."""
    return plan_days(build_instance(returning_farm(), legs_of(returning_farm()), (SUMMER,)))


def place_at_base() -> int:
    """Return the index of the stop at base."""
    (place,) = [index for index, stop in enumerate(good().itineraries[0].stops) if stop.load_again is not None]
    return place


AT = place_at_base()


def broken(round_: Round, farm: Farm | None = None) -> tuple[str, ...]:
    return broken_promises(round_, farm or returning_farm(), legs_of(farm or returning_farm()))


def names(sentences: tuple[str, ...], promise: str) -> bool:
    return any(promise in sentence for sentence in sentences)


def with_stops(order: list[int]) -> Round:
    """Return the round with these stops, numbered anew and nothing else put right."""
    dump = thawed(good().model_dump())
    was = dump["itineraries"][0]["stops"]
    dump["itineraries"][0]["stops"] = [{**was[place], "number": number} for number, place in enumerate(order, 1)]
    return Round.model_validate(dump)


def test_a_day_with_two_loads_keeps_every_promise() -> None:
    assert broken(good()) == ()
    assert good().all_done
    assert len(good().itineraries[0].loads) == 2
    assert 0 < AT < len(good().itineraries[0].stops) - 1


def test_leaving_base_oftener_than_the_crew_may_is_named() -> None:
    once = returning_farm(crews=(CREW.model_copy(update={"trips_a_day": 1}),))
    assert names(broken(good(), once), "the crew leaves base no oftener than it may")


def test_coming_back_though_one_load_is_enough_is_named() -> None:
    larger = returning_farm(vehicles={"van": VAN.model_copy(update={"payload_kg": 2000})})
    assert names(broken(good(), larger), "base is come back to only where one load is not enough")


def test_a_smaller_vehicle_is_overloaded_on_the_second_trip_too() -> None:
    heaviest = good().itineraries[0].loads[1].fullest_kg
    smaller = returning_farm(vehicles={"van": VAN.model_copy(update={"payload_kg": heaviest - 1})})
    assert names(broken(good(), smaller), "the payload is never passed")


def test_a_day_without_its_return_is_overloaded() -> None:
    count = len(good().itineraries[0].stops)
    assert names(broken(with_stops([place for place in range(count) if place != AT])), "the payload is never passed")


@pytest.mark.parametrize("where", ["first", "last", "twice"])
def test_a_loading_without_a_visit_to_follow_is_named(where: str) -> None:
    others = [place for place in range(len(good().itineraries[0].stops)) if place != AT]
    order = {
        "first": [AT, *others],
        "last": [*others, AT],
        "twice": [*range(AT + 1), AT, *range(AT + 1, len(others) + 1)],
    }
    promise = "between two loadings, and after the last, there is a visit"
    assert names(broken(with_stops(order[where])), promise)
    stop = {"first": "stop 1 at base", "last": "crew fern on 2026-07-21", "twice": f"stop {AT + 2} at base"}[where]
    assert names(broken(with_stops(order[where])), f"{stop}: {promise}")


def test_a_load_list_is_named_with_its_trip() -> None:
    for path, where in (
        (("itineraries", 0, "load", "fullest_kg"), "load list"),
        ((*STOPS, AT, "load_again", "fullest_kg"), "load list of trip 2"),
    ):
        wrong = with_change(good(), path, lambda kg: kg + 1)
        assert names(broken(wrong), f"{where}: fullest_kg is the largest load")


def test_coming_back_from_a_suspect_site_is_named() -> None:
    before = good().itineraries[0].stops[AT - 1].site
    sites = tuple(site.model_copy(update={"last_of_day": site.id == before}) for site in SITES)
    marked = with_change(good(), (*STOPS, AT - 1, "last_of_day"), lambda _: True)
    assert names(broken(marked, returning_farm(sites=sites)), "nothing is carried on from a last-of-day site")


def test_a_stop_at_base_without_a_load_and_a_load_without_base_are_named() -> None:
    empty = with_change(good(), (*STOPS, AT, "load_again"), lambda _: None)
    assert names(broken(empty), "every site is the farm's")
    load = good().itineraries[0].load.model_dump()
    elsewhere = with_change(good(), (*STOPS, AT - 1, "load_again"), lambda _: load)
    assert names(broken(elsewhere), "loading again is at base, with no job")


def test_work_that_fits_the_second_trip_is_not_left_out() -> None:
    """The syrup is taken out of the round and called left out: the check finds the stop where it still fits."""
    farm = returning_farm(jobs=JOBS[:3])
    less = plan_days(build_instance(farm, legs_of(farm), (SUMMER,)))
    syrup = next(job for stop in good().itineraries[0].stops for job in stop.jobs if job.kind == "syrup")
    site = next(site for site in SITES if site.id == "dene")
    left = {
        "site": site.id,
        "name": site.name,
        "latitude": site.place.latitude,
        "longitude": site.place.longitude,
        "jobs": (syrup.model_copy(update={"work_seconds": 0}).model_dump(),),
        "reason": "no room in the day",
        "text": "It is said not to fit.",
        "insertion": {
            "crew": "fern",
            "date": SUMMER,
            "after": "base",
            "extra_seconds": 60,
            "shortfalls": ({"what": "payload", "amount": 1.0, "unit": "kg"},),
        },
    }
    wrong = Round.model_validate({**thawed(less.model_dump()), "left_out": (left,)})
    (told,) = broken(wrong)
    assert "no round leaves out a visit that still fits" in told


def test_the_break_is_taken_at_base_where_no_site_is_open_for_so_long() -> None:
    """An hour's rest fits neither before Dene nor Copse shuts; at base it is nearer to midday than at Brook."""
    crew = CREW.model_copy(update={"break_after_hours": 4, "break_minutes": 60})
    spans = {"dene": (8, 10), "copse": (10, 11), "brook": (11, 14)}
    sites = tuple(
        site.model_copy(update={"hours": (Hours(opens=dt.time(opens), closes=dt.time(closes)),)})
        for site in SITES
        for opens, closes in (spans[site.id],)
    )
    farm = returning_farm(crews=(crew,), sites=sites)
    round_ = plan_days(build_instance(farm, legs_of(farm), (SUMMER,)))
    assert broken(round_, farm) == ()
    (host,) = [stop for stop in round_.itineraries[0].stops if stop.rest is not None]
    assert host.load_again is not None
    at = (*STOPS, host.number - 1, "rest", "seconds")
    assert names(broken(with_change(round_, at, lambda seconds: seconds - 60), farm), "as long as the crew's")


LEAVES = [path for path, _ in leaves(good().model_dump()) if path[:3] == STOPS and path[3] == AT]
LISTS = [
    (path, number)
    for path, length in lists(good().model_dump())
    if path[:4] == (*STOPS, AT)
    for number in range(length)
]


@pytest.mark.parametrize(
    "path", [path for path in LEAVES if pattern(path) not in NOT_JUDGED], ids=lambda path: ".".join(map(str, path[4:]))
)
def test_a_changed_leaf_of_the_stop_at_base_is_caught(path: Path) -> None:
    assert broken(with_change(good(), path, nudged(path)))


@pytest.mark.parametrize(("path", "index"), LISTS, ids=str)
def test_a_dropped_or_doubled_item_of_the_second_load_is_caught(path: Path, index: int) -> None:
    assert broken(without(good(), path, index))
    assert broken(with_twice(good(), path, index))


def test_the_walk_over_the_leaves_meets_every_field_of_a_second_load() -> None:
    load = good().itineraries[0].stops[AT].load_again
    assert load is not None
    assert {field for part, field in fields_met(load) if part is LoadList} == set(LoadList.model_fields)
