"""Walks of one crew-day against every order there is: as good where all is remembered, never worse where less is."""

from __future__ import annotations

import dataclasses
import itertools
import random

import numpy as np
import pytest

from routing.planning.bounds.pricing import REMEMBERED_FOR_MORE, pricers
from routing.planning.bounds.walk_days import Day, day_of, days_of
from routing.planning.bounds.walks import Walk
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import served
from routing.planning.search.insertion import construct
from tests.farm_rounds import farm_round
from tests.together import then_deep

TASKS = 5


def small_day(seed: int, *, hurried: bool = False) -> Day:
    """Return one crew-day of five visits; `hurried`, with ways so short that there is no table of what may follow."""
    dice = random.Random(seed)
    low = 0 if hurried else 900
    seconds = np.array([[dice.randrange(low, 4000) for _ in range(TASKS)] for _ in range(TASKS)])
    np.fill_diagonal(seconds, -1)
    if seed % 2:
        seconds[dice.randrange(TASKS), :] = -1
    out = np.array([dice.randrange(500, 3000) for _ in range(TASKS)])
    opens = np.array([dice.choice((0, 0, 4000)) for _ in range(TASKS)])
    return Day(
        routes=(0,),
        tasks=np.arange(TASKS),
        visits=tuple(range(TASKS)),
        seconds=seconds,
        out=out,
        home=np.array([dice.randrange(500, 3000) for _ in range(TASKS)]),
        costs=np.where(seconds < 0, 0, seconds),
        out_costs=out,
        home_costs=np.array([dice.randrange(500, 3000) for _ in range(TASKS)]),
        rest_cost=0,
        early=np.maximum(out, opens),
        late=np.array([dice.choice((6000, 9000, 12000)) for _ in range(TASKS)]),
        longest=12_000,
        rest=0,
        rest_after=0,
        waits=True,
        cuts=True,
    )


def orders_worth(day: Day, values: dict[int, float], weight: float) -> dict[tuple[int, ...], float]:
    """Return what every possible order of the day is worth, with arithmetic of its own."""
    found = {}
    for size in range(1, TASKS + 1):
        for order in itertools.permutations(range(TASKS), size):
            clock, cost = int(day.early[order[0]]), int(day.out_costs[order[0]])
            possible = clock <= day.late[order[0]]
            for here, there in itertools.pairwise(order):
                possible = possible and day.seconds[here, there] >= 0
                clock = max(clock + int(day.seconds[here, there]), int(day.early[there]))
                cost += int(day.costs[here, there])
                possible = possible and clock <= day.late[there]
            if possible and clock + day.home[order[-1]] <= day.longest:
                cost += int(day.home_costs[order[-1]])
                found[order] = sum(values[task] for task in order) - weight * cost
    return found


@pytest.mark.parametrize("hurried", [False, True], ids=["", "no table"])
@pytest.mark.parametrize("weight", [0.0, 1.0])
@pytest.mark.parametrize("seed", range(12))
def test_the_best_walk_is_the_best_order_where_all_is_remembered(seed: int, weight: float, *, hurried: bool) -> None:
    """Exactly the best; and the quick search finds no walk that is worth more, and tells what its walks are worth."""
    assert TASKS <= REMEMBERED_FOR_MORE
    day = small_day(seed, hurried=hurried)
    dice = random.Random(seed + 100)
    values = {task: dice.uniform(500, 9000) for task in range(TASKS)}
    worth = orders_worth(day, values, weight)
    best = max(0.0, *worth.values()) if worth else 0.0
    (pricer,) = pricers([day], more=True)
    top, walks = pricer.best(values, weight, 0.0, 50)
    assert top == pytest.approx(best)
    assert max((walk.value for walk in walks), default=0.0) == pytest.approx(best)
    quick_top, quick = pricer.best(values, weight, 0.0, 50, coarse=1)
    assert quick_top == float("inf")
    assert bool(quick) == bool(best)
    for walk in (*walks, *quick):
        assert walk.value == pytest.approx(worth[walk.tasks])
        assert walk.cost == pytest.approx(sum(values[task] for task in walk.tasks) - worth[walk.tasks]) or not weight


@pytest.mark.parametrize("weight", [0.0, 1.0])
@pytest.mark.parametrize("seed", then_deep(range(3), range(12)))
def test_with_less_remembered_no_order_is_worth_more(seed: int, weight: float) -> None:
    """Forty visits: what an order of a crew-day is worth is never above what the exact search says of walks."""
    problem = farm_round(seed, 40, days=2)
    tasks = frozenset(range(40))
    (day,) = days_of(problem, tasks)
    dice = random.Random(seed)
    values = {task: dice.uniform(5000, 9000) for task in tasks}
    tops = {}
    for more in (False, True):
        (pricer,) = pricers([day], more=more)
        tops[more], walks = pricer.best(values, weight, 0.0, 50)
        assert walks
    order_costs = OrderCosts(problem)
    (order, *_) = construct(order_costs, tasks)
    cost = order_costs.cost(0, order)
    assert cost is not None
    worth = sum(values[task] for task in served((order,))) - weight * cost.main
    assert 0 < worth <= min(tops.values()) + 1e-6


def test_a_walk_that_comes_back_is_no_order() -> None:
    assert Walk((0, 1, 0), 10, 1.0, (0, 1, 0)).order() == ()
    assert Walk((0, 1), 10, 1.0, (0, 1)).order()


@pytest.mark.parametrize("seed", range(6))
def test_a_walk_that_is_told_keeps_each_limit_of_its_kind_of_day(seed: int) -> None:
    """A break that may fall into a wait: by the clock without it, and with it by the seconds since the first start.

    Both are reckoned here node by node, and every walk of a kind without a break is short. Quick and exact alike.
    """
    problem = farm_round(seed, 24, days=2)
    (route, *_) = problem.routes
    resting = dataclasses.replace(route, break_seconds=1800, break_after_seconds=6 * 3600)
    tasks = frozenset(range(24))
    day = day_of(dataclasses.replace(problem, routes=(resting,)), 0, tasks)
    dice = random.Random(seed)
    shut = np.array([dice.choice((0, 0, 2, 4)) * 3600 for _ in day.tasks])
    early = np.minimum(np.maximum(day.early, shut), day.late)
    day = dataclasses.replace(day, early=early, longest=min(day.longest, 5 * 3600), rest_after=2 * 3600, waits=True)
    values = {task: dice.uniform(4000, 9000) for task in tasks}
    (pricer,) = pricers([day])
    nodes = {(int(task), visit): node for node, (task, visit) in enumerate(zip(day.tasks, day.visits, strict=True))}
    told = [walk for coarse in (0, 1, 4) for walk in pricer.best(values, 1.0, 0.0, 30, coarse=coarse)[1]]
    assert len(told) >= 3
    for walk in told:
        way = [nodes[task, visit] for task, visit in zip(walk.tasks, walk.visits, strict=True)]
        first = way[0]
        ways = [int(day.seconds[here, there]) for here, there in itertools.pairwise(way)]
        clock, in_time = int(day.begins[first]), True
        for there, lasts in zip(way[1:], ways, strict=True):
            clock = max(clock + lasts, int(day.early[there]))
            in_time = in_time and clock <= day.late[there]
        since_start = int(day.begins[first]) + sum(ways) + day.rest
        home = int(day.home[way[-1]])
        short = int(day.out[first]) + sum(ways) + home <= day.rest_after
        rested_first = max(int(day.out[first]) + day.rest, int(day.early[first])) + sum(ways) + home <= day.longest
        rested_waiting = in_time and clock + home <= day.longest and since_start + home <= day.longest
        assert short or rested_first or rested_waiting
