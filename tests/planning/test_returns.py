"""Coming back to base to load again, against trying every return by arithmetic that stands in the test."""

from __future__ import annotations

import dataclasses
import itertools
import random
from collections.abc import Iterator

import pytest

from routing.planning.model import returns as returns_module
from routing.planning.model.load import carries, loads, trip_loads
from routing.planning.model.problem import Order, Problem
from routing.planning.model.timing import timeline
from tests.planning.day_by_hand import least_day, possible_returns, work_seconds
from tests.planning.random_problems import every_order, random_problem
from tests.together import in_threes, then_deep

FEATURES = ("hours", "two tasks", "back", "stock", "break", "last", "spans", "space", "moves")
ALONE_AND_TOGETHER = [
    frozenset({"returns", *more}) for size in (0, 1, 2) for more in itertools.combinations(FEATURES, size)
]
IN_THREES = [chosen | {"returns"} for chosen in in_threes(FEATURES)]


def home_from(
    problem: Problem, order: Order, returns: tuple[int, ...], gap: int | None, leave: int, *, in_time: bool = True
) -> int | None:
    """Return when the crew is home that leaves at `leave`, with the break before the work of stop `gap`, if any.

    Where `in_time`, the break must be begun in time.
    """
    rules, now, here = problem.routes[0], leave, 0
    for index, planned in enumerate(order):
        visit = problem.visits[planned.visit]
        if in_time and gap == index and index and now - leave > rules.break_after_seconds:
            return None
        if index in returns:
            now += int(rules.drive_seconds[here, 0]) + rules.reload_seconds
            here = 0
        now += rules.break_seconds if gap == index else 0
        now = max(now + int(rules.drive_seconds[here, visit.place]), visit.opens)
        now += work_seconds(problem, 0, planned)
        if now > visit.closes:
            return None
        here = visit.place
    home = now + int(rules.drive_seconds[here, 0])
    return home if home <= rules.home_by else None


Best = tuple[int, int, int, int]
"""Time away, metres, minus the departure, and how many returns."""


def by_trying(problem: Problem, order: Order) -> Best | None:
    """Return the least time away over all returns and gaps, the shorter way, the later departure, the fewer returns."""
    rules = problem.routes[0]

    def best(returns: tuple[int, ...], gap: int | None) -> Best | None:
        """Of all departures that give the earliest home, the latest, found by halving; there the break begins soonest."""
        home = home_from(problem, order, returns, gap, rules.earliest_leave, in_time=False)
        if home is None:
            return None
        low, high = rules.earliest_leave, home
        while high - low > 1:
            middle = (low + high) // 2
            same = home_from(problem, order, returns, gap, middle, in_time=False) == home
            low, high = (middle, high) if same else (low, middle)
        if home_from(problem, order, returns, gap, low) is None:
            return None
        return home - low, metres_of(problem, order, returns), -low, len(returns)

    found: dict[bool, list[Best]] = {False: [], True: []}
    for returns in possible_returns(problem, 0, order):
        plain = best(returns, None)
        if plain is None:
            continue
        if not rules.break_seconds or plain[0] <= rules.break_after_seconds:
            found[False].append(plain)
            continue
        for gap in range(len(order)):
            rested = best(returns, gap)
            if rested is not None:
                found[problem.visits[order[max(0, gap - 1)].visit].last_of_day].append(rested)
    return min(found[False] or found[True], default=None)


def metres_of(problem: Problem, order: Order, returns: tuple[int, ...]) -> int:
    """Return the metres of an order with these returns."""
    places = [0, *(problem.visits[planned.visit].place for planned in order), 0]
    for stop in reversed(returns):
        places.insert(stop + 1, 0)
    return sum(int(problem.routes[0].drive_metres[here, there]) for here, there in itertools.pairwise(places))


def last_ones_last(problem: Problem, order: Order) -> bool:
    """Return whether no other site follows one that is last of the day."""
    lasts = [problem.visits[planned.visit].last_of_day for planned in order]
    return lasts == sorted(lasts)


@pytest.mark.parametrize(
    "features", then_deep(IN_THREES, ALONE_AND_TOGETHER), ids=lambda chosen: "+".join(sorted(chosen))
)
def test_returns_are_those_of_trying_them_all(features: frozenset[str]) -> None:
    """Time away, metres, departure and the number of returns are those of the best of all returns and breaks."""
    returned = 0
    for seed in range(4):
        problem = random_problem(seed, visits=4 - (features >= {"two tasks", "spans"}), features=features)
        orders = [order for order in every_order(problem) if order and last_ones_last(problem, order)]
        for order in random.Random(seed).sample(orders, min(60, len(orders))):
            times, best = timeline(problem, 0, order), by_trying(problem, order)
            possible = possible_returns(problem, 0, order)
            assert carries(problem, 0, order) == bool(possible)
            assert (times is None) == (best is None)
            if times is not None and best is not None:
                assert (times.away, times.metres, -times.leave, len(times.returns)) == best
                assert least_day(problem, 0, order) == best[:2]
                returned += bool(times.returns)
    assert returned


def returns_as_by_trying(problem: Problem, order: Order) -> bool:
    """Hold the time away and the metres of an order to the best of all; return whether base is come back to."""
    times, best = timeline(problem, 0, order), by_trying(problem, order)
    assert (times is None) == (best is None)
    if times is None or best is None:
        return False
    assert (times.away, times.metres) == best[:2]
    return bool(times.returns)


@pytest.mark.parametrize("features", then_deep(IN_THREES[::3], IN_THREES), ids=lambda chosen: "+".join(sorted(chosen)))
def test_of_very_many_returns_the_programme_finds_the_best(
    features: frozenset[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where none are timed one by one: the time away and the metres of the best of all returns and breaks."""
    monkeypatch.setattr(returns_module, "MOST_CHOICES", 0)
    returned = 0
    for seed in range(4, 8):
        problem = random_problem(seed, visits=4 - (features >= {"two tasks", "spans"}), features=features)
        orders = [order for order in every_order(problem) if order and last_ones_last(problem, order)]
        for order in random.Random(seed).sample(orders, min(60, len(orders))):
            returned += returns_as_by_trying(problem, order)
    assert returned


def at_the_limits(problem: Problem, order: Order) -> Iterator[Problem]:
    """Yield the problem with one limit after the other at what the best day of an order just keeps, and at a second less."""
    times, rules = timeline(problem, 0, order), problem.routes[0]
    if times is None:
        return
    for less in (0, 1):
        yield dataclasses.replace(problem, routes=(dataclasses.replace(rules, home_by=times.home - less),))
        for at, planned in enumerate(order):
            visit = dataclasses.replace(problem.visits[planned.visit], closes=times.finishes[at] - less)
            visits = (*problem.visits[: planned.visit], visit, *problem.visits[planned.visit + 1 :])
            yield dataclasses.replace(problem, visits=visits)
        if rules.break_seconds:
            for after in {times.away - less, *(finish - times.leave - less for finish in times.finishes)}:
                yield dataclasses.replace(problem, routes=(dataclasses.replace(rules, break_after_seconds=after),))


@pytest.mark.parametrize("more", [("break",), ("hours",), ("break", "hours"), ("break", "last"), ("back", "break")])
def test_the_programme_keeps_each_limit_to_the_second(more: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    """Home-by, the end of a window and when a break is due, each at what the best day needs, and a second less."""
    monkeypatch.setattr(returns_module, "MOST_CHOICES", 0)
    returned = 0
    for seed in range(4):
        whole = random_problem(seed, visits=4, features=frozenset({"returns", *more}))
        orders = [order for order in every_order(whole) if len(order) > 2 and last_ones_last(whole, order)]
        for order in random.Random(seed).sample(orders, min(8, len(orders))):
            for problem in at_the_limits(whole, order):
                returned += returns_as_by_trying(problem, order)
    assert returned


def test_a_trip_takes_what_the_one_before_left_of_an_open_pack() -> None:
    """Packs of 12.5: two trips that use 10 and 2 load one pack in all, the second trip nothing."""
    problem = random_problem(0, visits=2, features=frozenset({"returns"}))
    order = next(order for order in every_order(problem) if len(order) == 2)
    one, two = trip_loads(problem, order, (1,))
    whole = loads(problem, order)
    assert one.loaded[0] + two.loaded[0] == whole.loaded[0]
    assert one.loaded[0] % 12_500 == two.loaded[0] % 12_500 == 0
    assert two.grams[0] == one.loaded[0] - one.used[0] + two.loaded[0]
    assert two.grams[-1] == whole.grams[-1]
