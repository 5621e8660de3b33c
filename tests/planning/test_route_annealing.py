"""Annealing of one route: against every order, against other engines by the same work, with loads, stock and breaks."""

from __future__ import annotations

import dataclasses
import itertools

import pytest

from routing.planning.heuristics.beam import BeamSearch
from routing.planning.heuristics.pyvrp import PyVRP
from routing.planning.heuristics.route_annealing import RouteAnnealing
from routing.planning.model.engine import Ask, Engine, Limit
from routing.planning.model.load import stock_holds
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, Order, Orders, Planned, Problem, rank_score, served
from routing.planning.search.incumbent import measure
from routing.planning.search.repair import repaired
from routing.planning.search.solve import solve
from tests.long_days import long_day, summer_day
from tests.planning.day_by_hand import in_stock, least_day, weights
from tests.planning.random_problems import best_by_trying, key, random_problem
from tests.planning.test_exact_day import everything
from tests.together import in_threes, then_deep

FEATURES = ("hours", "two tasks", "break", "last", "load", "stock")


def annealed(problem: Problem, iterations: int, start: Orders | None = None, seed: int = 1) -> Orders:
    return RouteAnnealing()(Ask(problem, everything(problem), Limit(iterations, seed), start))


@pytest.mark.parametrize(
    "features",
    then_deep(in_threes(FEATURES), (frozenset(c) for size in (1, 2) for c in itertools.combinations(FEATURES, size))),
    ids=lambda chosen: "+".join(sorted(chosen)) or "plain",
)
def test_it_comes_to_the_best_choice_of_small_days_and_keeps_every_rule(features: frozenset[str]) -> None:
    """Of four days' best weight in the first rank all but a twentieth, by arithmetic that shares nothing with it."""
    reached = best = 0
    for seed in range(4):
        problem = random_problem(seed, visits=4 if "two tasks" in features else 5, features=features)
        orders = annealed(problem, 300)
        if served(orders):
            assert least_day(problem, 0, orders[0]) is not None
            assert in_stock(problem, served(orders))
        reached += rank_score(problem, served(orders))[0]
        best += best_by_trying(problem)[0]
    assert 0.95 * best <= reached <= best


@pytest.mark.parametrize("seed", range(6))
def test_without_a_break_it_finds_the_very_best_of_every_order(seed: int) -> None:
    """Weight by rank, then seconds away, then metres but for a tie: of plain days and of days with hours."""
    problem = random_problem(seed, visits=5, features=frozenset({"hours"} if seed % 2 else set()))
    assert (key(problem, annealed(problem, 500)) or ())[: RANKS + 1] == best_by_trying(problem)[: RANKS + 1]


def test_where_distance_comes_first_it_is_the_metres_that_are_least() -> None:
    """Metres that are no measure of seconds: of 20 days of four visits nearly all end at the least of every order."""
    met = 0
    for seed in range(20):
        plain = random_problem(seed, visits=4)
        metres = plain.routes[0].drive_seconds[::-1, ::-1] % 1009
        problem = dataclasses.replace(
            plain, routes=(dataclasses.replace(plain.routes[0], drive_metres=metres),), distance_first=True
        )
        order_costs = OrderCosts(problem)
        best = max(
            (
                measure(order_costs, (order,))
                for count in range(5)
                for order in itertools.permutations(_single_stops(problem), count)
                if order_costs.cost(0, order) is not None
            ),
        )
        met += measure(order_costs, annealed(problem, 300))[: RANKS + 1] == best[: RANKS + 1]
    assert met >= 18


def _single_stops(problem: Problem) -> Order:
    return tuple(Planned(number, visit.tasks) for number, visit in enumerate(problem.visits))


def test_it_repeats_itself_and_a_start_is_never_made_worse() -> None:
    problem = summer_day(3, 60)
    order_costs = OrderCosts(problem)
    first = annealed(problem, 100)
    assert first == annealed(problem, 100)
    again = annealed(problem, 1, first, seed=2)
    assert measure(order_costs, again) >= measure(order_costs, first)
    assert measure(order_costs, annealed(problem, 100, first, seed=2)) >= measure(order_costs, first)


def test_loads_in_whole_packs_are_carried_and_what_the_stock_holds_is_kept_to() -> None:
    """A vehicle for three quarters of all, and then a stock of half of it: what is proposed needs no mending."""
    loaded = summer_day(2, 60, loads=True)
    short = dataclasses.replace(loaded, supplies=(dataclasses.replace(loaded.supplies[0], stock=300_000),))
    for problem in (loaded, short):
        orders = annealed(problem, 200)
        assert OrderCosts(problem).cost(0, orders[0]) is not None
        assert stock_holds(problem, served(orders))
        assert least_day(problem, 0, orders[0]) is not None
        assert orders == repaired(OrderCosts(problem), orders)
        assert len(served(orders)) > 12


def test_a_break_is_not_only_taken_before_all_work() -> None:
    """Half the gates shut at nine: with the break first, fewer of these are reached than with it later in the day."""
    problem = summer_day(5, 40)
    early = dataclasses.replace(
        problem,
        visits=tuple(
            dataclasses.replace(v, opens=5 * 3600, closes=(20 if v.place % 2 else 9) * 3600) for v in problem.visits
        ),
        routes=(dataclasses.replace(problem.routes[0], break_seconds=5400, break_after_seconds=7 * 3600),),
    )
    first = dataclasses.replace(early, routes=early.breaks_elsewhere[1].routes)
    assert (
        measure(OrderCosts(early), annealed(early, 400))[:RANKS]
        > measure(OrderCosts(first), annealed(first, 400))[:RANKS]
    )


HARD = {
    "r2": lambda: long_day("r2", "half", 5, 50),
    "c2": lambda: long_day("c2", "wide", 5, 50),
    "rc2": lambda: long_day("rc2", "none", 5, 50),
    "break and ranks": lambda: summer_day(4, 50),
    "loads": lambda: summer_day(4, 50, loads=True),
}
"""Long days that do not hold all."""


@pytest.mark.parametrize("kind", HARD)
def test_the_usual_plan_is_no_worse_than_any_engine_alone_by_the_same_work(kind: str) -> None:
    """No clock: of each engine alone, mended and filled, as many iterations as a quarter of a unit of work is."""
    problem = HARD[kind]()
    tasks, order_costs = everything(problem), OrderCosts(problem)
    solution = solve(problem, tasks, work=0.25, prove=False)
    ours = measure(order_costs, solution.orders)
    assert weights(problem, served(solution.orders), RANKS) == ours[:RANKS]
    assert least_day(problem, 0, solution.orders[0]) is not None
    engines: tuple[Engine, ...] = (PyVRP(), BeamSearch(), RouteAnnealing())
    for engine in engines:
        alone = repaired(order_costs, engine(Ask(problem, tasks, Limit(15_000 // len(tasks)))))
        assert ours[:RANKS] >= measure(order_costs, alone)[:RANKS]
