"""Clock times by arithmetic that stands in the test."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from routing.planning.model.lateness import lateness
from routing.planning.model.problem import NO_LIMIT, Planned, Problem, Route, Supply, Task, Visit
from routing.planning.model.timing import second_break_due, timeline
from tests.planning.random_problems import every_order, random_problem

HOUR = 3600


def two_stops(**route: int) -> Problem:
    """Return base, A (window 9 to 12) and B (window 11 to 13), every drive 30 min, every stop 20 + 40 min."""
    seconds = np.full((3, 3), 1800, dtype=np.int64)
    np.fill_diagonal(seconds, 0)
    rules = {
        "earliest_leave": 7 * HOUR,
        "home_by": 20 * HOUR,
        "break_seconds": 0,
        "break_after_seconds": 6 * HOUR,
    } | route
    return Problem(
        supplies=(Supply(0, NO_LIMIT, 1, 1),),
        tasks=(Task(1200, 0, 7), Task(1200, 0, 7)),
        visits=(Visit(1, 9 * HOUR, 12 * HOUR, (0,)), Visit(2, 11 * HOUR, 13 * HOUR, (1,))),
        routes=(
            Route(
                payload_grams=1,
                space_millilitres=1,
                work_seconds=(2400, 2400),
                allowed=(True, True),
                drive_seconds=seconds,
                drive_metres=seconds,
                **rules,
            ),
        ),
    )


AB = (Planned(0, (0,)), Planned(1, (1,)))


def test_base_is_left_as_late_as_costs_nothing() -> None:
    """B opens at 11:00, so home is 11:00 + 1:00 + 0:30 = 12:30 at the earliest; leaving at 09:00 still gives that."""
    times = timeline(two_stops(), 0, AB)
    assert times is not None
    assert times.home == 12.5 * HOUR
    assert times.leave == 9 * HOUR
    assert times.arrives == (9.5 * HOUR, 11 * HOUR)
    assert times.starts == (9.5 * HOUR, 11 * HOUR)
    assert times.away == 3.5 * HOUR


def test_a_window_bounds_the_late_departure() -> None:
    """A closes at 10:15, so its 60 min begin at 09:15 at the latest, base is left at 08:45, and B is waited for."""
    problem = two_stops()
    early = dataclasses.replace(problem.visits[0], closes=10 * HOUR + 900)
    times = timeline(dataclasses.replace(problem, visits=(early, problem.visits[1])), 0, AB)
    assert times is not None
    assert times.leave == 8 * HOUR + 2700
    assert times.starts[1] - times.arrives[1] == 900


def test_a_finish_on_the_closing_second_fits_and_one_second_more_does_not() -> None:
    """B may start at 12:00 at the latest; a crew that leaves at 10:00 is there then, one that leaves later is not."""
    fits, late = two_stops(earliest_leave=10 * HOUR), two_stops(earliest_leave=10 * HOUR + 1)
    times = timeline(fits, 0, AB)
    assert times is not None
    assert times.finishes[1] == 13 * HOUR
    assert timeline(late, 0, AB) is None
    assert lateness(late, 0, AB) is not None
    assert lateness(late, 0, AB).light == 1  # type: ignore[union-attr]


def test_home_by_is_kept_to_the_second() -> None:
    """The earliest home is 12:30."""
    assert timeline(two_stops(home_by=int(12.5 * HOUR)), 0, AB) is not None
    assert timeline(two_stops(home_by=int(12.5 * HOUR) - 1), 0, AB) is None


@pytest.mark.parametrize(("after", "rests"), [(int(3.5 * HOUR), False), (int(3.5 * HOUR) - 1, True)])
def test_a_break_is_taken_only_when_the_day_is_longer_than_the_rule(after: int, *, rests: bool) -> None:
    """Away is 3 h 30 without a break: at that limit there is none, one second under it there is one of 20 min."""
    times = timeline(two_stops(break_seconds=1200, break_after_seconds=after), 0, AB)
    assert times is not None
    assert (times.rest is not None) is rests
    assert times.away == 3.5 * HOUR + (1200 if rests else 0)


def test_of_breaks_that_cost_the_same_the_one_nearest_the_middle_of_the_day_is_taken() -> None:
    """Before A, after A or before B: base is left at 08:40 for home at 12:30 each time; the middle is 10:35.

    With a drive home that is an hour longer the middle is 11:05, and the break that begins at 10:40 at B is nearer than
    that from 10:10 at A.
    """
    for home, stop, begins in ((1800, 0, 10 * HOUR + 600), (5400, 1, 10 * HOUR + 2400)):
        times = timeline(longer_home(two_stops(break_seconds=1200, break_after_seconds=3 * HOUR), home), 0, AB)
        assert times is not None
        assert times.rest is not None
        assert (times.leave, times.home) == (8 * HOUR + 2400, 11 * HOUR + 3600 + home)
        assert (times.rest.stop, times.rest.start) == (stop, begins)
        assert times.starts[1] == 11 * HOUR


def longer_home(problem: Problem, seconds: int) -> Problem:
    """Return the problem with so long a drive home from B."""
    drives = problem.routes[0].drive_seconds.copy()
    drives[2, 0] = seconds
    return dataclasses.replace(problem, routes=(dataclasses.replace(problem.routes[0], drive_seconds=drives),))


def test_a_wait_that_is_as_long_counts_as_the_break() -> None:
    """A closes at 10:15, so B is waited for 15 min: a break of 15 costs nothing, one of 20 five minutes."""
    for seconds, extra in ((900, 0), (1200, 300)):
        problem = two_stops(break_seconds=seconds, break_after_seconds=3 * HOUR)
        early = dataclasses.replace(problem.visits[0], closes=10 * HOUR + 900)
        times = timeline(dataclasses.replace(problem, visits=(early, problem.visits[1])), 0, AB)
        assert times is not None
        assert times.rest is not None
        assert times.away == 3.75 * HOUR + extra


def test_the_break_is_begun_in_time_or_on_arrival_at_the_first_stop() -> None:
    """After 90 min A is just finished and a break may begin there; after 89 only before A, when base was left sooner."""
    for after, stop in ((90, 0), (89, 0)):
        times = timeline(two_stops(break_seconds=1200, break_after_seconds=after * 60), 0, AB)
        assert times is not None
        assert times.rest is not None
        assert times.rest.stop == stop
        assert times.rest.start == (times.finishes[0] if after == 90 else times.arrives[0])
    times = timeline(two_stops(break_seconds=1200, break_after_seconds=60), 0, AB)
    assert times is not None
    assert times.rest is not None
    assert times.rest.start == times.leave + 1800


def test_a_window_too_short_for_work_and_break_is_used_all_the_same() -> None:
    """A is open from 9 to 10, just as long as its work: the break lies outside, before or after it."""
    problem = two_stops(break_seconds=1200, break_after_seconds=3 * HOUR)
    short = dataclasses.replace(problem.visits[0], closes=10 * HOUR)
    times = timeline(dataclasses.replace(problem, visits=(short, problem.visits[1])), 0, AB)
    assert times is not None
    assert times.rest is not None
    assert (times.starts[0], times.finishes[0]) == (9 * HOUR, 10 * HOUR)


def test_no_break_is_at_a_suspect_site_where_another_place_serves() -> None:
    """The break that would be at B is at A where B is suspect, and where both are it is at B again."""
    for marked, stop in (((False, False), 1), ((False, True), 0), ((True, True), 1)):
        problem = longer_home(two_stops(break_seconds=1200, break_after_seconds=3 * HOUR), 5400)
        visits = tuple(
            dataclasses.replace(visit, last_of_day=last) for visit, last in zip(problem.visits, marked, strict=True)
        )
        times = timeline(dataclasses.replace(problem, visits=visits), 0, AB)
        assert times is not None
        assert times.rest is not None
        assert times.rest.stop == stop


def test_a_second_break_is_due_where_the_way_on_is_longer_than_the_rule() -> None:
    """The break ends at 10:30, home is at 12:30: after 120 min no second one is due, after 119 one is."""
    for after, due in ((120, False), (119, True)):
        rules = two_stops(break_seconds=1200, break_after_seconds=after * 60).routes[0]
        times = timeline(two_stops(break_seconds=1200, break_after_seconds=2 * HOUR), 0, AB)
        assert times is not None
        assert second_break_due(rules, times) is due


def test_an_unreachable_place_has_no_times() -> None:
    """Where there is no way, there is no timeline and no lateness."""
    problem = two_stops()
    cut = problem.routes[0].drive_seconds.copy()
    cut[1, 2] = -1
    problem = dataclasses.replace(problem, routes=(dataclasses.replace(problem.routes[0], drive_seconds=cut),))
    assert timeline(problem, 0, AB) is None
    assert lateness(problem, 0, AB) is None


def test_every_timeline_keeps_every_window_and_cannot_leave_later() -> None:
    """On random days: starts follow arrivals, work lies in its window, and a departure one second later costs."""
    seen = 0
    for seed in range(12):
        problem = random_problem(seed, visits=4, features=frozenset({"hours", "break"}))
        for order in every_order(problem):
            times = timeline(problem, 0, order) if order else None
            if times is None:
                continue
            seen += 1
            for planned, start, finish in zip(order, times.starts, times.finishes, strict=True):
                visit = problem.visits[planned.visit]
                assert visit.opens <= start < finish <= visit.closes
            later = dataclasses.replace(problem.routes[0], earliest_leave=times.leave + 1)
            after = timeline(dataclasses.replace(problem, routes=(later,)), 0, order)
            assert after is None or after.home > times.home
    assert seen > 100
