"""Hives moved from site to site: times with pencil and paper, what is on board, and why a move is left out."""

from __future__ import annotations

import dataclasses
import datetime as dt
import itertools
from collections.abc import Iterator, Sequence

import numpy as np
import pytest

from routing.check import broken_promises, still_fits
from routing.daylight.windows import site_windows
from routing.errors import AskedError
from routing.farm.models import Farm, Hours, Job, LightNeed, Rank
from routing.planning.ask.own_order import own_order
from routing.planning.explain.reasons import certain_reasons
from routing.planning.model.build_instance import build_instance
from routing.planning.model.problem import served
from routing.planning.plan import fit_day, plan_days
from routing.planning.search.solve import solve
from routing.round import ReasonCode, Round, Stop
from routing.travel.legs import Legs
from tests.moving_farm import CREW, HEFT, HOLLOW, MILL, MOVE, RIDGE, SUMMER, VAN, legs_of, moving_farm
from tests.planning.random_problems import every_order_of, key
from tests.random_farms import random_farm
from tests.split_jobs import split_jobs
from tests.together import then_deep

LOADING = 3 * 2 * 60 + 20 * 60 + 1412
"""Walk, set-up, and 4 hives at 10 minutes by 1.7 hands: 23.53 minutes."""
SETTING_DOWN = 20 * 60 + 848
"""Set-up, and 4 hives at 6 minutes by 1.7 hands: 14.12 minutes."""


def planned(farm: Farm, dates: Sequence[dt.date] = (SUMMER,), legs: Legs | None = None) -> Round:
    """Return the round, held against every promise."""
    legs = legs or legs_of(farm)
    found = plan_days(build_instance(farm, legs, dates))
    assert broken_promises(found, farm, legs) == ()
    assert still_fits(found, farm, legs) == ()
    return found


def stops(found: Round) -> tuple[Stop, ...]:
    (day,) = found.itineraries
    return day.stops


def reason(found: Round) -> tuple[ReasonCode, str]:
    (left,) = found.left_out
    return left.reason, left.text


def without_flying(date: dt.date = SUMMER) -> dt.datetime:
    farm = moving_farm()
    needs = [LightNeed.AFTER_FLYING]
    return max(site_windows(site, date, CREW_ZONE, needs, farm.rules)[0].opens for site in (RIDGE, HOLLOW))


CREW_ZONE = build_instance(moving_farm(), legs_of(moving_farm()), (SUMMER,)).zone


def test_a_move_alone_takes_what_pencil_and_paper_say() -> None:
    """Out 10 min, load, 20 min with the hives, set down, 15 min home; the base is left just in time for dusk."""
    found = planned(moving_farm(jobs=(MOVE,)))
    (day,) = found.itineraries
    load, down = day.stops
    opens = without_flying()
    assert load.start == load.arrive == opens
    assert day.leave == opens - dt.timedelta(minutes=10)
    assert load.on_site_seconds == LOADING
    assert load.finish == opens + dt.timedelta(seconds=LOADING)
    assert (down.drive.seconds, down.arrive) == (1200, load.finish + dt.timedelta(minutes=20))
    assert down.start == down.arrive
    assert down.on_site_seconds == SETTING_DOWN
    assert day.home == down.finish + dt.timedelta(minutes=15)
    assert day.away_seconds == 600 + LOADING + 1200 + SETTING_DOWN + 900
    assert day.drive_seconds == 600 + 1200 + 900


def test_the_two_ends_are_told_at_their_own_sites() -> None:
    found = planned(moving_farm(jobs=(MOVE,)))
    load, down = stops(found)
    assert (load.site, load.jobs[0].id, load.jobs[0].to, load.jobs[0].to_name) == (
        *("ridge", "jobs.csv:2", "hollow", "Hollow Lane"),
    )
    assert (load.number, down.number, down.site, down.jobs) == (1, 2, "hollow", ())
    assert down.set_down is not None
    assert (down.set_down.job, down.set_down.hives, down.set_down.from_name) == ("jobs.csv:2", 4, "Ridge")
    assert (load.notes, down.notes, down.walking_minutes) == ("Mind the step", "", 0)


def test_hives_and_straps_weigh_on_the_drive_between_only() -> None:
    """8 straps go out; on leaving Ridge 4 hives and their straps are on board, on leaving Hollow Lane nothing."""
    farm = moving_farm(jobs=(MOVE,))
    load, down = stops(planned(farm))
    hive, strap = farm.materials["hive"].kg_each.value, farm.materials["strap"].kg_each.value
    assert load.load_kg == pytest.approx(4 * hive + 8 * strap, abs=0.001)
    assert (down.load_kg, down.load_litres) == (0, 0)
    (day,) = planned(farm).itineraries
    assert day.load.fullest_kg_at == "ridge"
    assert [(item.material, item.amount) for item in day.load.out] == [("strap", 8)]
    assert day.load.back == ()


def test_a_kilogram_less_of_payload_leaves_the_move_out() -> None:
    (day,) = planned(moving_farm(jobs=(MOVE,))).itineraries
    enough = {"van": VAN.model_copy(update={"payload_kg": day.load.fullest_kg})}
    short = {"van": VAN.model_copy(update={"payload_kg": day.load.fullest_kg - 1})}
    assert planned(moving_farm(jobs=(MOVE,), vehicles=enough)).all_done
    found = planned(moving_farm(jobs=(MOVE,), vehicles=short))
    assert reason(found)[0] is ReasonCode.TOO_HEAVY
    assert [remedy.text for remedy in found.left_out[0].remedies] == ["3 hives of 4 in one visit"]


def test_what_came_on_board_before_counts_too() -> None:
    """Supers fetched in the day are on board when hives are loaded in the evening, unless they were taken home before."""
    supers = Job(id="jobs.csv:3", site="mill", kind="supers-off", hives=8, rank=Rank.MUST)
    farm = moving_farm(jobs=(MOVE, supers))
    (day,) = planned(farm).itineraries
    together = day.load.fullest_kg
    vehicles = {"van": VAN.model_copy(update={"payload_kg": together - 1})}
    twice = planned(farm.model_copy(update={"vehicles": vehicles}))
    assert twice.all_done
    assert [stop.site for stop in twice.itineraries[0].stops] == ["mill", "base", "ridge", "hollow"]
    once = (CREW.model_copy(update={"trips_a_day": 1}),)
    found = planned(farm.model_copy(update={"vehicles": vehicles, "crews": once}))
    assert [left.reason for left in found.left_out] == [ReasonCode.NO_ROOM]
    assert [fall.what for left in found.left_out if left.insertion for fall in left.insertion.shortfalls] == ["payload"]


def test_a_day_visit_comes_first_and_the_move_after_dusk() -> None:
    found = planned(moving_farm())
    assert [stop.site for stop in stops(found)] == ["mill", "ridge", "hollow"]
    assert found.all_done


def test_other_work_at_either_end_is_a_visit_of_its_own() -> None:
    wanted = (MOVE, HEFT.model_copy(update={"site": "ridge", "hives": 6}), HEFT.model_copy(update={"site": "hollow"}))
    jobs = tuple(job.model_copy(update={"id": f"jobs.csv:{line}"}) for line, job in enumerate(wanted, start=2))
    found = planned(moving_farm(jobs=jobs))
    at = [(stop.site, [job.kind for job in stop.jobs]) for stop in stops(found)]
    assert sorted(at) == [("hollow", []), ("hollow", ["heft"]), ("ridge", ["heft"]), ("ridge", ["move-hives"])]
    assert [site for site, _ in at][-2:] == ["ridge", "hollow"]


def test_two_moves_that_the_van_cannot_carry_at_once_go_one_after_the_other() -> None:
    jobs = (MOVE, MOVE.model_copy(update={"id": "jobs.csv:3", "site": "mill"}))
    (day,) = planned(moving_farm(jobs=jobs)).itineraries
    assert [stop.site for stop in day.stops[1::2]] == ["hollow", "hollow"]
    assert max(stop.load_kg for stop in day.stops) < 200


def test_a_long_day_rests_before_the_hives_are_loaded() -> None:
    """The break may be at the move only: never while hives are on board, nor after the last work."""
    crew = CREW.model_copy(update={"break_after_hours": 2})
    (day,) = planned(moving_farm(jobs=(MOVE,), crews=(crew,))).itineraries
    load, down = day.stops
    assert down.rest is None
    assert load.rest is not None
    assert load.arrive <= load.rest.start
    assert load.rest.start + dt.timedelta(seconds=load.rest.seconds) <= load.start


def test_both_gates_must_be_open_from_beginning_to_end() -> None:
    """Hollow Lane shuts at 23:50 or at 23:00: the move is done by then, or not at all."""
    late = HOLLOW.model_copy(update={"hours": (Hours(opens=dt.time(8), closes=dt.time(23, 50)),)})
    found = planned(moving_farm(jobs=(MOVE,), sites=(RIDGE, late, MILL)))
    assert {f"{stop.window_closes:%H:%M}" for stop in stops(found)} == {"23:50"}
    early = HOLLOW.model_copy(update={"hours": (Hours(opens=dt.time(8), closes=dt.time(23)),)})
    code, text = reason(planned(moving_farm(jobs=(MOVE,), sites=(RIDGE, early, MILL))))
    assert code is ReasonCode.CLOSED
    assert "loading, the drive with the hives and setting down take 1 h 44" in text
    assert "both sites are open" in text


LEFT: dict[str, tuple[dict[str, object], ReasonCode, str]] = {
    "people": (
        {"crews": (CREW.model_copy(update={"people": 1}),)},
        ReasonCode.NEEDS_PEOPLE,
        "needs 2 people; the largest crew that gets there has 1",
    ),
    "vehicle": (
        {"sites": (RIDGE, HOLLOW.model_copy(update={"vehicle_needed": "4x4"}), MILL)},
        ReasonCode.NO_VEHICLE,
        "no vehicle that day reaches both sites: Hollow Lane “4x4” is needed",
    ),
    "other end closed": (
        {"sites": (RIDGE, HOLLOW.model_copy(update={"closed_dates": frozenset({SUMMER})}), MILL)},
        ReasonCode.CLOSED,
        "Hollow Lane, where the hives are to go, is closed on this date",
    ),
    "own end closed": (
        {"sites": (RIDGE.model_copy(update={"closed_dates": frozenset({SUMMER})}), HOLLOW, MILL)},
        ReasonCode.CLOSED,
        "the site is closed on this date",
    ),
    "shut after dark": (
        {"sites": (RIDGE, HOLLOW.model_copy(update={"hours": (Hours(opens=dt.time(8), closes=dt.time(17)),)}), MILL)},
        ReasonCode.CLOSED,
        "Ridge and Hollow Lane are never both open in the light",
    ),
    "home too soon": (
        {"crews": (CREW.model_copy(update={"home_by": dt.time(22)}),)},
        ReasonCode.TOO_FAR,
        "of loading, driving and setting down and 15 min back do not fit",
    ),
    "no straps": ({"stock": {"strap": 7}}, ReasonCode.NO_STOCK, "needs 8 pieces of Hive strap; in store: 7"),
}


@pytest.mark.parametrize(("changes", "code", "words"), LEFT.values(), ids=LEFT.keys())
def test_a_move_is_left_out_for_a_reason_that_is_true(changes: dict[str, object], code: ReasonCode, words: str) -> None:
    found = planned(moving_farm(jobs=(MOVE,), **changes))
    assert found.itineraries == ()
    assert reason(found)[0] is code
    assert words in reason(found)[1]
    assert found.left_out[0].jobs[0].to == "hollow"


def test_a_move_too_long_for_the_night_is_too_dark() -> None:
    """Sixty hives by two people take longer than a night in June."""
    farm = moving_farm(
        jobs=(MOVE.model_copy(update={"hives": 60}),),
        vehicles={"van": VAN.model_copy(update={"payload_kg": 9000, "space_litres": 90000})},
    )
    code, text = reason(planned(farm))
    assert code is ReasonCode.TOO_DARK
    assert "loading, the drive with the hives and setting down take" in text


def test_without_a_way_between_the_sites_there_is_none() -> None:
    legs = legs_of(moving_farm())
    seconds, metres = np.array(legs.seconds), np.array(legs.metres)
    seconds[1, 2] = metres[1, 2] = -1
    found = planned(moving_farm(jobs=(MOVE,)), legs=dataclasses.replace(legs, seconds=seconds, metres=metres))
    assert reason(found) == (ReasonCode.NO_WAY, "there is no way from base to the site, on to Hollow Lane and back")


def test_sites_open_on_different_dates_only_are_closed() -> None:
    other = SUMMER + dt.timedelta(days=1)
    sites = (
        RIDGE.model_copy(update={"closed_dates": frozenset({SUMMER})}),
        HOLLOW.model_copy(update={"closed_dates": frozenset({other})}),
        MILL,
    )
    found = planned(moving_farm(jobs=(MOVE,), sites=sites), dates=(SUMMER, other))
    assert reason(found) == (ReasonCode.CLOSED, "Ridge and Hollow Lane are never open on the same date")


def test_hives_without_a_place_to_go_come_home_as_ever() -> None:
    found = planned(moving_farm(jobs=(MOVE.model_copy(update={"to": ""}),)))
    (stop,) = stops(found)
    (day,) = found.itineraries
    assert (stop.site, stop.set_down, stop.jobs[0].to_name) == ("ridge", None, "")
    assert {item.material for item in day.load.back} == {"hive", "strap"}


def test_a_short_move_is_cautioned_with_the_rule_and_the_way_round_it() -> None:
    """Ridge to Mill is 2.6 km; Ridge to Hollow Lane is 11 km."""
    near = planned(moving_farm(jobs=(MOVE.model_copy(update={"to": "mill"}),)))
    far = planned(moving_farm(jobs=(MOVE,)))
    (caution,) = [text for text in stops(near)[0].jobs[0].cautions if text.startswith("Distance: ")]
    for words in ("Ridge to Mill is 2.6 km (1.6 miles)", "less than 4.83 km", "Bedfordshire BKA", "3 to 4 weeks"):
        assert words in caution
    assert not any(text.startswith("Distance: ") for text in stops(far)[0].jobs[0].cautions)


def test_a_move_of_a_step_needs_no_caution() -> None:
    step = HOLLOW.model_copy(update={"place": RIDGE.place})
    found = planned(moving_farm(jobs=(MOVE,), sites=(RIDGE, step, MILL), known_drives=()))
    assert found.all_done
    assert not any(text.startswith("Distance: ") for text in stops(found)[0].jobs[0].cautions)


def test_fit_counts_both_sites_and_gives_the_order() -> None:
    farm = moving_farm()
    answer = fit_day(build_instance(farm, legs_of(farm), (SUMMER,)))
    assert answer.fits
    assert "at 3 sites" in answer.lines[0]
    assert answer.round is not None
    assert broken_promises(answer.round, farm, legs_of(farm)) == ()


def test_a_move_too_heavy_for_one_van_is_shared_out_over_two() -> None:
    vehicles = {name: VAN.model_copy(update={"id": name, "payload_kg": 100}) for name in ("van", "truck")}
    crews = (CREW, CREW.model_copy(update={"id": "elm", "vehicle": "truck"}))
    farm = moving_farm(jobs=(MOVE,), vehicles=vehicles, crews=crews)
    shared = split_jobs(farm, legs_of(farm), (SUMMER,))
    assert [(job.hives, job.to) for job in shared.jobs] == [(2, "hollow"), (2, "hollow")]
    found = planned(shared)
    assert found.all_done
    assert sum(stop.set_down is not None for day in found.itineraries for stop in day.stops) == 2


def test_an_order_of_your_own_names_the_move_by_both_sites() -> None:
    farm = moving_farm()
    days = build_instance(farm, legs_of(farm), (SUMMER,))
    tried = own_order(days, "ash", ["mill", "ridge:hollow"])
    assert tried.round is not None
    assert tried.round.all_done
    assert [stop.site for stop in stops(tried.round)] == ["mill", "ridge", "hollow"]
    assert own_order(days, "ash", ["ridge:hollow", "mill"]).round is None
    with pytest.raises(AskedError, match='only hives to move: write "ridge:hollow"'):
        own_order(days, "ash", ["ridge"])
    with pytest.raises(AskedError, match="ridge:nowhere"):
        own_order(days, "ash", ["ridge:nowhere"])


def small_farms_with_moves() -> Iterator[int]:
    """Yield seeds of random farms of one crew that move hives and are small enough to try every order of."""
    for seed in range(400):
        farm, date = random_farm(seed)
        if len(farm.crews) == 1 and any(job.to for job in farm.jobs):
            problem = build_instance(farm, legs_of(farm), (date,)).problem
            moves = any(task.carried for visit in problem.visits for task in (problem.tasks[t] for t in visit.tasks))
            if problem.routes and moves and sum(len(visit.tasks) for visit in problem.visits) <= 6:
                yield seed


@pytest.mark.parametrize("most", then_deep([5], [40]))
def test_a_proven_round_with_moves_is_the_best_of_every_order(most: int) -> None:
    """Whole farms, from rows to orders: no choice of stops in any order does more, or as much in less time."""
    moved = 0
    for seed in itertools.islice(small_farms_with_moves(), most):
        farm, date = random_farm(seed)
        days = build_instance(farm, legs_of(farm), (date,))
        solution = solve(days.problem, frozenset(range(len(days.jobs))) - certain_reasons(days).keys(), work=20)
        assert solution.proven
        tried = (key(days.problem, (order,)) for order in every_order_of(days.problem, 0))
        assert key(days.problem, solution.orders) == max(value for value in tried if value is not None)
        moved += any(days.jobs[task].to for task in served(solution.orders))
    assert moved
