"""Times of orders against trying every departure second by second, every gap for the break and every return to base."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import combinations, pairwise

import numpy as np
import pytest

from routing.planning.model.problem import LIMITLESS, NO_LIMIT, Order, Planned, Problem, Route, Supply, Task, Visit
from routing.planning.model.returns import MOST_CHOICES
from routing.planning.model.timing import least_away, timeline
from tests.planning.day_by_hand import least_day


def small_problem(seed: int, *, returns: bool = False) -> Problem:
    """Return a day of up to five stops with narrow windows, suspect sites and a break, drives without a triangle rule."""
    dice = random.Random(seed)
    count = dice.randint(1, 5)
    drives = np.array([[0 if i == j else dice.randint(1, 12) for j in range(count + 1)] for i in range(count + 1)])
    metres = np.array([[0 if i == j else dice.randint(1, 9) for j in range(count + 1)] for i in range(count + 1)])
    visits = []
    for stop in range(count):
        opens = dice.randint(0, 60)
        lasts = dice.randint(30, 120) if returns else dice.randint(5, 50)
        visits.append(Visit(stop + 1, opens, opens + lasts, (stop,), 0, dice.random() < 0.3))
    route = Route(
        earliest_leave=dice.randint(0, 10),
        home_by=dice.randint(60, 130) + 60 * returns,
        payload_grams=dice.randint(2, 4) if returns else LIMITLESS,
        space_millilitres=LIMITLESS,
        break_seconds=dice.randint(0, 10),
        break_after_seconds=dice.randint(5, 60),
        work_seconds=tuple(dice.randint(1, 10) for _ in range(count)),
        allowed=(True,) * count,
        drive_seconds=drives,
        drive_metres=metres,
        most_trips=dice.randint(2, 3) if returns else 1,
        reload_seconds=dice.randint(1, 4),
    )
    task = Task(0, 0, 7, uses=((0, 1),) if returns else ())
    return Problem((Supply(0, NO_LIMIT, 1, 0),), (task,) * count, tuple(visits), (route,))


def some_order(problem: Problem, seed: int) -> Order:
    """Return an order of all stops, suspect ones last."""
    dice = random.Random(seed)
    stops = sorted(range(len(problem.tasks)), key=lambda stop: (problem.visits[stop].last_of_day, dice.random()))
    return tuple(Planned(stop, (stop,)) for stop in stops)


def driven(problem: Problem, order: Order, returns: tuple[int, ...], leave: int, gap: int | None) -> int | None:
    """Return when a crew that leaves at this second is home, None where something is missed."""
    rules, here, now = problem.routes[0], 0, leave
    for number, planned in enumerate(order):
        visit = problem.visits[planned.visit]
        if gap == number and number and now - leave > rules.break_after_seconds:
            return None
        if number in returns:
            now += int(rules.drive_seconds[here, 0]) + rules.reload_seconds
            here = 0
        now += int(rules.drive_seconds[here, visit.place]) + (rules.break_seconds if gap == number else 0)
        now = max(now, visit.opens) + problem.on_site_seconds(0, planned)
        if now > visit.closes:
            return None
        here = visit.place
    now += int(rules.drive_seconds[here, 0])
    return now if now <= rules.home_by else None


def possible_returns(problem: Problem, order: Order) -> Iterator[tuple[int, ...]]:
    """Yield the returns by which each trip carries no more stops than the payload in grams, none where none is needed."""
    rules = problem.routes[0]
    if not problem.returns[0] or len(order) <= rules.payload_grams:
        yield ()
        return
    for count in range(1, rules.most_trips):
        for returns in combinations(range(1, len(order)), count):
            ends = (0, *returns, len(order))
            fits = all(then - first <= rules.payload_grams for first, then in pairwise(ends))
            if fits and not any(problem.visits[order[stop - 1].visit].last_of_day for stop in returns):
                yield returns


def shortest_day(problem: Problem, order: Order) -> tuple[int, int] | None:
    """Return the least seconds away, and then metres, over every departure, gap and way of coming back."""
    rules = problem.routes[0]
    departures = range(rules.earliest_leave, rules.home_by)
    found: dict[bool, list[tuple[int, int]]] = {False: [], True: []}
    for returns in possible_returns(problem, order):
        places = [0, *(problem.visits[planned.visit].place for planned in order), 0]
        for stop in reversed(returns):
            places.insert(stop + 1, 0)
        metres = sum(int(rules.drive_metres[a, b]) for a, b in pairwise(places))

        def least(gap: int | None, returns: tuple[int, ...] = returns) -> int | None:
            homes = ((leave, driven(problem, order, returns, leave, gap)) for leave in departures)
            return min((home - leave for leave, home in homes if home is not None), default=None)

        plain = least(None)
        if plain is None:
            continue
        if rules.break_seconds == 0 or plain <= rules.break_after_seconds:
            found[False].append((plain, metres))
            continue
        for gap in range(len(order)):
            away = least(gap)
            if away is not None:
                suspect = problem.visits[order[max(0, gap - 1)].visit].last_of_day
                found[suspect].append((away, metres))
    return min(found[False] or found[True], default=None)


@pytest.mark.parametrize("returns", [False, True])
def test_the_times_of_an_order_are_those_of_the_shortest_day(*, returns: bool) -> None:
    """Time away and metres are least, and the timeline tells a day that keeps its windows and its break."""
    possible = rested = 0
    for seed in range(250):
        problem = small_problem(seed, returns=returns)
        order = some_order(problem, seed)
        expected = shortest_day(problem, order)
        times = timeline(problem, 0, order)
        assert (None if times is None else (times.away, times.metres)) == expected, seed
        assert least_away(problem, 0, order) == expected, seed
        assert least_day(problem, 0, order) == expected, seed
        if times is None:
            continue
        possible += 1
        for planned, start, finish in zip(order, times.starts, times.finishes, strict=True):
            visit = problem.visits[planned.visit]
            assert visit.opens <= start <= finish <= visit.closes, seed
        if times.rest is not None:
            rested += 1
            first = times.rest.stop == 0 and times.rest.start == times.arrives[0]
            assert first or times.rest.start - times.leave <= problem.routes[0].break_after_seconds, seed
            assert times.rest.start + times.rest.seconds <= times.starts[-1], seed
    assert possible > 80
    assert rested > 25


@pytest.mark.parametrize(("suspect", "away"), [(False, 70), (True, 80)])
def test_a_break_at_a_suspect_site_is_not_taken_though_the_day_would_be_shorter(*, suspect: bool, away: int) -> None:
    """Every drive and work takes 5, the break 10: at the second stop the wait until 80 takes it up.

    It is left at 20 to finish the second by 40, and home is 80 + 5 + 5; with the break before that stop at 10.
    """
    drives = np.full((4, 4), 5) - 5 * np.eye(4, dtype=np.int64)
    spans = [(0, 100, False), (0, 40, suspect), (80, 120, suspect)]
    visits = tuple(Visit(n + 1, opens, closes, (n,), 0, last) for n, (opens, closes, last) in enumerate(spans))
    route = Route(
        earliest_leave=0,
        home_by=200,
        payload_grams=LIMITLESS,
        space_millilitres=LIMITLESS,
        break_seconds=10,
        break_after_seconds=30,
        work_seconds=(5, 5, 5),
        allowed=(True,) * 3,
        drive_seconds=drives,
        drive_metres=drives,
    )
    problem = Problem((), (Task(0, 0, 7),) * 3, visits, (route,))
    order = tuple(Planned(stop, (stop,)) for stop in range(3))
    assert shortest_day(problem, order) == least_away(problem, 0, order) == (away, 20)


def test_many_ways_of_coming_back_are_searched_by_labels_as_well(monkeypatch: pytest.MonkeyPatch) -> None:
    """With room for no list of ways at all, the programme over the stops finds the same shortest days."""
    assert MOST_CHOICES > 0
    monkeypatch.setattr("routing.planning.model.returns.MOST_CHOICES", 0)
    returning = 0
    for seed in range(250):
        problem = small_problem(seed, returns=True)
        order = some_order(problem, seed)
        expected = shortest_day(problem, order)
        assert least_away(problem, 0, order) == expected, seed
        assert least_day(problem, 0, order) == expected, seed
        times = timeline(problem, 0, order)
        returning += times is not None and bool(times.returns)
    assert returning > 20
