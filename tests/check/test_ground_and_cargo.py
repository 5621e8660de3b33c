"""What the check stands on, by hand: hours, windows, hands, and what is on board at each point of a day."""

from __future__ import annotations

import datetime as dt
import math
from fractions import Fraction

import pytest

from routing.check import Judgement, broken_promises, what_holds
from routing.check.cargo import Point, carries, changes, loaded, loadings, points, stock_suffices, used_up
from routing.check.exact import local_instant
from routing.check.ground import Ground
from routing.check.taken_out import without_what_fails
from routing.daylight.sun import sun_day
from routing.farm.models import Farm, Place, Underway
from routing.round import Round
from tests.check.damage import with_change, with_twice
from tests.check.small_farm import FARM, LEGS, WEDNESDAY, farm_with
from tests.moving_farm import MOVE, SUMMER, gated_farm, legs_of, moving_farm

BEN = FARM.crew("ben")


def ground(farm: Farm = FARM) -> Ground:
    return Ground.of(farm, LEGS)


def at(hour: int, minute: int = 0, second: int = 0, days: int = 0) -> int:
    return local_instant(WEDNESDAY + dt.timedelta(days=days), dt.time(hour, minute, second), ground().zone)


def early(minutes: float, farm: Farm = FARM) -> Farm:
    return farm.model_copy(update={"rules": farm.rules.model_copy(update={"finish_early_minutes": minutes})})


@pytest.mark.parametrize(("home_by", "days"), [(dt.time(8, 0, 1), 0), (dt.time(8), 1), (dt.time(7, 59), 1)])
def test_home_by_at_the_start_or_before_it_is_the_next_day(home_by: dt.time, days: int) -> None:
    crew = BEN.model_copy(update={"home_by": home_by})
    expected = at(home_by.hour, home_by.minute, home_by.second, days)
    assert ground().home_by(crew, WEDNESDAY) == expected
    assert ground(early(1.5)).home_by(crew, WEDNESDAY) == expected - 90


def test_a_crew_that_is_home_before_dark_is_so_at_civil_dusk_or_sooner() -> None:
    dusk = sun_day(FARM.base.place, WEDNESDAY, ground().zone).civil_dusk
    assert dusk is not None
    late = BEN.model_copy(update={"home_by": dt.time(23)})
    assert ground().home_by(late, WEDNESDAY) == at(23)
    careful = late.model_copy(update={"home_before_dark": True})
    assert ground().home_by(careful, WEDNESDAY) == math.floor(dusk.timestamp())
    assert ground(early(1)).home_by(careful, WEDNESDAY) == math.floor(dusk.timestamp()) - 60
    assert ground().home_by(careful.model_copy(update={"home_by": dt.time(11)}), WEDNESDAY) == at(11)


def test_every_further_person_counts_for_a_share_of_one() -> None:
    """The rule of the farm is 0.8."""
    assert [ground().hands(people) for people in (1, 2, 3)] == [1, Fraction(9, 5), Fraction(13, 5)]


def test_of_two_crews_with_one_vehicle_the_first_that_works_goes() -> None:
    first, second = BEN, BEN.model_copy(update={"id": "carl"})
    farm = FARM.model_copy(update={"crews": (first, second)})
    assert [ground(farm).works_on(crew, WEDNESDAY) for crew in farm.crews] == [True, False]
    off = first.model_copy(update={"days_off_dates": frozenset({WEDNESDAY})})
    farm = FARM.model_copy(update={"crews": (off, second)})
    assert [ground(farm).works_on(crew, WEDNESDAY) for crew in farm.crews] == [False, True]
    other = second.model_copy(update={"vehicle": "van"})
    farm = FARM.model_copy(update={"crews": (first, other)})
    assert [ground(farm).works_on(crew, WEDNESDAY) for crew in farm.crews] == [True, True]


def test_windows_are_the_hours_within_the_light_and_end_early() -> None:
    """Mill is open from 9 to 12 and from 13:30 to 17, when it is dark already: 3 h early leave nothing of the morning."""
    fondant = [job for job in FARM.jobs if job.id == "jobs.csv:4"]
    light = ground().spans(FARM.site("hill"), WEDNESDAY, ground().needs(fondant))
    assert len(light) == 1
    first, second = ground().visit_spans(fondant, WEDNESDAY)
    assert first == (at(9), at(12))
    assert second[0] == at(13, 30)
    assert abs(second[1] - light[0][1]) < 120
    assert ground(early(179)).visit_spans(fondant, WEDNESDAY) == ((at(9), at(9, 1)),)
    assert ground(early(180)).visit_spans(fondant, WEDNESDAY) == ()
    turned = farm_with(FARM, "sites", "mill", hours=FARM.site("mill").hours[::-1])
    assert ground(turned).visit_spans(fondant, WEDNESDAY) == (first, second)
    shut = farm_with(FARM, "sites", "mill", closed_weekdays=frozenset({WEDNESDAY.weekday()}))
    assert ground(shut).visit_spans(fondant, WEDNESDAY) == ()


@pytest.mark.parametrize(
    ("ridge", "hollow", "both"),
    [
        ((9, 12), (10, 14), [(10, 12)]),
        ((9, 12), (12, 14), []),
        ((9, 12), (8, 10), [(9, 10)]),
        ((9, 12), (9, 12), [(9, 12)]),
    ],
)
def test_a_move_lies_in_a_window_of_both_its_ends(
    ridge: tuple[int, int], hollow: tuple[int, int], both: list[tuple[int, int]]
) -> None:
    """With work that needs no light the windows are the hours of the two gates."""
    gates = {"ridge": ridge, "hollow": hollow}
    farm = gated_farm(gates, FARM.job_kinds["strips"].light)
    there = Ground.of(farm, legs_of(farm))
    expected = tuple(
        (local_instant(SUMMER, dt.time(opens), there.zone), local_instant(SUMMER, dt.time(closes), there.zone))
        for opens, closes in both
    )
    assert there.visit_spans([MOVE], SUMMER) == expected


def test_packs_are_opened_once_however_many_trips() -> None:
    """Hill takes 27.5 kg of fondant, mill 20: three boxes of 12.5 go out first, a fourth for the second trip."""
    hill, mill = ([job for job in FARM.jobs if job.id == id_] for id_ in ("jobs.csv:2", "jobs.csv:4"))
    first, second = loadings([hill, mill], ground())
    assert (first.put_on, first.on_board) == ({"fondant": Fraction("37.5")}, {"fondant": Fraction("37.5")})
    assert (second.put_on, second.on_board) == ({"fondant": Fraction("12.5")}, {"fondant": Fraction("22.5")})
    short = ground(FARM.model_copy(update={"stock": {"fondant": 48}}))
    first, second = loadings([hill, mill], short)
    assert second.put_on == {"fondant": Fraction("10.5")}
    assert second.on_board == {"fondant": Fraction("20.5")}
    # the first trip's boxes do for the second too
    few = [hill[0].model_copy(update={"hives": 4})]
    assert [loading.put_on for loading in loadings([hill, few], ground())] == [{"fondant": Fraction("37.5")}, {}]


def test_no_more_is_loaded_than_there_is() -> None:
    fondant, strip, guard = (FARM.materials[id_] for id_ in ("fondant", "strip", "guard"))
    assert loaded(fondant, Fraction(25), ground()) == 25
    assert loaded(fondant, Fraction("25.01"), ground()) == Fraction("37.5")
    assert loaded(strip, Fraction(51), ground()) == 55
    assert loaded(guard, Fraction(3), ground()) == 3
    assert stock_suffices({"strip": Fraction(55)}, ground())
    assert not stock_suffices({"strip": Fraction("55.001")}, ground())
    assert stock_suffices({"guard": Fraction(1000)}, ground())


def out_already(*, counted: bool) -> Farm:
    """Return the farm whose crew is out with 30 kg of fondant to use and two supers that it brings home."""
    now = Underway(
        name="Hill",
        place=Place(latitude=52, longitude=-1.5),
        at=dt.time(9),
        counted=counted,
        brought={"super": 2, "fondant": 1},
    )
    stock = {**dict.fromkeys(FARM.materials, 0.0), "fondant": 30.0}
    return FARM.model_copy(update={"underway": now, "stock": stock})


def test_on_a_vehicle_that_is_out_is_all_that_was_counted() -> None:
    hill = [job for job in FARM.jobs if job.id == "jobs.csv:2"]
    (loading,) = loadings([hill], ground(out_already(counted=True)))
    assert loading.put_on == loading.on_board == {"fondant": 31, "super": 2}
    (loading,) = loadings([hill], ground(out_already(counted=False)))
    assert loading.put_on == {"fondant": 30}
    # of what is there only what the jobs take is left, and nothing that is brought home
    emptied = used_up(hill, ground(out_already(counted=True)))
    assert emptied.farm.stock == {**dict.fromkeys(FARM.materials, 0.0), "fondant": 27.5}
    assert emptied.farm.underway is not None
    assert emptied.farm.underway.brought == {}
    plain = ground(out_already(counted=False))
    assert used_up(hill, plain) is plain
    assert used_up(hill, ground()).farm == FARM


def test_the_load_at_each_point_is_what_is_left_and_what_came() -> None:
    """Ben takes 5 supers of 14.7 kg and 43.1 litres off at wood and fits 5 guards of 0.111 kg and 0.273 litres."""
    wood = [job for job in FARM.jobs if job.site == "wood"]
    (found,) = points([[wood]], ground())
    assert found == [
        Point("base", Fraction("0.555"), Fraction("1.365")),
        Point("wood", Fraction("73.5"), Fraction("215.5")),
    ]
    truck = FARM.vehicles["truck"]
    for limits, good in (
        ({"payload_kg": 73.5, "space_litres": 215.5}, True),
        ({"payload_kg": 73.499, "space_litres": 215.5}, False),
        ({"payload_kg": 73.5, "space_litres": 215.499}, False),
    ):
        assert carries(truck.model_copy(update=limits), found) is good


def test_moved_hives_are_on_board_between_their_two_sites_only() -> None:
    """Straps and the like, which a move takes, are left away here."""
    plain = moving_farm()
    bare = plain.job_kinds[MOVE.kind].model_copy(update={"takes": ()})
    farm = plain.model_copy(update={"job_kinds": plain.job_kinds | {MOVE.kind: bare}})
    there = Ground.of(farm, legs_of(farm))
    (_, (kg, litres)), (to, (less_kg, less_litres)) = changes([MOVE], there)
    assert (to, less_kg, less_litres) == ("hollow", -kg, -litres)
    assert kg > 0 < litres
    (found,) = points([[[MOVE]]], there)
    assert [point.place for point in found] == ["base", "ridge", "hollow"]
    assert found[1].kg - found[0].kg == kg
    assert found[2] == Point("hollow", found[0].kg, found[0].litres)


def test_a_round_from_which_nothing_is_to_be_taken_stays_as_it_is(good: Round) -> None:
    assert without_what_fails(good, Judgement(), ground()) is good


def test_only_the_call_that_was_wrong_is_put_right(good: Round) -> None:
    wrong = with_change(good, ("itineraries", 0, "call_ins", 1, "where"), lambda _: "Lane apiary")
    calls = what_holds(wrong, FARM, LEGS).itineraries[0].call_ins
    assert calls[1].where == "Hill apiary or Mill apiary"
    assert (calls[0], *calls[2:]) == (good.itineraries[0].call_ins[0], *good.itineraries[0].call_ins[2:])


ANEW = "what is left out was told wrong, and is told anew"


def test_what_is_left_out_and_told_wrong_is_told_anew(good: Round) -> None:
    """That is said where no day was taken out, and only there."""
    wrong = with_change(good, ("left_out", 0, "name"), lambda _: "Moor")
    mended = what_holds(wrong, FARM, LEGS)
    assert mended.itineraries == good.itineraries
    assert mended.left_out == good.left_out
    (told,) = mended.faults[1:]
    assert ANEW in told
    late = with_change(good, ("itineraries", 1, "home"), lambda home: home + dt.timedelta(seconds=1))
    mended = what_holds(late, FARM, LEGS)
    assert not any(ANEW in fault for fault in mended.faults)
    assert len(mended.itineraries) == 1


def test_a_job_in_two_entries_is_kept_in_the_first(good: Round) -> None:
    twice = with_twice(good, ("left_out",), 0)
    mended = what_holds(twice, FARM, LEGS)
    assert [left.site for left in mended.left_out] == ["moor", "fen", "gate"]
    assert broken_promises(mended, FARM, LEGS) == ()


@pytest.mark.parametrize("change", ["another date", "twice the day", "twice the job", "a job of another day"])
def test_a_day_out_of_place_is_taken_out_and_no_other(good: Round, change: str) -> None:
    """Each is the second day, Ben's, but for the job that Anna's day has twice."""
    anna, ben = good.itineraries
    days = {
        "another date": (anna, ben.model_copy(update={"date": WEDNESDAY + dt.timedelta(days=1)})),
        "twice the day": (anna, anna),
        "twice the job": (with_twice(good, ("itineraries", 0, "stops", 0, "jobs"), 1).itineraries[0], ben),
        "a job of another day": (anna, ben.model_copy(update={"stops": (*ben.stops, anna.stops[2])})),
    }[change]
    wrong = good.model_copy(update={"itineraries": days})
    kept = without_what_fails(wrong, Judgement(), ground()).itineraries
    assert [day.crew for day in kept] == (["ben"] if change == "twice the job" else ["anna"])
