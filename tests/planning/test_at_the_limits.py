"""The model where limits are met on the dot: drives of no time and where there is no way, days as long as they may be."""

from __future__ import annotations

import random
from bisect import bisect_left
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest

from routing.planning.model.lateness import Lateness, lateness
from routing.planning.model.load import (
    carries,
    fewest_trips,
    furthest,
    last_return,
    overload,
    stock_holds,
    stock_left,
    unlimited,
)
from routing.planning.model.problem import (
    LIMITLESS,
    NO_LIMIT,
    Order,
    Planned,
    Problem,
    Route,
    Supply,
    Task,
    Visit,
    quickest_ways,
)
from routing.planning.model.returns import soonest_returns
from routing.planning.model.timing import Return, Timeline, least_away, timeline
from tests.planning.day_by_hand import least_day
from tests.planning.test_timing import AB, HOUR, two_stops
from tests.planning.test_timing_by_scanning import small_problem, some_order


def with_cuts(seed: int) -> Problem:
    """Return a small day of several loads on which some drives take no time and between some places there is no way."""
    problem, dice = small_problem(seed, returns=True), random.Random(seed)
    (route,) = problem.routes
    seconds, metres = route.drive_seconds.copy(), route.drive_metres.copy()
    for here in range(len(seconds)):
        for there in range(len(seconds)):
            drawn = dice.random()
            if here != there and drawn < 0.16:
                seconds[here, there] = metres[here, there] = 0 if drawn < 0.1 else -1
    return replace(problem, routes=(replace(route, drive_seconds=seconds, drive_metres=metres),))


@pytest.mark.parametrize("most_choices", [150, 0])
def test_days_without_a_way_or_with_drives_of_no_time_are_those_of_trying_them_all(
    monkeypatch: pytest.MonkeyPatch, most_choices: int
) -> None:
    """One by one, and by the programme over the stops; a day as long as the longest that may be is still one."""
    monkeypatch.setattr("routing.planning.model.returns.MOST_CHOICES", most_choices)
    returning = 0
    for seed in range(250):
        problem = with_cuts(seed)
        order = some_order(problem, seed)
        expected = least_day(problem, 0, order)
        assert least_away(problem, 0, order) == expected, seed
        times = timeline(problem, 0, order)
        assert (None if times is None else (times.away, times.metres)) == expected, seed
        if expected is None or times is None:
            continue
        returning += bool(times.returns)
        for most, found in ((expected[0], expected), (expected[0] - 1, None)):
            bounded = replace(problem, routes=(replace(problem.routes[0], most_away=most),))
            assert least_away(bounded, 0, order) == found, seed
            assert (timeline(bounded, 0, order) is None) == (found is None), seed
    assert returning > 20


def tight_day(seed: int) -> Problem:
    """Return a day of up to six stops in up to four loads, with windows, a break and marks that leave little choice."""
    dice = random.Random(seed)
    count = dice.randint(3, 6)
    drives = np.array([[0 if i == j else dice.randint(0, 9) for j in range(count + 1)] for i in range(count + 1)])
    drives[dice.randint(1, count), dice.randint(0, count)] = dice.choice([-1, 0])
    marked = dice.randint(0, count)
    visits = []
    for stop in range(count):
        opens = dice.randint(0, 15) * stop
        visits.append(Visit(stop + 1, opens, opens + dice.randint(15, 90), (stop,), 0, stop >= marked))
    route = Route(
        earliest_leave=dice.randint(0, 5),
        home_by=400,
        payload_grams=dice.randint(2, 3),
        space_millilitres=LIMITLESS,
        break_seconds=dice.choice([0, 5, 15]),
        break_after_seconds=dice.randint(5, 60),
        work_seconds=tuple(dice.randint(1, 8) for _ in range(count)),
        allowed=(True,) * count,
        drive_seconds=drives,
        drive_metres=drives * 2 + (drives > 4),
        most_trips=dice.randint(2, 4),
        reload_seconds=dice.randint(0, 4),
    )
    task = Task(0, 0, 7, uses=((0, 1),))
    return Problem((Supply(0, NO_LIMIT, 1, 0),), (task,) * count, tuple(visits), (route,))


def with_home_by(problem: Problem, home_by: int) -> Problem:
    return replace(problem, routes=(replace(problem.routes[0], home_by=home_by),))


def test_the_soonest_home_by_that_can_be_kept_is_kept_by_the_programme_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of days that get shorter by the second, the last that is possible by hand is the last that is found, as good."""
    monkeypatch.setattr("routing.planning.model.returns.MOST_CHOICES", 0)
    kept = 0
    for seed in range(80):
        problem = tight_day(seed)
        order = tuple(Planned(stop, (stop,)) for stop in range(len(problem.visits)))
        if least_day(problem, 0, order) is None:
            assert least_away(problem, 0, order) is None, seed
            continue
        last = bisect_left(range(400), 1, key=lambda by: least_day(with_home_by(problem, by), 0, order) is not None)
        for home_by in (400, last + 3, last + 1, last, last - 1):
            day = with_home_by(problem, home_by)
            expected = least_day(day, 0, order)
            assert least_away(day, 0, order) == expected, (seed, home_by)
            times = timeline(day, 0, order)
            assert (None if times is None else (times.away, times.metres)) == expected, (seed, home_by)
            kept += times is not None and bool(times.returns)
    assert kept > 15


@pytest.mark.parametrize(("closes", "away", "stop"), [(32, 54, 1), (39, 54, None)])
def test_the_programme_rests_at_a_suspect_site_for_want_of_another(
    monkeypatch: pytest.MonkeyPatch, closes: int, away: int, stop: int | None
) -> None:
    """Out at 5 to 10, back at 15, off at 19, at the second from 24 to 29, at the third from 34 to 39, and home at 44.

    The second closes at 32: a break of 10 before it is too long, so it is after it, though both sites are suspect. Where
    it closes at 39 the break is at base.
    """
    monkeypatch.setattr("routing.planning.model.returns.MOST_CHOICES", 0)
    drives = np.full((4, 4), 5) - 5 * np.eye(4, dtype=np.int64)
    route = replace(
        many_loads(10).routes[0], payload_grams=2, break_after_seconds=30, drive_seconds=drives, drive_metres=drives
    )
    spans = ((100, False), (closes, True), (100, True))
    visits = tuple(Visit(n + 1, 0, end, (n,), last_of_day=last) for n, (end, last) in enumerate(spans))
    problem = replace(many_loads(10), visits=visits, routes=(route,))
    order = tuple(Planned(stop, (stop,)) for stop in range(3))
    assert least_day(problem, 0, order) == least_away(problem, 0, order) == (away, 25)
    times = timeline(problem, 0, order)
    assert times is not None
    assert times.rest is not None
    assert times.rest.stop == stop


def home_whatever_is_missed(problem: Problem, order: Order, returns: tuple[int, ...]) -> int | None:
    """Return when a crew that leaves at once is home, no window closed and no break taken; None where there is no way."""
    rules, here, now = problem.routes[0], 0, problem.routes[0].earliest_leave
    for number, planned in enumerate(order):
        visit = problem.visits[planned.visit]
        legs = [(here, 0), (0, visit.place)] if number in returns else [(here, visit.place)]
        if any(rules.drive_seconds[leg] < 0 for leg in legs):
            return None
        now += sum(int(rules.drive_seconds[leg]) for leg in legs) + rules.reload_seconds * (len(legs) - 1)
        now = max(now, visit.opens) + problem.on_site_seconds(0, planned)
        here = visit.place
    return None if rules.drive_seconds[here, 0] < 0 else now + int(rules.drive_seconds[here, 0])


def test_the_soonest_returns_are_those_of_trying_them_all() -> None:
    """Of all returns by which every trip can be carried and base is not come back to from a suspect site."""
    found = 0
    for seed in range(400):
        problem = with_cuts(seed)
        order, rules = some_order(problem, seed), problem.routes[0]
        homes: dict[tuple[int, ...], int] = {}
        for count in range(rules.most_trips):
            for returns in combinations(range(1, len(order)), count):
                fits = all(b - a <= rules.payload_grams for a, b in pairwise((0, *returns, len(order))))
                healthy = not any(problem.visits[order[stop - 1].visit].last_of_day for stop in returns)
                home = home_whatever_is_missed(problem, order, returns)
                if fits and healthy and home is not None:
                    homes[returns] = home
        chosen = soonest_returns(problem, 0, rules, order)
        assert (chosen is None) == (not homes), seed
        if chosen is not None:
            assert homes[chosen] == min(homes.values()), seed
            found += bool(chosen)
    assert found > 20


def test_a_load_goes_as_far_as_the_vehicle_carries_to_the_gram() -> None:
    """Three stops of 4 kg each: 8 kg carry two of them, a gram less one, and a gram less than 4 none."""
    task = Task(0, 0, 7, uses=((0, 4000),), back=((1, 0),))
    visits = tuple(Visit(stop + 1, 0, 100, (stop,), last_of_day=stop == 2) for stop in range(3))
    rules = two_stops().routes[0]
    problem = Problem((Supply(0, NO_LIMIT, 1, 0), Supply(0, NO_LIMIT, 1, 1)), (task,) * 3, visits, (rules,))
    order = tuple(Planned(stop, (stop,)) for stop in range(3))
    for grams, reach in (
        (12_000, [3, 3, 3]),
        (11_999, [2, 3, 3]),
        (8000, [2, 3, 3]),
        (7999, [1, 2, 3]),
        (3999, [0, 1, 2]),
    ):
        assert furthest(problem, replace(rules, payload_grams=grams, space_millilitres=0), order) == reach
    assert last_return(problem, order) == 2
    assert last_return(problem, order[:2]) == 1


def test_what_is_loaded_and_brought_is_held_against_both_measures() -> None:
    """Each stop uses 1 litre and brings 3 back: of 5 litres on leaving base for two, 7 are on board after the second."""
    task = Task(0, 0, 7, uses=((0, 1000),), back=((1, 3000),), carried=((1, 500),))
    visits = tuple(Visit(stop + 1, 0, 100, (stop,)) for stop in range(2))
    rules = replace(two_stops().routes[0], payload_grams=LIMITLESS)
    problem = Problem((Supply(0, NO_LIMIT, 0, 1), Supply(0, NO_LIMIT, 0, 1)), (task,) * 2, visits, (rules,))
    order = tuple(Planned(stop, (stop,)) for stop in range(2))
    # after the first: 1 litre still to be used and 3 brought, and half a litre within it; after the second: 6 and a half
    for millilitres, reach in ((6500, [2, 2]), (6499, [1, 2]), (3500, [1, 2]), (3499, [0, 1])):
        assert furthest(problem, replace(rules, space_millilitres=millilitres), order) == reach


def test_lateness_with_a_break_is_that_of_the_gap_that_makes_it_least() -> None:
    """Left at 10:00:01 with a break of 20 min due: B, which closes at 13:00, is finished at 13:20:01 wherever it lies."""
    late = two_stops(earliest_leave=10 * HOUR + 1, break_seconds=1200, break_after_seconds=HOUR)
    assert timeline(late, 0, AB) is None
    assert lateness(late, 0, AB) == Lateness(light=1201, hours=0, home=0)
    roomy = two_stops(earliest_leave=10 * HOUR + 1, break_seconds=1200, break_after_seconds=int(3.5 * HOUR))
    assert lateness(roomy, 0, AB) == Lateness(light=1, hours=0, home=0)
    tired = two_stops(earliest_leave=10 * HOUR + 1, break_seconds=1200, break_after_seconds=int(3.5 * HOUR) - 1)
    assert lateness(tired, 0, AB) == Lateness(light=1201, hours=0, home=0)


def test_lateness_tells_light_from_gates_and_home() -> None:
    """A is shut at 12:00 by its gate and B at 13:00 by the dark; from 12:00 A is 90 min late, B is 120 and home 150."""
    problem = two_stops(earliest_leave=12 * HOUR, home_by=13 * HOUR)
    gate = replace(problem.visits[0], closed_by_light=False)
    told = lateness(replace(problem, visits=(gate, problem.visits[1])), 0, AB)
    assert told == Lateness(light=2 * HOUR, hours=HOUR + 1800, home=2 * HOUR + 1800)
    assert told.total == 6 * HOUR
    gates = tuple(replace(visit, closed_by_light=False) for visit in problem.visits)
    assert lateness(replace(problem, visits=gates), 0, AB) == Lateness(0, 2 * HOUR, 2 * HOUR + 1800)
    assert lateness(problem, 0, AB) == Lateness(2 * HOUR, 0, 2 * HOUR + 1800)


def test_lateness_counts_a_wait_as_break() -> None:
    """A closes at 9:00, so it is 30 min late; B is waited for from 10:00 to 11:00, which holds the break of 20 min."""
    problem = two_stops(earliest_leave=8 * HOUR, break_seconds=1200, break_after_seconds=2 * HOUR)
    early = replace(problem.visits[0], opens=8 * HOUR, closes=9 * HOUR)
    assert lateness(replace(problem, visits=(early, problem.visits[1])), 0, AB) == Lateness(1800, 0, 0)


def test_the_quickest_ways_go_by_whatever_places() -> None:
    """0 to 2 is 9 straight and 5 by way of 1; nothing leads to 3, and from 3 only to 1."""
    seconds = np.array([[0, 2, 9, -1], [4, 0, 3, -1], [1, 7, 0, -1], [-1, 5, -1, 0]])
    expected = np.array([[0, 2, 5, -1], [4, 0, 3, -1], [1, 3, 0, -1], [9, 5, 8, 0]])
    assert (quickest_ways(seconds) == expected).all()


def many_loads(rest: int) -> Problem:
    """Return three stops, each a load of its own and at the dark end of a drive of 10, with a break of this long."""
    drives = np.full((4, 4), 10) - 10 * np.eye(4, dtype=np.int64)
    route = Route(
        earliest_leave=0,
        home_by=500,
        payload_grams=1,
        space_millilitres=1,
        break_seconds=rest,
        break_after_seconds=60,
        work_seconds=(5, 5, 5),
        allowed=(True,) * 3,
        drive_seconds=drives,
        drive_metres=drives,
        most_trips=3,
        reload_seconds=4,
    )
    visits = tuple(Visit(stop + 1, 0, 400, (stop,)) for stop in range(3))
    return Problem((Supply(0, NO_LIMIT, 1, 0),), (Task(0, 0, 7, uses=((0, 1),)),) * 3, visits, (route,))


def test_a_break_at_base_tells_which_return_it_is_at() -> None:
    """Back at 25 and at 54, home at 83. The middle is 41: the first return is at 25, the second begins its break at 54."""
    order = tuple(Planned(stop, (stop,)) for stop in range(3))
    plain = timeline(many_loads(0), 0, order)
    assert plain is not None
    assert [(back.before, back.arrive, back.start, back.finish) for back in plain.returns] == [
        (1, 25, 25, 29),
        (2, 54, 54, 58),
    ]
    assert plain.home == 83
    # the first stop opens at 30, so that a break at the first return would be far from the middle
    late = many_loads(8)
    times = timeline(late, 0, order)
    assert times is not None
    assert times.rest is not None
    assert times.rest.back in {0, 1}
    back = times.returns[times.rest.back]
    assert (back.arrive, back.start, back.finish) == (times.rest.start, back.arrive + 8, back.arrive + 12)
    assert times.home == 91
    assert [back.finish - back.start for back in times.returns] == [4, 4]


def stocked(*stocks: int) -> Problem:
    """Return three tasks: 4 of the first supply, 6 of it, and 5 of the second; of the first the third names none."""
    uses = (((0, 4),), ((0, 6),), ((0, 0), (1, 5)))
    tasks = tuple(Task(0, 0, 7, uses=each) for each in uses)
    return Problem(tuple(Supply(0, stock, 1, 0) for stock in stocks), tasks, (), ())


@pytest.mark.parametrize(
    ("stocks", "left", "free"),
    [
        ((10, 5), [0, 0], {0, 1, 2}),
        ((9, 5), [-1, 0], {2}),
        ((10, 4), [0, -1], {0, 1}),
        ((9, 4), [-1, -1], set()),
        ((NO_LIMIT, 4), [NO_LIMIT, -1], {0, 1}),
        ((NO_LIMIT, NO_LIMIT), [NO_LIMIT, NO_LIMIT], {0, 1, 2}),
        ((0, NO_LIMIT), [-10, NO_LIMIT], {2}),
    ],
)
def test_a_stock_that_is_just_enough_limits_nothing(stocks: tuple[int, int], left: list[int], free: set[int]) -> None:
    problem = stocked(*stocks)
    assert stock_left(problem, range(3)) == left
    assert stock_holds(problem, range(3)) is (len(free) == 3)
    assert unlimited(problem, frozenset(range(3))) == free


@pytest.mark.parametrize(
    ("payload", "trips", "over", "fewest"),
    [
        # one load of 12 kg
        (12_000, 1, 0, 1),
        (11_999, 1, 1, 2),
        # at best 8 and 4 kg
        (8000, 2, 0, 2),
        (7999, 2, 1, 3),
        # a load for each stop
        (4000, 3, 0, 3),
        (3990, 3, 10, None),
        (3990, 6, 10, None),
    ],
)
def test_an_order_is_over_by_what_its_trips_lack(payload: int, trips: int, over: int, fewest: int | None) -> None:
    """Three stops of 4 kg each."""
    rules = replace(two_stops().routes[0], payload_grams=payload, space_millilitres=0, most_trips=trips)
    visits = tuple(Visit(stop + 1, 0, 100, (stop,)) for stop in range(3))
    problem = Problem((Supply(0, NO_LIMIT, 1, 0),), (Task(0, 0, 7, uses=((0, 4000),)),) * 3, visits, (rules,))
    order = tuple(Planned(stop, (stop,)) for stop in range(3))
    assert overload(problem, 0, order) == (over, 0)
    assert carries(problem, 0, order) is (over == 0)
    assert fewest_trips(problem, rules, order) == fewest


def test_nothing_is_carried_on_from_a_suspect_site_to_another_load() -> None:
    """Three stops of 4 kg for 8 kg: from the second, where it is suspect, base is not come back to."""
    rules = replace(two_stops().routes[0], payload_grams=8000, space_millilitres=0, most_trips=3)
    task = Task(0, 0, 7, uses=((0, 4000),))
    order = tuple(Planned(stop, (stop,)) for stop in range(3))
    for suspect, trips in (((False, False, True), 2), ((False, True, True), 2), ((True, True, True), None)):
        visits = tuple(Visit(stop + 1, 0, 100, (stop,), last_of_day=last) for stop, last in enumerate(suspect))
        problem = Problem((Supply(0, NO_LIMIT, 1, 0),), (task,) * 3, visits, (rules,))
        assert fewest_trips(problem, rules, order) == trips


def told_again(problem: Problem, order: Order, times: Timeline) -> Timeline:
    """Return the times that follow from the departure, the returns and the place of the break alone."""
    rules, rest, clock, here = problem.routes[0], times.rest, times.leave, 0
    arrives: list[int] = []
    starts: list[int] = []
    finishes: list[int] = []
    returns: list[Return] = []
    before = {back.before: number for number, back in enumerate(times.returns)}
    pause = 0 if rest is None else rest.seconds
    for stop, planned in enumerate(order):
        visit = problem.visits[planned.visit]
        if stop in before:
            arrive = clock + int(rules.drive_seconds[here, 0])
            start = arrive + (pause if rest is not None and rest.back == before[stop] else 0)
            returns.append(Return(stop, arrive, start, start + rules.reload_seconds))
            clock, here = start + rules.reload_seconds, 0
        arrives.append(clock + int(rules.drive_seconds[here, visit.place]))
        at_work = rest is not None and rest.back is None and rest.stop == stop
        ready = arrives[-1] + (pause if at_work and rest is not None and rest.start < times.starts[stop] else 0)
        starts.append(max(ready, visit.opens))
        finishes.append(starts[-1] + problem.on_site_seconds(0, planned))
        clock = finishes[-1] + (pause if at_work and rest is not None and rest.start >= times.finishes[stop] else 0)
        here = visit.place
    home = clock + int(rules.drive_seconds[here, 0])
    return Timeline(
        times.leave, tuple(arrives), tuple(starts), tuple(finishes), home, rest, times.metres, tuple(returns)
    )


def test_every_time_of_a_day_follows_from_those_before() -> None:
    """With the break before work, after it, or at base; it begins as work ends or as the crew arrives."""
    places = {"before": 0, "after": 0, "base": 0}
    for seed in range(150):
        for problem in (with_cuts(seed), tight_day(seed)):
            order = some_order(problem, seed)
            times = timeline(problem, 0, order)
            if times is None:
                continue
            assert told_again(problem, order, times) == times, seed
            if times.rest is None:
                continue
            assert times.rest.seconds == problem.routes[0].break_seconds
            if times.rest.back is not None:
                places["base"] += 1
                assert times.rest.stop is None
                assert times.rest.start == times.returns[times.rest.back].arrive
                continue
            assert times.rest.stop is not None
            first = times.rest.start < times.starts[times.rest.stop]
            places["before" if first else "after"] += 1
            assert times.rest.start == (times.arrives if first else times.finishes)[times.rest.stop], seed
    assert min(places.values()) > 3
