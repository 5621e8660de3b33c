"""Every engine's orders, mended, keep every rule; what cannot be done gives empty orders."""

from __future__ import annotations

import dataclasses
import itertools
import random
import time

import numpy as np
import pytest

from routing.planning.heuristics.hybrid_genetic import HybridGenetic
from routing.planning.heuristics.pyvrp import PyVRP
from routing.planning.heuristics.ruin_recreate import RuinRecreate
from routing.planning.heuristics.vroom import Vroom
from routing.planning.model.engine import Ask, Engine, Limit, empty
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Orders, Planned, Problem, rank_score, served
from routing.planning.model.route_pool import RoutePool
from routing.planning.running.budget import Budget
from routing.planning.search.driver import Search
from routing.planning.search.incumbent import measure
from routing.planning.search.insertion import construct
from routing.planning.search.repair import repaired
from routing.planning.search.set_covering import recombine
from routing.planning.search.solve import solve
from tests.farm_rounds import farm_round
from tests.planning.ortools_engine import OrTools
from tests.planning.random_problems import PressesCtrlC, best_of_two, every_order_of, key, listening, random_problem

ENGINES: list[Engine] = [PyVRP(), Vroom(), OrTools(), RuinRecreate(), HybridGenetic()]
NAMES = ["pyvrp", "vroom", "ortools", "ruin and recreate", "genetic"]
EVERYTHING = frozenset(
    {"hours", "two tasks", "load", "back", "stock", "break", "last", "spans", "closed", "crews", "moves"}
)
WITH_RETURNS = EVERYTHING | {"returns"}


def all_of(problem: Problem) -> frozenset[int]:
    return frozenset(range(len(problem.tasks)))


@pytest.mark.parametrize("engine", ENGINES, ids=NAMES)
@pytest.mark.parametrize("features", [EVERYTHING, WITH_RETURNS], ids=["one load", "returns"])
@pytest.mark.parametrize("seed", range(4))
def test_mended_orders_keep_every_rule_and_do_something(engine: Engine, seed: int, features: frozenset[str]) -> None:
    """With all constraints at once and two days, the oracle's own key accepts them."""
    problem = random_problem(seed, visits=8, routes=2, features=features, days=2)
    order_costs = OrderCosts(problem)
    orders = repaired(order_costs, engine(Ask(problem, all_of(problem), Limit(200))))
    assert key(problem, orders) is not None
    assert served(orders)
    assert all(order_costs.cost(route, order) is not None for route, order in enumerate(orders))


@pytest.mark.parametrize("engine", ENGINES, ids=NAMES)
def test_a_plain_day_is_solved_near_the_best(engine: Engine) -> None:
    """On plain problems an engine serves at least three quarters of the best must weight, from a start or without."""
    reached = best = 0
    for seed in range(6):
        problem = random_problem(seed, visits=4, routes=2)
        orders = repaired(OrderCosts(problem), engine(Ask(problem, all_of(problem), Limit(300))))
        again = repaired(OrderCosts(problem), engine(Ask(problem, all_of(problem), Limit(300), orders)))
        assert key(problem, again) is not None
        reached += rank_score(problem, served(orders))[0]
        best += best_of_two(problem)[0]
    assert best * 3 / 4 <= reached <= best


@pytest.mark.parametrize("engine", ENGINES, ids=NAMES)
def test_what_cannot_be_reached_or_is_never_open_gives_empty_orders(engine: Engine) -> None:
    """No way to any place, windows shorter than the work, nobody able: nobody goes, and no status is raised."""
    problem = random_problem(1, visits=4, routes=2)
    nowhere = np.full_like(problem.routes[0].drive_seconds, -1)
    cut = [dataclasses.replace(route, drive_seconds=nowhere) for route in problem.routes]
    barred = [dataclasses.replace(route, allowed=(False,) * 4) for route in problem.routes]
    short = [dataclasses.replace(visit, closes=visit.opens + 60) for visit in problem.visits]
    for impossible in (
        dataclasses.replace(problem, routes=tuple(cut)),
        dataclasses.replace(problem, routes=tuple(barred)),
        dataclasses.replace(problem, visits=tuple(short)),
        dataclasses.replace(problem, routes=()),
    ):
        orders = engine(Ask(impossible, all_of(impossible), Limit(50)))
        assert repaired(OrderCosts(impossible), orders) == empty(impossible)
        assert solve(impossible, all_of(impossible), work=1).orders == empty(impossible)


def test_recombination_picks_the_best_of_all_columns() -> None:
    """With every possible order of both routes in the pool, the answer is that of trying all pairs; stock included."""
    for seed in range(4):
        problem = random_problem(seed, visits=4, routes=2, features=frozenset({"stock", "hours"}))
        order_costs = OrderCosts(problem)
        pool = RoutePool(order_costs)
        for route in range(2):
            for order in every_order_of(problem, route):
                pool.add(route, order)
        together = recombine(order_costs, pool, all_of(problem))
        assert together is not None
        found, best = key(problem, together), best_of_two(problem)
        assert found is not None
        assert found[:4] == best[:4]


def test_recombination_never_ends_below_the_orders_it_begins_with() -> None:
    """Without a single branch it still gives what is known, and not nothing; orders that the pool lacks are no harm."""
    problem = random_problem(3, visits=12, routes=3, features=frozenset({"hours"}))
    order_costs = OrderCosts(problem)
    pool = RoutePool(order_costs)
    known = construct(order_costs, all_of(problem))
    for route, order in enumerate(known):
        for size in range(len(order)):
            pool.add(route, order[:size])
    before = recombine(order_costs, pool, all_of(problem), nodes=0, known=known)
    assert before is None or measure(order_costs, before) < measure(order_costs, known)
    pool.add_all(known)
    after = recombine(order_costs, pool, all_of(problem), nodes=0, known=known)
    assert after is not None
    assert measure(order_costs, after) >= measure(order_costs, known)


def test_mending_drops_the_least_important_work() -> None:
    """A task in two orders stays in one; a day too full loses its lowest rank first."""
    problem = random_problem(2, visits=5, routes=2)
    everything = tuple(Planned(number, (number,)) for number in range(5))
    orders = repaired(OrderCosts(problem), (everything, everything[:2]))
    assert key(problem, orders) is not None
    ranks = [problem.tasks[task].rank for task in all_of(problem) - served(orders)]
    assert ranks
    assert max(ranks) >= max(problem.tasks[task].rank for task in served(orders))


def relabelled(problem: Problem, seed: int) -> Problem:
    """Return the same problem with its places, tasks and visits numbered in another order."""
    dice = random.Random(seed)
    places = [0, *dice.sample(range(1, len(problem.routes[0].drive_seconds)), len(problem.routes[0].drive_seconds) - 1)]
    tasks = dice.sample(range(len(problem.tasks)), len(problem.tasks))
    new_place = {old: new for new, old in enumerate(places)}
    new_task = {old: new for new, old in enumerate(tasks)}
    visits = [
        dataclasses.replace(v, place=new_place[v.place], tasks=tuple(sorted(new_task[t] for t in v.tasks)))
        for v in problem.visits
    ]
    dice.shuffle(visits)
    seconds = problem.routes[0].drive_seconds[np.ix_(places, places)]
    metres = problem.routes[0].drive_metres[np.ix_(places, places)]
    routes = tuple(
        dataclasses.replace(
            route,
            work_seconds=tuple(route.work_seconds[t] for t in tasks),
            allowed=tuple(route.allowed[t] for t in tasks),
            drive_seconds=seconds,
            drive_metres=metres,
        )
        for route in problem.routes
    )
    return dataclasses.replace(
        problem, tasks=tuple(problem.tasks[t] for t in tasks), visits=tuple(visits), routes=routes
    )


@pytest.mark.parametrize("seed", range(3))
def test_other_numbers_for_the_same_sites_change_nothing_that_counts(seed: int) -> None:
    """Weight by rank and time away are the same however places, tasks and visits are numbered."""
    problem = random_problem(seed, visits=6, routes=2, features=frozenset({"two tasks", "hours"}), days=2)
    other = relabelled(problem, seed)
    mine, theirs = (solve(p, all_of(p), work=3, prove=False).orders for p in (problem, other))
    first, second = key(problem, mine), key(other, theirs)
    assert first is not None
    assert second is not None
    assert first[:4] == second[:4]


def test_the_same_input_and_seed_give_the_same_orders() -> None:
    """Engines, recombination and bounds repeat themselves."""
    problem = random_problem(7, visits=10, routes=2, features=frozenset({"hours", "stock"}))
    once, again = (solve(problem, all_of(problem), work=5) for _ in range(2))
    assert once == again


@pytest.mark.clock
def test_a_given_time_is_kept_and_progress_only_rises() -> None:
    """Two seconds are enough for good orders and are not overrun by much; each set told of beats the one before."""
    problem = random_problem(7, visits=14, routes=3, features=frozenset({"hours"}))
    told: list[tuple[int, ...]] = []

    def hear(orders: tuple[tuple[Planned, ...], ...]) -> None:
        value = key(problem, orders)
        assert value is not None
        told.append(value)

    begun = time.monotonic()
    solution = solve(problem, all_of(problem), seconds=2, progress=hear)
    assert time.monotonic() - begun < 20
    assert told
    assert all(before < after for before, after in itertools.pairwise(told))
    assert key(problem, solution.orders) == told[-1]


@pytest.mark.clock
def test_ctrl_c_keeps_the_best_so_far() -> None:
    """An interrupt during the search gives the orders told of last, and nothing is claimed of them."""
    problem = random_problem(7, visits=14, routes=3)
    press = PressesCtrlC()
    solution = solve(problem, all_of(problem), work=5, progress=press)
    assert solution.interrupted
    assert not solution.proven
    assert rank_score(problem, served(solution.orders)) >= rank_score(problem, served(press.told[-1]))
    assert key(problem, solution.orders) is not None


@pytest.mark.clock
@pytest.mark.parametrize("inner", [PyVRP(), RuinRecreate()], ids=["pyvrp", "ruin and recreate"])
def test_a_search_by_the_clock_shows_better_orders_before_a_run_is_over(
    inner: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While an engine is still at work; what is shown keeps every rule, and the answer is as good as the best shown."""
    monkeypatch.setattr("routing.planning.model.engine.LEAST_SECONDS_BETWEEN", 0.1)
    problem = farm_round(7, 60, 2, 3)
    shown: list[Orders] = []
    at_work: list[bool] = []

    def engine(ask: Ask) -> Orders:
        before = len(shown)
        orders = inner(ask)
        at_work.append(len(shown) > before)
        return orders

    search = Search(problem, all_of(problem), Budget(60, time.monotonic() + 3), shown.append)
    search.run(1, (engine,))
    assert any(at_work)
    assert all(
        measure(search.order_costs, one) < measure(search.order_costs, two) for one, two in itertools.pairwise(shown)
    )
    assert all(key(problem, orders) is not None for orders in shown)
    assert measure(search.order_costs, search.best) == measure(search.order_costs, shown[-1])


def test_nothing_is_told_of_on_the_way_where_the_answer_is_to_be_repeatable() -> None:
    """What an engine tells of depends on the clock."""
    problem = farm_round(7, 30, 2, 2)
    asked: list[Ask] = []
    Search(problem, all_of(problem), Budget(2), lambda _: None).run(1, (listening(PyVRP(), asked),))
    assert {ask.better for ask in asked} == {None}
