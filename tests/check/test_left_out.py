"""What is left out, where its reason just holds and where it just does not, and what just fits."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from routing.check import broken_promises, still_fits
from routing.check.excused import NOT_KNOWN
from routing.check.ground import Ground, Leg
from routing.check.left_out import extra_seconds_are_sound
from routing.check.quickest import quickest
from routing.farm.forecast import Forecast, Spell
from routing.farm.models import Farm
from routing.round import Round
from routing.travel.leg_origin import LegOrigin
from routing.travel.legs import Legs
from tests.check.damage import with_change
from tests.check.naive_round import naive_round
from tests.check.small_farm import FARM, LEFT, LEGS, WEDNESDAY, farm_with
from tests.check.test_by_the_least import MOOR, THURSDAY, crew, names, stock, truck


def left_at_ford(farm: Farm, reason: str) -> list[str]:
    """Return what is said of ford, left out for this reason where both crews stay at home."""
    round_ = naive_round(farm, LEGS, WEDNESDAY, {}, (("ford", (8,), reason),))
    return [line for line in broken_promises(round_, farm, LEGS) if "left out at ford (" in line]


def without_anna(farm: Farm) -> Farm:
    return farm_with(farm, "crews", "anna", days_off_weekdays={WEDNESDAY.weekday()})


def heavy(payload: float) -> Farm:
    """Return the farm where ford's 3 hives give up a super each, 44.1 kg, and no vehicle carries more than this."""
    farm = farm_with(FARM, "jobs", "jobs.csv:8", kind="supers")
    vehicles = {id_: one.model_copy(update={"payload_kg": payload}) for id_, one in farm.vehicles.items()}
    return without_anna(farm.model_copy(update={"vehicles": vehicles}))


def weather(**worst: float) -> Farm:
    """Return the farm where strips are hung from 8 degrees on, in 1 mm of rain and 20 km/h of wind at most, on such a day.

    Only Ben's truck gets to ford, so that no other crew could do it in fair weather.
    """
    farm = farm_with(FARM, "job_kinds", "strips", min_temperature_c=8, max_rain_mm_an_hour=1, max_wind_kmh=20)
    midnight = dt.datetime.combine(WEDNESDAY, dt.time(), tzinfo=dt.UTC)
    air = {"temperature_c": 8.0, "rain_mm_an_hour": 1.0, "wind_kmh": 20.0, **worst}
    spell = Spell(begins=midnight, ends=midnight + dt.timedelta(days=2), **air)
    forecast = Forecast(spells=(spell,), source="invented for tests")
    return farm_with(farm.model_copy(update={"forecast": forecast}), "sites", "ford", vehicle_needed="4x4")


REASONS: dict[str, tuple[Farm, Farm]] = {
    "weather: wind": (weather(wind_kmh=20.1), weather()),
    "weather: cold": (weather(temperature_c=7.9), weather()),
    "weather: rain": (weather(rain_mm_an_hour=1.1), weather()),
    # ford takes 6 strips, whoever else needs some
    "no stock": (stock(strip=5.999), stock(strip=6)),
    "too heavy": (heavy(44.099), heavy(44.1)),
    # Anna's van would carry it, but supers are not for one person
    "too heavy: for those who may": (
        farm_with(truck(payload_kg=44.099), "jobs", "jobs.csv:8", kind="supers"),
        farm_with(truck(payload_kg=44.1), "jobs", "jobs.csv:8", kind="supers"),
    ),
    # Ben leaves at 8:15, drives 1,085 s, works 7 min and 3 x 3 min / 1.8, and drives 1,121 s: home at 9:03:46
    "too far": (
        without_anna(crew("ben", home_by=dt.time(9, 3, 45))),
        without_anna(crew("ben", home_by=dt.time(9, 3, 46))),
    ),
    "needs more people": (
        farm_with(FARM, "job_kinds", "strips", people=3),
        farm_with(FARM, "job_kinds", "strips", people=2),
    ),
    "not due": (
        farm_with(FARM, "jobs", "jobs.csv:8", not_before=THURSDAY),
        farm_with(FARM, "jobs", "jobs.csv:8", not_before=WEDNESDAY),
    ),
    "promised for another day": (
        farm_with(FARM, "jobs", "jobs.csv:8", promised=THURSDAY),
        farm_with(FARM, "jobs", "jobs.csv:8", promised=WEDNESDAY),
    ),
    "closed": (
        farm_with(FARM, "sites", "ford", closed_dates={WEDNESDAY}),
        farm_with(FARM, "sites", "ford", closed_dates={THURSDAY}),
    ),
    "no crew that day": (
        farm_with(without_anna(FARM), "crews", "ben", days_off_dates={WEDNESDAY}),
        farm_with(without_anna(FARM), "crews", "ben", days_off_dates={THURSDAY}),
    ),
}


@pytest.mark.parametrize(("reason", "true", "false"), [(why, *farms) for why, farms in REASONS.items()], ids=REASONS)
def test_a_reason_is_true_by_the_least_and_false_on_the_dot(reason: str, true: Farm, false: Farm) -> None:
    of_the_flag = "a promised day is told"  # the builder of rounds tells of none
    for farm, good in ((true, True), (false, False)):
        found = left_at_ford(farm, reason.partition(":")[0])
        assert ([line for line in found if of_the_flag not in line] == []) is good
        assert any(of_the_flag in line for line in found) is (reason == "promised for another day")


@pytest.mark.parametrize(
    ("holds", "fails"),
    [
        # the 5 supers alone: 5 x 14.7 = 73.5 kg and 5 x 43.1 = 215.5 litres
        (truck(payload_kg=73.5), truck(payload_kg=73.499)),
        (truck(space_litres=215.5), truck(space_litres=215.499)),
        (crew("ben", people=2), crew("ben", people=1)),
        (
            farm_with(FARM, "jobs", "jobs.csv:6", promised=WEDNESDAY),
            farm_with(FARM, "jobs", "jobs.csv:6", promised=THURSDAY),
        ),
        (
            farm_with(FARM, "jobs", "jobs.csv:6", not_before=WEDNESDAY),
            farm_with(FARM, "jobs", "jobs.csv:6", not_before=THURSDAY),
        ),
        # left at 8:15; 988 s there, 12.3 min and 5 x 6.1 / 1.8 min of work, 1,019 s back: 9:17:42 at the latest second
        (crew("ben", home_by=dt.time(9, 17, 42)), crew("ben", home_by=dt.time(9, 17, 41))),
    ],
    ids=["payload", "space", "people", "promised", "too soon", "home"],
)
def test_what_just_fits_is_not_left_out_and_what_just_does_not_is(holds: Farm, fails: Farm) -> None:
    for farm, found in ((holds, 1), (fails, 0)):
        round_ = naive_round(farm, LEGS, WEDNESDAY, {}, (("wood", (6,), "no room in the day"),))
        assert sum("at wood, jobs.csv:6" in line for line in still_fits(round_, farm, LEGS)) == found


@pytest.mark.parametrize(("kilograms", "short"), [(100, False), (99.999, True)])
def test_a_stock_that_is_just_enough_is_not_short(kilograms: float, *, short: bool) -> None:
    """Moor would take 40 x 2.5 = 100 kg: of these nothing is missing beside the late way home."""
    farm = stock(fondant=kilograms)
    round_ = naive_round(farm, LEGS, WEDNESDAY, {}, LEFT[:1])
    assert names(round_, farm, "all that the stock lacks is said") is short


def test_every_entry_is_held_to_its_reason_whatever_stands_before_it() -> None:
    """Fen is not due, and a fault is told of gate; after both, ford is open and so not left out as closed."""
    left = (("fen", (10,), "not due"), ("gate", (11,), "no room in the day"), ("ford", (8,), "closed"))
    round_ = naive_round(FARM, LEGS, WEDNESDAY, {}, left)
    silent = {"text": NOT_KNOWN, "insertion": None}
    entries = (round_.left_out[0], round_.left_out[1].model_copy(update=silent), round_.left_out[2])
    told = round_.model_copy(update={"left_out": entries, "faults": ("A fault at Gate apiary.",)})
    said = broken_promises(told, FARM, LEGS)
    assert any("left out at ford (jobs.csv:8)" in line and "a certain reason (closed)" in line for line in said)
    assert not any("left out at gate (" in line for line in said)


@pytest.mark.parametrize(("given", "reason"), [(False, "not in your order"), (True, "no room in the day")])
def test_what_a_person_left_out_is_told_so_and_nothing_else_is(reason: str, *, given: bool) -> None:
    """`not in your order` is for a given order alone, and beside one no room is sought."""
    round_ = naive_round(FARM, LEGS, WEDNESDAY, {}, (("ford", (8,), reason),))
    promise = "no room is sought beside a given order" if given else "only a given order leaves out what is not in it"
    assert names(round_.model_copy(update={"given_order": given}), FARM, promise)
    assert not names(round_.model_copy(update={"given_order": not given}), FARM, promise)


def left_moor(good: Round, **change: object) -> Round:
    """Return the round with some facts of the cheapest place for moor changed."""
    return with_change(good, (*MOOR, "insertion"), lambda old: {**old, **change})


def test_an_insertion_says_what_it_breaks_and_how_much_longer_the_day_is(good: Round) -> None:
    """How much longer may be missing only where the crew might come back to base to load, so not of one trip a day."""
    assert names(left_moor(good, shortfalls=[]), FARM, "an insertion says what it would break")
    promise = "how much longer a day would be is told"
    for trips in (1, 2):
        farm = crew("anna", trips_a_day=trips)
        assert names(left_moor(good, extra_seconds=None), farm, promise) is (trips == 1)
        assert not names(good, farm, promise)


def test_a_visit_on_a_shorter_way_may_cost_no_time(good: Round) -> None:
    """Moor takes 10,224 s: where base to hill is so much longer straight than by way of moor, the day is no longer."""
    kind, promise = FARM.job_kinds["fondant"], "a visit more takes its time"
    work = round((kind.minutes_a_visit.value + 40 * kind.minutes_a_hive.value) * 60)
    base, hill, moor = (LEGS.places.index(place) for place in ("base", "hill", "moor"))
    seconds = np.array(LEGS.seconds)
    detour = int(seconds[base, moor] + seconds[moor, hill]) + work
    for straight, costs in ((detour - 1, True), (detour, False)):
        seconds[base, hill] = straight
        ground = Ground.of(FARM, Legs(LEGS.places, seconds.copy(), np.array(LEGS.metres), LEGS.origins))
        found = [line for _, line in extra_seconds_are_sound(left_moor(good, extra_seconds=0), ground)]
        assert any(promise in line for line in found) is costs


@pytest.mark.parametrize(
    ("reaches", "needed", "people", "no_vehicle", "too_few"),
    [
        # van, 1 person / truck, 2 people: what each vehicle reaches, what the site and the job need
        ((), "", 1, False, False),
        ((), "boat", 1, True, False),
        (("van",), "boat", 1, False, False),
        (("truck",), "boat", 1, False, False),
        (("van",), "boat", 2, True, True),
        (("truck",), "boat", 2, False, False),
        (("van", "truck"), "boat", 2, False, False),
        (("van", "truck"), "boat", 3, False, True),
        ((), "", 3, False, True),
        ((), "boat", 3, True, True),
    ],
)
def test_vehicles_and_people_fall_short_only_where_no_crew_has_both(
    reaches: tuple[str, ...], needed: str, people: int, *, no_vehicle: bool, too_few: bool
) -> None:
    farm = farm_with(farm_with(FARM, "job_kinds", "strips", people=people), "sites", "ford", vehicle_needed=needed)
    for id_ in ("van", "truck"):
        farm = farm_with(farm, "vehicles", id_, reaches=frozenset({"boat"} if id_ in reaches else ()))
    for reason, true in (("no vehicle", no_vehicle), ("needs more people", too_few)):
        denied = [line for line in left_at_ford(farm, reason) if "the reason is true by plain arithmetic" in line]
        assert (denied == []) is true


def without_a_way(legs: Legs, site: str) -> Legs:
    seconds = np.array(legs.seconds)
    seconds[:, legs.places.index(site)] = -1
    return replace(legs, seconds=seconds)


@pytest.mark.parametrize(
    ("vans", "trucks", "no_road", "true"),
    [
        (False, False, (), "no way from base"),
        (True, True, (), "too far"),
        # the truck is enough for a way, though not for a day
        (False, True, (), "too far"),
        (True, False, (), "too far"),
        (False, False, ("van", "truck"), "no road near"),
        (False, False, ("van",), "no way from base"),
        (False, True, ("van", "truck"), "too far"),
    ],
)
def test_no_way_no_road_and_too_far_are_told_apart(
    no_road: tuple[str, ...], true: str, *, vans: bool, trucks: bool
) -> None:
    """Neither crew is home from ford by 8:30, whichever of the two vehicles there is a way for."""
    farm = farm_with(crew("ben", home_by=dt.time(8, 30)), "crews", "anna", home_by=dt.time(8, 30))
    each = {}
    for id_, way in (("van", vans), ("truck", trucks)):
        known = LEGS if way else without_a_way(LEGS, "ford")
        each[id_] = replace(known, no_road={"ford": 900} if id_ in no_road else {})
    legs = replace(LEGS, by_vehicle=each)
    for reason in ("no way from base", "no road near", "too far"):
        round_ = naive_round(farm, LEGS, WEDNESDAY, {}, (("ford", (8,), reason),))
        said = [line for line in broken_promises(round_, farm, legs) if "left out at ford (" in line]
        assert (said == []) is (reason == true)


def test_the_quickest_ways_go_by_whatever_places_and_by_drives_of_no_time() -> None:
    """Hill is nearer by mill, lane lies where mill does, and wood and ford have no way: in seconds, or in metres only."""
    places = ("base", "hill", "mill", "lane", "wood", "ford")
    seconds = np.full((6, 6), -1, dtype=np.int64)
    for start, end, drive in (
        (0, 1, 50),
        (0, 2, 10),
        (2, 1, 20),
        (2, 3, 0),
        (3, 0, 7),
        (1, 0, 60),
        (1, 3, 9),
        (0, 5, 4),
    ):
        seconds[start, end] = drive
    np.fill_diagonal(seconds, 0)
    metres = seconds.copy()
    metres[0, 5] = -1
    legs = Legs(places, seconds, metres, tuple((LegOrigin.KNOWN,) * 6 for _ in places))
    ground = Ground.of(FARM, legs)
    out, home = quickest(FARM.crew("anna"), ground)
    assert out == {"base": 0, "hill": 30, "mill": 10, "lane": 10}
    assert home == {"base": 0, "hill": 16, "mill": 7, "lane": 7}
    crew_, names_ = FARM.crew("ben"), ("wood", "ford", "nowhere")
    assert [ground.leg(crew_, "base", site) for site in names_] == [None, None, None]
    assert ground.leg(crew_, "mill", "lane") == Leg(0, 0, LegOrigin.KNOWN)


def test_an_insertion_may_be_missing_where_only_another_crew_passes() -> None:
    """Ford is reached from wood alone, where Ben goes; only Anna's van gets there, and she does not pass wood."""
    seconds = np.array(LEGS.seconds)
    seconds[[row for row, place in enumerate(LEGS.places) if place != "wood"], LEGS.places.index("ford")] = -1
    legs = replace(LEGS, seconds=seconds)
    for who, missing in (("van", True), ("truck", False)):
        farm = farm_with(FARM, "sites", "ford", vehicle_needed="boat")
        farm = farm_with(farm, "vehicles", who, reaches=frozenset({"boat", "4x4"}))
        orders = {"anna": (("mill", (4,)),), "ben": (("wood", (6, 7)),)}
        round_ = naive_round(farm, LEGS, WEDNESDAY, orders, (("ford", (8,), "no room in the day"),))
        told = with_change(round_, (*MOOR, "insertion"), lambda _: None)
        said = broken_promises(told, farm, legs)
        assert any("an insertion is given exactly where" in line for line in said) is not missing
