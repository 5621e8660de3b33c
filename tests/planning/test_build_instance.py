"""The farm's words as whole numbers, by hand, and what engines are asked and told with them."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from routing.farm.models import Farm, Place, Underway
from routing.planning.model.build_instance import build_instance
from routing.planning.model.engine import Limit, Telling, prizes
from routing.planning.model.moves import distance_cautions
from routing.planning.model.problem import LIMITLESS, NO_LIMIT, Problem, Supply, Task
from routing.planning.model.supply_on_board import OnBoard
from routing.travel.straight import geodesic_metres
from tests.check.small_farm import FARM, LEGS, WEDNESDAY, farm_with, figure
from tests.moving_farm import MOVE, SUMMER, gated_farm, legs_of, moving_farm

HOUR = 3600


def problem_of(farm: Farm, *dates: dt.date) -> Problem:
    return build_instance(farm, LEGS, dates or (WEDNESDAY,)).problem


def early(minutes: float, farm: Farm = FARM) -> Farm:
    return farm.model_copy(update={"rules": farm.rules.model_copy(update={"finish_early_minutes": minutes})})


def test_a_crew_day_is_told_in_seconds_grams_and_millilitres() -> None:
    """Anna loads from 7:30 for 15 min and is home by 13:30; the van carries 110.5 kg and 450.5 litres."""
    anna, ben = problem_of(FARM).routes
    assert (anna.earliest_leave, anna.home_by, anna.reload_seconds) == (7 * HOUR + 45 * 60, 13 * HOUR + 1800, 900)
    assert (anna.payload_grams, anna.space_millilitres) == (110_500, 450_500)
    assert (anna.break_seconds, anna.break_after_seconds) == (1200, 3 * HOUR)
    assert (anna.day, anna.most_trips, anna.leaves_by) == (0, 2, LIMITLESS)
    # hill's fondant: 11 hives of 4.01 min, 2,646.6 s alone, and shared by 1.8 hands 1,470.33; both rounded up
    assert (anna.work_seconds[0], ben.work_seconds[0]) == (2647, 1471)
    # wood needs the truck, and supers two people
    assert [number for number, may in enumerate(anna.allowed) if not may] == [4, 5]
    assert all(ben.allowed)


def test_finishing_early_ends_days_and_windows_sooner() -> None:
    plain, sooner = problem_of(FARM), problem_of(early(1.5))
    assert [a.home_by - b.home_by for a, b in zip(plain.routes, sooner.routes, strict=True)] == [90, 90]
    assert [a.closes - b.closes for a, b in zip(plain.visits, sooner.visits, strict=True)] == [90] * len(plain.visits)
    assert [a.opens for a in plain.visits] == [b.opens for b in sooner.visits]


def test_whether_light_or_a_gate_ends_a_window_is_told_finished_early_or_not() -> None:
    """Mill shuts at 12:00 by its gate; in the afternoon it is dark before the gate shuts at 17:00."""
    for farm in (FARM, early(10)):
        problem = problem_of(farm)
        place = LEGS.places.index("mill")
        first, second = (visit for visit in problem.visits if visit.place == place)
        assert (first.closed_by_light, second.closed_by_light) == (False, True)
        assert all(visit.closed_by_light for visit in problem.visits if visit.place != place)


def test_a_site_has_a_visit_for_each_set_of_jobs_that_share_their_light() -> None:
    """At hill fondant waits for daylight, from 8:25:05 to 15:26:46; guards alone may be fitted in twilight too."""
    problem = problem_of(FARM)
    found = [(visit.opens, visit.closes, visit.tasks) for visit in problem.visits if visit.place == 1]
    assert found[0] == (8 * HOUR + 25 * 60 + 5, 15 * HOUR + 26 * 60 + 46, (0, 1))
    assert [tasks for _, _, tasks in found] == [(0, 1), (1,)]
    assert found[1][0] < found[0][0] < found[0][1] < found[1][1]


def test_where_hives_cannot_be_driven_to_their_end_there_is_no_way_to_the_move() -> None:
    """Of four places and the move, which is entered at Ridge and left from Hollow Lane: its own metres count on the way there."""
    farm = moving_farm()
    legs = legs_of(farm)
    ridge, hollow = legs.index("ridge"), legs.index("hollow")
    for way in (True, False):
        seconds = np.array(legs.seconds)
        if not way:
            seconds[ridge, hollow] = -1
        route = build_instance(farm, replace(legs, seconds=seconds), (SUMMER,)).problem.routes[0]
        drives, metres = route.drive_seconds, route.drive_metres
        assert drives.shape == (5, 5)
        assert (drives[4, :4] == seconds[hollow, :4]).all()
        if way:
            assert (drives[:4, 4] == seconds[:4, ridge]).all()
            assert metres[0, 4] == legs.metres[0, ridge] + legs.metres[ridge, hollow]
        else:
            assert (drives[:, 4] == -1).all()
            assert (metres[:, 4] == -1).all()


def test_a_crew_that_is_out_leaves_at_once() -> None:
    now = Underway(name="Hill", place=Place(latitude=52, longitude=-1.5), at=dt.time(9))
    for route in problem_of(FARM.model_copy(update={"underway": now})).routes:
        assert route.leaves_by == route.earliest_leave


@pytest.mark.parametrize(
    ("home_by", "expected"), [(dt.time(7, 30), 31 * HOUR + 1800), (dt.time(7, 31), 7 * HOUR + 1860)]
)
def test_home_by_at_the_start_is_the_next_day(home_by: dt.time, expected: int) -> None:
    anna = problem_of(farm_with(FARM, "crews", "anna", home_by=home_by)).routes[0]
    assert anna.home_by == expected


def test_supplies_and_jobs_are_told_in_thousandths() -> None:
    """Fondant in boxes of 12.5 kg, 200 kg of them; guards loose and without end. Hill takes 11 x 2.5 kg."""
    instance = build_instance(FARM, LEGS, (WEDNESDAY,))
    assert instance.materials == ("fondant", "guard", "strip", "super")
    fondant, guard = instance.problem.supplies[:2]
    assert fondant == Supply(12_500, 200_000, 1, 0.8)
    assert guard == Supply(0, NO_LIMIT, 0.111, 0.273)
    assert instance.problem.tasks[0].uses == ((0, 27_500),)
    assert instance.problem.tasks[0].weight == 9
    assert [job.id for job in instance.not_due] == ["jobs.csv:10"]
    supers = [job.id for job in instance.jobs].index("jobs.csv:6")
    assert instance.problem.tasks[supers].back == ((3, 5000),)
    shared = farm_with(FARM, "jobs", "jobs.csv:4", of_hives=12)
    # 8 of 12 hives weigh 7 x 8 / 12: all weights are told in twelfths
    tasks = problem_of(shared).tasks
    assert (tasks[0].weight, tasks[2].weight) == (9 * 12, 7 * 8)


def test_what_is_counted_on_a_vehicle_that_is_out_is_told() -> None:
    now = Underway(
        name="Hill", place=Place(latitude=52, longitude=-1.5), at=dt.time(9), counted=True, brought={"super": 2}
    )
    supplies = problem_of(FARM.model_copy(update={"underway": now})).supplies
    assert isinstance(supplies[3], OnBoard)
    assert supplies[3].brought == 2000
    uncounted = now.model_copy(update={"counted": False})
    assert not isinstance(problem_of(FARM.model_copy(update={"underway": uncounted})).supplies[3], OnBoard)


@pytest.mark.parametrize(("opens", "windows"), [(11, 1), (12, 0), (13, 0)])
def test_a_move_has_a_window_where_both_gates_are_open(opens: int, windows: int) -> None:
    """Ridge is open until noon."""
    hours = {"ridge": (9, 12), "hollow": (opens, 20)}
    farm = gated_farm(hours, FARM.job_kinds["strips"].light)
    instance = build_instance(farm, legs_of(farm), (SUMMER,))
    task = [job.id for job in instance.jobs].index(MOVE.id)
    found = [visit for visit in instance.problem.visits if task in visit.tasks]
    assert [(visit.opens, visit.closes, visit.closed_by_light) for visit in found] == [
        (opens * HOUR, 12 * HOUR, False)
    ] * windows
    assert all(visit.walk_seconds == 360 for visit in found)


@pytest.mark.parametrize(
    ("near", "far", "told"),
    [(0.9999, 1.0001, True), (1.0001, 2, False), (0.5, 0.9999, False), (0.5, 1.0001, True), (0.9999, 2, True)],
)
def test_the_distance_of_a_move_is_held_against_both_limits(near: float, far: float, *, told: bool) -> None:
    """Limits a ten-thousandth nearer and farther than the two sites are apart."""
    plain = moving_farm()
    old, new = plain.site("ridge").place, plain.site("hollow").place
    metres = float(geodesic_metres([old], [new])[0])
    limits = {"move_nearer_than_metres": figure(metres * near), "move_farther_than_km": figure(metres * far / 1000)}
    farm = plain.model_copy(update={"rules": plain.rules.model_copy(update=limits)})
    assert bool(distance_cautions(farm, MOVE)) is told
    assert distance_cautions(farm, plain.jobs[1]) == ()
    for missing in limits:
        rules = farm.rules.model_copy(update={missing: None})
        assert distance_cautions(farm.model_copy(update={"rules": rules}), MOVE) == ()


def test_a_task_is_worth_more_than_a_detour_and_than_four_of_the_next_rank() -> None:
    """Of detour 100: 7 and 14 of the last rank are 100 and 200, any of the one before 800, and of the first 3,200 or more."""
    weights = ((0, 5), (1, 10), (2, 7), (2, 14), (0, 6))
    problem = Problem((), tuple(Task(0, rank, weight) for rank, weight in weights), (), ())
    assert prizes(problem, range(5), 100) == {2: 100, 3: 200, 1: 800, 0: 3200, 4: 3840}
    assert prizes(problem, [2], 0) == {2: 1}


def test_better_orders_are_told_of_seldom(monkeypatch: pytest.MonkeyPatch) -> None:
    """First after a quarter of a second; where telling took 0.125 s, next after 6.25 s, so that it takes a fiftieth."""
    clock = [100.0]
    monkeypatch.setattr("routing.planning.model.engine.time.monotonic", lambda: clock[0])
    told: list[object] = []

    def hear(orders: object) -> None:
        told.append(orders)
        clock[0] += 0.125

    telling = Telling(hear)
    for now, due in ((100.0, False), (100.24, False), (100.25, True)):
        clock[0] = now
        assert telling.due() is due
    telling.tell(((),))
    assert told == [((),)]
    for now, due in ((100.375 + 6.24, False), (100.375 + 6.25, True)):
        clock[0] = now
        assert telling.due() is due
    nobody = Telling(None)
    clock[0] += 100
    assert not nobody.due()
    nobody.tell(((),))
    limit = Limit(10, deadline=clock[0] + 1)
    assert (limit.over(99), limit.seconds_left(), replace(limit, deadline=clock[0]).over(0)) == (False, 1, True)
    assert [Limit(10).over(number) for number in (9, 10)] == [False, True]
    assert replace(limit, deadline=clock[0] - 5).seconds_left() == 0
    assert limit.share_over(clock[0] - 3, 0, 1) == 0.75
    assert Limit(10).share_over(0, 10, 4) == 0.25
