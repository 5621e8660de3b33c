"""Bounds made tighter, by breaks in any gap, memory that grows and subset-row cuts, against trying every order."""

from __future__ import annotations

import dataclasses
import itertools
import math
import random

import numpy as np
import pytest

from routing.planning.bounds.cuts import Cut, passed_by
from routing.planning.bounds.pricing import NEARBY, pricers
from routing.planning.bounds.restricted_master import NEAR, Effort, WalkChoice
from routing.planning.bounds.rows import Goal
from routing.planning.bounds.tightening import cut, remember_more
from routing.planning.bounds.walk_days import Day, days_of
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, served
from routing.planning.search.insertion import fill
from tests.farm_rounds import farm_round
from tests.planning.day_by_hand import in_stock, least_day, weights
from tests.planning.random_problems import done_in, every_order_of, random_problem
from tests.planning.test_walks import TASKS, orders_worth, small_day
from tests.together import then_deep

FEATURES = (
    frozenset({"hours", "break"}),
    frozenset({"hours", "break", "moves"}),
    frozenset({"break", "stock", "spans"}),
    frozenset({"hours", "crews", "load", "back"}),
    frozenset({"hours", "break", "returns"}),
    frozenset({"break", "two tasks", "last"}),
)


@pytest.mark.parametrize("seed", then_deep(range(12), range(12, 60)))
def test_no_tighter_bound_is_below_what_some_pair_of_orders_serves(seed: int) -> None:
    """Whatever walks remember and whichever cuts there are: the most of a rank by all sets that orders can do."""
    features = FEATURES[seed % len(FEATURES)]
    few = {"returns", "two tasks", "moves"} & features
    problem = random_problem(seed, visits=4 if few else 5, routes=2, features=features, days=1 + seed % 2)
    tasks = frozenset(range(len(problem.tasks)))
    orders = fill(OrderCosts(problem), ((), ()), tasks)
    reached, whole = (weights(problem, some, RANKS) for some in (done_in(orders), tasks))
    able = [
        {done_in((order,)) for order in every_order_of(problem, route) if not order or least_day(problem, route, order)}
        for route in (0, 1)
    ]
    both = [one | two for one, two in itertools.product(*able) if not one & two and in_stock(problem, one | two)]
    sums = [weights(problem, done, RANKS) for done in both]
    for rank in range(RANKS):
        if reached[rank] == whole[rank]:
            continue
        most = max(each[rank] for each in sums if all(each[r] >= reached[r] for r in range(rank)))
        choice = WalkChoice(
            problem, tasks, pricers(days_of(problem.relaxation, tasks), looked_up=1), orders, Goal(rank, reached), None
        )
        for time in range(9):
            if not time or (remember_more(choice) if time < 5 else cut(choice, 5)):
                assert math.floor(NEAR - choice.run(200, Effort())) >= most


def test_walks_of_a_round_come_to_remember_more_and_are_cut() -> None:
    """Thirty-six visits by three crew-days: memory, then cuts bring the bound down, and never below what is served."""
    problem = farm_round(3, 36, 3)
    tasks = frozenset(range(36))
    orders = fill(OrderCosts(problem), ((), (), ()), tasks)
    reached = weights(problem, served(orders), RANKS)
    whole = weights(problem, tasks, RANKS)
    rank = next(rank for rank in range(RANKS) if reached[rank] < whole[rank])
    days = days_of(problem, tasks)
    choice = WalkChoice(problem, tasks, pricers(days, looked_up=1), orders, Goal(rank, reached), None)
    first = choice.run(400, Effort())
    before = choice.priced[0].kept.copy()
    assert remember_more(choice)
    assert (choice.priced[0].kept & before == before).all()
    assert (choice.priced[0].kept != before).any()
    remembered = max(first, choice.run(400, Effort()))
    while remember_more(choice):
        remembered = max(remembered, choice.run(400, Effort()))
    least = remembered
    while cut(choice, 10):
        least = max(least, choice.run(400, Effort()))
    assert choice.cuts
    assert first < remembered <= least <= -reached[rank]
    assert least < 0


@pytest.mark.parametrize("seed", range(40))
def test_a_cut_counts_no_more_than_half_of_its_tasks_and_all_where_all_is_remembered(seed: int) -> None:
    dice = random.Random(seed)
    walk = dice.sample(range(12), dice.randrange(1, 12))
    three = frozenset(dice.sample(range(12), 3))
    some = Cut(three, three | frozenset(dice.sample(range(12), dice.randrange(9))))
    half = len(three & set(walk)) // 2
    assert 0 <= some.counts(walk) <= half
    assert Cut(three, frozenset(range(12))).counts(walk) == half


def test_the_cut_that_three_half_walks_pass_is_found() -> None:
    """Half of each pair of three tasks is one and a half walks; one walk of them all, whole, passes nothing."""
    (found,) = passed_by([((0, 7, 1), 0.5), ((1, 2), 0.5), ((2, 8, 9, 0), 0.5)], 10)
    assert found == Cut(frozenset({0, 1, 2}), frozenset({0, 1, 2, 7, 8, 9}))
    assert passed_by([((0, 1, 2, 3), 1.0), ((4, 5), 1.0)], 10) == []


@pytest.mark.parametrize("weight", [0.0, 1.0])
@pytest.mark.parametrize("seed", range(16))
def test_the_best_walk_pays_for_its_cuts(seed: int, weight: float) -> None:
    """Exactly the best of all orders less what each pays, counted here from its tasks; quick pricing is never above."""
    day, dice = small_day(seed), random.Random(seed + 7)
    values = {task: dice.uniform(500, 9000) for task in range(TASKS)}
    cuts = [Cut(frozenset(dice.sample(range(TASKS), 3)), frozenset(range(TASKS))) for _ in range(3)]
    dear = [dice.uniform(0, 5000) for _ in cuts]
    worth = {
        order: gain - sum(price * (len(each.tasks & set(order)) // 2) for each, price in zip(cuts, dear, strict=True))
        for order, gain in orders_worth(day, values, weight).items()
    }
    best = max(0.0, *worth.values()) if worth else 0.0
    (pricer,) = pricers([day], more=True)
    pricer.cut(cuts)
    pricer.dear[: len(dear)] = dear
    top, walks = pricer.best(values, weight, 0.0, 50)
    assert top == pytest.approx(best)
    assert max((walk.value for walk in walks), default=0.0) == pytest.approx(best)
    for coarse in (0, 1, 4, NEARBY):
        for walk in pricer.best(values, weight, 0.0, 50, coarse=coarse)[1]:
            assert walk.value == pytest.approx(worth[walk.tasks])


def worth_with_a_break(day: Day, values: dict[int, float]) -> float:
    """Return the most that an order brings that has its break in some gap before its last work, by trying all."""
    best = 0.0
    for size in range(1, TASKS + 1):
        for order, gap in itertools.product(itertools.permutations(range(TASKS), size), range(size)):
            clock, possible = 0, True
            for at, there in enumerate(order):
                way = int(day.seconds[order[at - 1], there]) if at else int(day.out[there])
                clock = max(clock + way + (day.rest if gap == at else 0), int(day.early[there]))
                possible = possible and way >= 0 and clock <= day.late[there]
            if possible and clock + day.home[order[-1]] <= day.longest:
                best = max(best, sum(values[task] for task in order))
    return best


@pytest.mark.parametrize("seed", range(16))
def test_the_best_walk_has_its_break_in_the_best_gap(seed: int) -> None:
    """A break of half an hour, which may fall into a wait: as many tasks as with the best gap of the best order."""
    day = dataclasses.replace(small_day(seed), rest=1800, rest_after=0)
    dice = random.Random(seed + 50)
    values = {task: dice.uniform(500, 9000) for task in range(TASKS)}
    (pricer,) = pricers([day], more=True)
    assert pricer.best(values, 0.0, 0.0, 50)[0] == pytest.approx(worth_with_a_break(day, values))


@pytest.mark.parametrize("seed", range(4))
def test_what_was_come_back_to_is_remembered_from_then_on(seed: int) -> None:
    """No walk that is found again comes back to a task in that way; what an order is worth stays below the bound."""
    problem = farm_round(seed, 40, days=2)
    tasks = frozenset(range(40))
    (day,) = days_of(problem, tasks)
    dice = random.Random(seed)
    values = {task: dice.uniform(5000, 9000) for task in tasks}
    (pricer,) = pricers([day], looked_up=1)
    top, walks = pricer.best(values, 0.0, 0.0, 200)
    again = [walk for walk in walks if len(set(walk.tasks)) < len(walk.tasks)]
    assert again
    assert all(pricer.allows(walk.tasks) for walk in walks)
    for walk in again:
        pricer.remember(walk.tasks)
        assert not pricer.allows(walk.tasks)
    lower, others = pricer.best(values, 0.0, 0.0, 200)
    assert all(pricer.allows(walk.tasks) for walk in others)
    assert not {walk.tasks for walk in again} & {walk.tasks for walk in others}
    order = fill(OrderCosts(problem), ((), ()), tasks)[0]
    assert sum(values[task] for task in served((order,))) <= lower + NEAR <= top + 2 * NEAR


def test_prices_guessed_to_begin_with_have_the_signs_of_their_rows() -> None:
    """A hundred and ten visits, where prices are guessed: any such prices bound, and these are not wild."""
    problem = farm_round(5, 110, 4)
    tasks = frozenset(range(110))
    orders = fill(OrderCosts(problem), ((),) * 4, tasks)
    reached, whole = (weights(problem, some, RANKS) for some in (served(orders), tasks))
    rank = next(rank for rank in range(RANKS) if reached[rank] < whole[rank])
    choice = WalkChoice(problem, tasks, pricers(days_of(problem, tasks)), orders, Goal(rank, reached), None)
    bound = choice.run(0, Effort())
    assert choice.prices is not None
    assert np.array_equal(choice.bounds.legal(choice.prices), choice.prices)
    assert reached[rank] <= -bound <= 2 * whole[rank]
