"""What engines are given of a problem, and the rough sum of light, by arithmetic that stands in the test."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from routing.planning.model.frame import NO_WAY, Client, build_frame, loads_of
from routing.planning.model.problem import LIMITLESS, NO_LIMIT, Planned, Problem, Route, Supply, Task, Visit
from routing.planning.model.scarce_light import Light, bound_by_light, light_of

DAY = 86_400


def three_stops(**change: Any) -> Problem:
    """Return base and three places: 100 out to each and back, 60 between them; work 300, 400 and 500, set-up 30, walk 5."""
    drives = np.full((4, 4), 60, dtype=np.int64)
    drives[0, :] = drives[:, 0] = 100
    np.fill_diagonal(drives, 0)
    route = Route(
        earliest_leave=1000,
        home_by=5000,
        payload_grams=1,
        space_millilitres=1,
        break_seconds=0,
        break_after_seconds=0,
        work_seconds=(300, 400, 500),
        allowed=(True,) * 3,
        drive_seconds=drives,
        drive_metres=drives * 10,
    )
    tasks = tuple(Task(30, rank, 7) for rank in (0, 0, 1))
    visits = tuple(Visit(stop + 1, 1200, 3000, (stop,), walk_seconds=5) for stop in range(3))
    return Problem((), tasks, visits, (replace(route, **change),))


EVERY = frozenset(range(3))


def test_a_client_is_a_task_in_its_window_and_arcs_hold_walk_and_set_up() -> None:
    """Clocks count from 1000. Into each place go 5 and 30; who leaves base is at work 135 later, who comes on 95 later."""
    frame = build_frame(three_stops(), EVERY)
    assert frame.clients[0] == Client(0, 1, 200, 2000, {0: 0}, 300, 35)
    assert [client.service for client in frame.clients] == [300, 400, 500]
    (arcs,) = frame.profiles
    expected = np.array([[0, 135, 135, 135], [100, 0, 95, 95], [100, 95, 0, 95], [100, 95, 95, 0]])
    assert (arcs == expected).all()
    (kind,) = frame.kinds
    assert (kind.earliest, kind.latest, kind.rest, kind.trips, kind.longest) == (0, 4000, 0, 1, NO_LIMIT)
    assert frame.prize_detour == 2 * 135 + 500
    assert frame.clients_of_task == {0: [0], 1: [1], 2: [2]}
    assert (frame.metres()[0] == three_stops().routes[0].drive_metres).all()
    assert frame.clients[0].starts == (235, 1700)


@pytest.mark.parametrize(("after", "rest"), [(4000, 0), (3999, 600)])
def test_the_break_of_a_day_that_may_need_one_is_left_room_for(after: int, rest: int) -> None:
    """The crew can be away for 4,000 s: no break is due after 4,000, one is after 3,999."""
    (kind,) = build_frame(three_stops(break_seconds=600, break_after_seconds=after), EVERY).kinds
    assert (kind.earliest, kind.latest, kind.rest) == (rest, 4000, rest)
    (kind,) = build_frame(three_stops(break_seconds=600, break_after_seconds=2000, most_away=2500), EVERY).kinds
    assert (kind.rest, kind.longest) == (600, 1900)


def test_what_a_crew_may_not_do_and_where_there_is_no_way_is_shut() -> None:
    problem = three_stops()
    cut = problem.routes[0].drive_seconds.copy()
    cut[2, 3] = -1
    frame = build_frame(three_stops(drive_seconds=cut, allowed=(False, True, True)), EVERY)
    assert [client.task for client in frame.clients] == [1, 2]
    assert (frame.profiles[0] == np.array([[0, 135, 135], [100, 0, NO_WAY], [100, 95, 0]])).all()
    suspect = replace(problem.visits[0], last_of_day=True)
    (arcs,) = build_frame(replace(problem, visits=(suspect, *problem.visits[1:])), EVERY).profiles
    assert (arcs[1] == np.array([100, 0, NO_WAY, NO_WAY])).all()
    assert (arcs[:, 1] == np.array([135, 0, 95, 95])).all()


@pytest.mark.parametrize(
    ("opens", "closes", "clients"),
    [(1200, 0, 1), (1201, 0, 2), (0, 1200, 1), (0, 1201, 2), (-1200, 0, 1), (0, -1201, 2)],
)
def test_windows_of_two_days_are_joined_while_neither_end_is_20_minutes_apart(
    opens: int, closes: int, clients: int
) -> None:
    problem = three_stops()
    first = Visit(1, 3000, 9000, (0,))
    second = Visit(1, DAY + 3000 + opens, DAY + 9000 + closes, (0,), day=1)
    routes = (problem.routes[0], replace(problem.routes[0], earliest_leave=DAY + 1000, home_by=DAY + 5000, day=1))
    frame = build_frame(replace(problem, visits=(first, second), routes=routes), frozenset({0}))
    assert len(frame.clients) == clients
    if clients == 1:
        assert frame.clients[0].visit_of_day == {0: 0, 1: 1}
        assert (frame.clients[0].opens, frame.clients[0].closes) == (2000 + max(0, opens), 8000 + min(0, closes))


@pytest.mark.parametrize(
    ("second", "third", "clients"), [(-600, 1199, 2), (600, -1199, 2), (-600, 600, 1), (600, -600, 1)]
)
@pytest.mark.parametrize("end", ["opens", "closes"])
def test_a_third_day_is_held_against_both_others(second: int, third: int, clients: int, end: str) -> None:
    """It lies within 20 minutes of the first, but not of the second: then it is a client of its own."""
    problem = three_stops()
    visits = [Visit(1, 3000, 9000, (0,))]
    for day, off in ((1, second), (2, third)):
        opens, closes = (off, 0) if end == "opens" else (0, off)
        visits.append(Visit(1, day * DAY + 3000 + opens, day * DAY + 9000 + closes, (0,), day=day))
    routes = tuple(
        replace(problem.routes[0], earliest_leave=day * DAY + 1000, home_by=day * DAY + 5000, day=day)
        for day in range(3)
    )
    frame = build_frame(replace(problem, visits=tuple(visits), routes=routes), frozenset({0}))
    assert len(frame.clients) == clients
    if clients == 1:
        narrowed = (2600, 8000) if end == "opens" else (2000, 7400)
        assert (frame.clients[0].opens, frame.clients[0].closes) == narrowed


@pytest.mark.parametrize(("closes", "there"), [(1535, True), (1534, False)])
def test_a_window_that_just_holds_walk_set_up_and_work_is_a_client(closes: int, *, there: bool) -> None:
    """1,200 + 5 + 30 + 300."""
    problem = three_stops()
    narrow = replace(problem.visits[0], closes=closes)
    frame = build_frame(replace(problem, visits=(narrow, *problem.visits[1:])), EVERY)
    assert (0 in frame.clients_of_task) is there


def test_sequences_become_orders_and_orders_sequences() -> None:
    """Two tasks of one place in a row are one stop, where a visit holds both; the longer set-up goes first."""
    problem = three_stops()
    tasks = (Task(30, 0, 7), Task(60, 0, 7), Task(30, 1, 7))
    visits = (Visit(1, 1200, 3000, (0, 1)), Visit(2, 1200, 3000, (2,)), Visit(2, 1200, 1300, ()))
    frame = build_frame(replace(problem, tasks=tasks, visits=visits), EVERY)
    assert frame.order(0, [0, 1, 2]) == (Planned(0, (0, 1)), Planned(1, (2,)))
    assert frame.order(0, [0, 2, 1]) == (Planned(0, (0,)), Planned(1, (2,)), Planned(0, (1,)))
    assert frame.sequence((Planned(0, (0, 1)), Planned(1, (2,)))) == [1, 0, 2]
    (arcs,) = frame.profiles
    # at one place only what the longer set-up takes more is added
    assert (arcs[1, 2], arcs[2, 1]) == (30, 0)
    assert loads_of(problem, 0) == ((0, 0), (0, 0))
    loaded = replace(problem, supplies=(Supply(0, NO_LIMIT, 1, 0.5),), tasks=(Task(0, 0, 7, ((0, 3),), ((0, 4),)),))
    assert loads_of(loaded, 0) == ((3, 2), (4, 2))


def light(seconds: int, crew_days: int = 1) -> Light:
    """Return light and three tasks of ranks 0, 0 and 1: work 300, 400 and 500, 95 from one to the next."""
    ways = np.full((3, 3), 95, dtype=np.int64)
    np.fill_diagonal(ways, NO_WAY)
    tasks, ranks, weights, work = np.array([[0, 1, 2], [0, 0, 1], [7, 7, 7], [300, 400, 500]], dtype=np.int64)
    return Light(seconds, crew_days, tasks, ranks, weights, work, ways)


@pytest.mark.parametrize(
    ("seconds", "crew_days", "rank"),
    [
        # the first two need 700 of work and one way of 95; with the third it is 1,200 and two ways
        (1390, 1, None),
        (1389, 1, 1),
        (795, 1, 1),
        (794, 1, 0),
        # two crew-days have a first stop each, so the first rank is never contested
        (1295, 2, None),
        (1294, 2, 1),
        (0, 2, 1),
        (0, 3, None),
    ],
)
def test_a_rank_is_contested_where_it_needs_a_second_more_than_there_is(
    seconds: int, crew_days: int, rank: int | None
) -> None:
    assert light(seconds, crew_days).contested() == rank


def test_the_light_of_a_problem_is_that_between_first_and_last_stop() -> None:
    """From 1,200 to 3,000 the sites have light, 1,800 s; a crew away for 1,500 at most has 1,300 beside two ways of 100."""
    found = light_of(three_stops(), EVERY)
    assert (found.seconds, found.crew_days) == (1800, 1)
    assert found.ranks.tolist() == [0, 0, 1]
    assert found.work.tolist() == [300, 400, 500]
    assert (found.ways == light(0).ways).all()
    assert light_of(three_stops(most_away=1500), EVERY).seconds == 1300
    assert light_of(three_stops(allowed=(False,) * 3), EVERY).seconds == 0
    twice = replace(three_stops(), routes=three_stops().routes * 2)
    assert (light_of(twice, EVERY).seconds, light_of(twice, EVERY).crew_days) == (3600, 2)
    assert light_of(three_stops(most_away=150), EVERY).seconds == 0
    # 100 and 200 out, no way out to the third, and 100 back from either: 250 in the mean
    cut = three_stops().routes[0].drive_seconds.copy()
    cut[0, 2], cut[0, 3] = 200, -1
    assert light_of(three_stops(most_away=1500, drive_seconds=cut), EVERY).seconds == 1250
    for most_away, bound in ((2000, True), (1999, False), (NO_LIMIT, True)):
        frame = build_frame(three_stops(most_away=most_away), EVERY)
        assert bound_by_light(frame, frame.kinds[0]) is bound


def test_what_is_promising_fits_into_one_and_a_half_times_the_light_that_is_left() -> None:
    """The first rank needs 395 and 495; of what is left beside it, 1.5 times is held against the third task's 595."""
    assert light(0).needs(0).tolist() == [395, 495, 0]
    assert light(0).needs(1).tolist() == [395, 495, 595]
    assert light(890 + 1).promising(1) == {0, 1, 2}  # its own need is not yet counted when it is looked at
    assert light(890).promising(0) == {0, 1}
    first = light(395)
    assert first.promising(0) == {0, 1}  # 395 of 592 are taken when the second is looked at
    assert light(263).promising(0) == {0}  # 395 of 394.5
    assert light(264).promising(0) == {0, 1}  # 395 of 396


def test_a_route_that_carries_all_at_once_never_comes_back_to_load() -> None:
    problem = three_stops(payload_grams=LIMITLESS, space_millilitres=LIMITLESS)
    assert problem.heavy == problem.returns == (False,)
    assert problem.relaxation is problem
