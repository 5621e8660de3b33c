"""A move of hives is held from end to end: damage either end, or the farm under it, and the promise is named."""

from __future__ import annotations

import datetime as dt
from functools import cache

import pytest

from routing.check import broken_promises
from routing.farm.models import Farm
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.round import Round
from tests.check.damage import Path, fields_met, leaves, nudged, pattern, shifted, thawed, with_change, without
from tests.check.test_every_leaf import NOT_JUDGED
from tests.moving_farm import CREW, HEFT, HOLLOW, MILL, MOVE, RIDGE, SUMMER, VAN, legs_of, moving_farm

STRAIGHT = "hives go straight to where they are set down"
ONLY = "only hives loaded at the stop before are set down"


@cache
def farm() -> Farm:
    """Return a farm with a day visit, a move, and a second crew with a visit of its own."""
    elm = CREW.model_copy(update={"id": "elm", "name": "Elm", "vehicle": "truck", "home_by": dt.time(20), "people": 1})
    jobs = (MOVE, HEFT, HEFT.model_copy(update={"id": "jobs.csv:4", "site": "hollow", "hives": 2}))
    vehicles = {"van": VAN, "truck": VAN.model_copy(update={"id": "truck", "reaches": frozenset({"4x4"})})}
    sites = (RIDGE, HOLLOW, MILL.model_copy(update={"vehicle_needed": "4x4"}))
    return moving_farm(jobs=jobs, crews=(CREW, elm), vehicles=vehicles, sites=sites)


@cache
def moving() -> Round:
    """Return its round: Ash moves hives last, after a stop or two."""
    return plan_days(build_instance(farm(), legs_of(farm()), (SUMMER,)))


def ends() -> tuple[int, int]:
    """Return the crew's day with the move, and the number of stops before it."""
    for day, itinerary in enumerate(moving().itineraries):
        for place, stop in enumerate(itinerary.stops):
            if stop.set_down is not None:
                return day, place - 1
    raise AssertionError("nothing is moved")


DAY, LOAD = ends()


def broken(round_: Round, of: Farm | None = None) -> tuple[str, ...]:
    return broken_promises(round_, of or farm(), legs_of(of or farm()))


def names(sentences: tuple[str, ...], promise: str) -> bool:
    return any(promise in sentence for sentence in sentences)


def with_stops(order: list[int], day: int = DAY) -> Round:
    """Return the round with these stops of a day, numbered anew and nothing else put right."""
    dump = thawed(moving().model_dump())
    was = dump["itineraries"][day]["stops"]
    dump["itineraries"][day]["stops"] = [{**was[place], "number": number} for number, place in enumerate(order, 1)]
    return Round.model_validate(dump)


def test_the_round_with_a_move_keeps_every_promise() -> None:
    assert broken(moving()) == ()
    assert moving().all_done
    assert LOAD >= 1


def test_ends_that_are_swapped_are_named() -> None:
    order = [*range(LOAD), LOAD + 1, LOAD]
    assert names(broken(with_stops(order)), ONLY)
    assert names(broken(with_stops(order)), STRAIGHT)


def test_another_stop_in_between_is_named() -> None:
    order = [LOAD, *range(LOAD), LOAD + 1]
    assert names(broken(with_stops(order)), STRAIGHT)
    assert names(broken(with_stops(order)), ONLY)


def test_a_dropped_end_is_named() -> None:
    assert names(broken(with_stops([*range(LOAD), LOAD])), STRAIGHT)
    assert names(broken(with_stops([*range(LOAD), LOAD + 1])), ONLY)


def test_hives_set_down_by_another_crew_are_named() -> None:
    """The second end in the other vehicle's day: neither crew's day holds together."""
    dump = thawed(moving().model_dump())
    other = 1 - DAY
    assert len(dump["itineraries"]) == 2
    dump["itineraries"][other]["stops"].append(dump["itineraries"][DAY]["stops"].pop())
    found = broken(Round.model_validate(dump))
    assert names(found, STRAIGHT)
    assert names(found, ONLY)


def test_hives_set_down_elsewhere_or_twice_are_named() -> None:
    elsewhere = with_change(moving(), ("itineraries", DAY, "stops", LOAD + 1, "site"), lambda _: "mill")
    assert names(broken(elsewhere), STRAIGHT)
    assert names(broken(with_stops([*range(LOAD + 2), LOAD + 1])), ONLY)


def test_other_work_in_the_visit_of_a_move_is_named() -> None:
    dump = thawed(moving().model_dump())
    job = next(stop["jobs"][0] for stop in dump["itineraries"][1 - DAY]["stops"])
    dump["itineraries"][DAY]["stops"][LOAD]["jobs"].append(job)
    assert names(broken(Round.model_validate(dump)), "hives are moved in a visit of their own")


def test_a_second_before_flying_stops_is_too_soon() -> None:
    assert names(broken(shifted(moving(), DAY, -1)), "no work starts before the window opens")


def test_a_move_that_is_counted_at_both_ends_is_named() -> None:
    dump = thawed(moving().model_dump())
    first, second = dump["itineraries"][DAY]["stops"][LOAD : LOAD + 2]
    second["jobs"] = first["jobs"]
    assert broken(Round.model_validate(dump))


def test_payload_on_the_drive_between_is_exact() -> None:
    fullest = moving().itineraries[DAY].load.fullest_kg
    for payload, over in ((fullest, False), (fullest - 0.001, True)):
        vehicles = {**farm().vehicles, "van": VAN.model_copy(update={"payload_kg": payload})}
        sentences = broken(moving(), farm().model_copy(update={"vehicles": vehicles}))
        assert names(sentences, "leaving ridge: the payload is never passed") is over


@pytest.mark.parametrize("end", ["ridge", "hollow"])
def test_a_suspect_site_sends_and_takes_no_hives(end: str) -> None:
    sites = tuple(site.model_copy(update={"last_of_day": site.id == end}) for site in farm().sites)
    assert names(broken(moving(), farm().model_copy(update={"sites": sites})), "no hives leave or join a suspect site")


def test_a_gate_that_shuts_at_either_end_is_named() -> None:
    for end in ("ridge", "hollow"):
        sites = tuple(
            site.model_copy(update={"closed_dates": frozenset({SUMMER} if site.id == end else ())})
            for site in farm().sites
        )
        found = broken(moving(), farm().model_copy(update={"sites": sites}))
        assert names(found, "the window is the site's working light and hours")


def test_a_vehicle_that_does_not_reach_the_other_end_is_named() -> None:
    sites = (RIDGE, HOLLOW.model_copy(update={"vehicle_needed": "4x4"}), MILL)
    assert names(
        broken(moving(), farm().model_copy(update={"sites": sites})), "at hollow: the vehicle reaches the site"
    )


def test_a_break_with_hives_on_their_way_is_named() -> None:
    """A crew that must rest does so before it loads the hives: not while loading, and not before they are set down."""
    rules = {"break_after_hours": 2}
    tired = moving_farm(jobs=(MOVE,), crews=(CREW.model_copy(update=rules),))
    good = plan_days(build_instance(tired, legs_of(tired), (SUMMER,)))
    assert broken(good, tired) == ()
    load = good.itineraries[0].stops[0]
    assert load.rest is not None
    at: Path = ("itineraries", 0, "stops", 0, "rest", "start")
    late = with_change(good, at, lambda start: start + dt.timedelta(seconds=1))
    assert names(broken(late, tired), "the break lies right before the stop's work or right after it")
    between = with_change(good, at, lambda _: load.finish)
    assert names(broken(between, tired), "no break while hives are on their way")


def test_the_caution_on_the_distance_is_there_exactly_where_it_belongs() -> None:
    promise = "a caution on the distance is given where foragers fly back"
    near = moving_farm(jobs=(MOVE.model_copy(update={"to": "mill"}),))
    good = plan_days(build_instance(near, legs_of(near), (SUMMER,)))
    at: Path = ("itineraries", 0, "stops", 0, "jobs", 0, "cautions")
    count = len(good.itineraries[0].stops[0].jobs[0].cautions)
    assert broken(good, near) == ()
    assert names(broken(without(good, at, count - 1), near), promise)
    vague = with_change(good, at, lambda cautions: [*cautions[:-1], "Distance: mind it."])
    assert names(broken(vague, near), promise)
    at = ("itineraries", DAY, "stops", LOAD, "jobs", 0, "cautions")
    more = with_change(moving(), at, lambda cautions: [*cautions, "Distance: Ridge to Hollow Lane is near."])
    assert names(broken(more), promise)


ENDS = [
    path
    for path, _ in leaves(moving().model_dump())
    if path[:3] == ("itineraries", DAY, "stops") and path[3] in {LOAD, LOAD + 1} and pattern(path) not in NOT_JUDGED
]


@pytest.mark.parametrize("path", ENDS, ids=lambda path: ".".join(map(str, path[3:])))
def test_a_changed_leaf_of_either_end_is_caught(path: Path) -> None:
    assert broken(with_change(moving(), path, nudged(path)))


def test_the_walk_over_the_leaves_meets_every_field_of_an_end() -> None:
    assert {field for part, field in fields_met(moving()) if part.__name__ == "SetDown"} == {
        *("job", "name", "hives", "work_seconds", "from_site", "from_name", "cautions"),
    }
