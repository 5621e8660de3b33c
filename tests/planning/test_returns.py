"""Coming back to base to load again, against trying every return by arithmetic that stands in the test."""

from __future__ import annotations

import itertools
import random

import pytest

from routing.planning.load import carries, loads, trip_loads
from routing.planning.problem import Order, Problem
from routing.planning.timing import timeline
from tests.planning.random_problems import every_order, random_problem

FEATURES = ("hours", "two tasks", "back", "stock", "break", "last", "spans", "space", "moves")
ALONE_AND_TOGETHER = [
    frozenset({"returns", *more}) for size in (0, 1, 2) for more in itertools.combinations(FEATURES, size)
]


def carried_in_one(problem: Problem, stops: Order, before: Order) -> bool:
    """Return whether one load does these stops after those before, counted material by material."""
    rules = problem.routes[0]

    def used(some: Order, supply: int) -> int:
        return sum(a for p in some for t in p.tasks for s, a in problem.tasks[t].uses if s == supply)

    for each, limit in (("grams_each", rules.payload_grams), ("millilitres_each", rules.space_millilitres)):
        board = 0.0
        for number, supply in enumerate(problem.supplies):
            board += (supply.loaded(used((*before, *stops), number)) - used(before, number)) * getattr(supply, each)
        fullest = board
        for planned in stops:
            on_top = 0.0
            for task in planned.tasks:
                facts = problem.tasks[task]
                board -= sum(a * getattr(problem.supplies[s], each) for s, a in facts.uses)
                board += sum(a * getattr(problem.supplies[s], each) for s, a in facts.back)
                on_top += sum(a * getattr(problem.supplies[s], each) for s, a in facts.carried)
            fullest = max(fullest, board + on_top)
        if fullest > limit + 1e-6:
            return False
    return True


def home_from(problem: Problem, order: Order, returns: tuple[int, ...], rest_at: int | None, leave: int) -> int | None:
    """Return when the crew is home that leaves at `leave`; stops and returns are counted as one list for the break."""
    rules, now, here, number = problem.routes[0], leave, 0, 0
    for index, planned in enumerate(order):
        visit = problem.visits[planned.visit]
        if index in returns:
            now += int(rules.drive_seconds[here, 0]) + rules.reload_seconds
            now += rules.break_seconds if rest_at == number else 0
            here, number = 0, number + 1
        now = max(now + int(rules.drive_seconds[here, visit.place]), visit.opens)
        now += problem.on_site_seconds(0, planned) + (rules.break_seconds if rest_at == number else 0)
        if now > visit.closes:
            return None
        here, number = visit.place, number + 1
    home = now + int(rules.drive_seconds[here, 0])
    return home if home <= rules.home_by else None


def possible_returns(problem: Problem, order: Order) -> list[tuple[int, ...]]:
    """Return every choice of returns that loads and last-of-day sites allow, the fewest first; none where one does."""
    if carried_in_one(problem, order, ()):
        return [()]
    found = []
    for count in range(1, problem.routes[0].most_trips):
        for returns in itertools.combinations(range(1, len(order)), count):
            cuts = list(itertools.pairwise((0, *returns, len(order))))
            healthy = not any(problem.visits[order[cut - 1].visit].last_of_day for cut in returns)
            if healthy and all(carried_in_one(problem, order[a:b], order[:a]) for a, b in cuts):
                found.append(returns)
    return found


def by_trying(problem: Problem, order: Order) -> tuple[int, int, int] | None:
    """Return the earliest home, the latest departure that gives it, and how many returns that takes."""
    rules = problem.routes[0]
    choices = possible_returns(problem, order)

    def best(*, rested: bool) -> tuple[int, int, int] | None:
        found = []
        for returns in choices:
            hosts = range(len(order) + len(returns)) if rested else (None,)
            for host in hosts:
                home = home_from(problem, order, returns, host, rules.earliest_leave)
                if home is not None:
                    low, high = rules.earliest_leave, home
                    while high - low > 1:
                        middle = (low + high) // 2
                        same = home_from(problem, order, returns, host, middle) == home
                        low, high = (middle, high) if same else (low, middle)
                    found.append((home, len(returns), -low))
        return min(found, default=None)

    plain = best(rested=False)
    if plain is not None and rules.break_seconds and plain[0] + plain[2] > rules.break_after_seconds:
        plain = best(rested=True)
    return plain


def last_ones_last(problem: Problem, order: Order) -> bool:
    """Return whether no other site follows one that is last of the day."""
    lasts = [problem.visits[planned.visit].last_of_day for planned in order]
    return lasts == sorted(lasts)


@pytest.mark.parametrize("features", ALONE_AND_TOGETHER, ids=lambda chosen: "+".join(sorted(chosen)))
def test_returns_are_those_of_trying_them_all(features: frozenset[str]) -> None:
    """Home, departure and the number of returns of every order are those of the best of all returns and breaks."""
    returned = 0
    for seed in range(4):
        problem = random_problem(seed, visits=4, features=features)
        orders = [order for order in every_order(problem) if order and last_ones_last(problem, order)]
        for order in random.Random(seed).sample(orders, min(60, len(orders))):
            times, best = timeline(problem, 0, order), by_trying(problem, order)
            possible = possible_returns(problem, order)
            assert carries(problem, 0, order) == bool(possible)
            assert (times is None) == (best is None)
            if times is not None and best is not None:
                assert (times.home, len(times.returns), -times.leave) == best
                returned += bool(times.returns)
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
