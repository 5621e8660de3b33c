"""One crew-day by walks: against trying every order, against the circuit model, and what it says where effort ends."""

from __future__ import annotations

import dataclasses
import itertools
import random
from types import ModuleType

import pytest

from routing.planning.bounds.restricted_master import Effort
from routing.planning.exact import cp_sat as exact_day
from routing.planning.exact import crew_day as day_of_walks
from routing.planning.exact import day_arrays, looking
from routing.planning.exact.cp_sat import best_day
from routing.planning.exact.crew_day import WalkedDay, walked_day
from routing.planning.labelling import label_room
from routing.planning.model.load import carries, stock_left
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import NO_LIMIT, RANKS, Order, Problem, rank_score, served
from routing.planning.model.timing import timeline
from routing.planning.running.budget import Budget
from routing.planning.search.insertion import construct
from routing.planning.search.solve import solve
from tests.farm_rounds import farm_round
from tests.planning.random_problems import PressesCtrlC, best_by_trying, every_order, key, random_problem
from tests.together import in_threes, then_deep

FEATURES = ("hours", "two tasks", "load", "back", "stock", "break", "last", "spans", "space", "moves")
ALONE_AND_IN_PAIRS = [frozenset(), *(frozenset(c) for size in (1, 2) for c in itertools.combinations(FEATURES, size))]
NOT_WHOLLY_KNOWN = "moves"
"""What is on board within a stop only is not known of."""


def everything(problem: Problem) -> frozenset[int]:
    return frozenset(range(len(problem.tasks)))


def walked(problem: Problem, hint: Order = (), effort: Effort | None = None) -> WalkedDay:
    answer = walked_day(problem, 0, everything(problem), stock_left(problem, ()), hint, effort or Effort())
    assert answer is not None
    return answer


def sometimes_away_for_less(problem: Problem, dice: random.Random) -> Problem:
    """Return the problem, in two of five cases with a crew that may not be away for all of its day."""
    if dice.random() < 0.6:
        return problem
    route = problem.routes[0]
    most = round((route.home_by - route.earliest_leave) * dice.uniform(0.3, 0.9))
    return dataclasses.replace(problem, routes=(dataclasses.replace(route, most_away=most),))


@pytest.mark.parametrize(
    "features",
    then_deep(in_threes(FEATURES), ALONE_AND_IN_PAIRS),
    ids=lambda chosen: "+".join(sorted(chosen)) or "plain",
)
def test_what_is_proven_is_the_best_of_all_orders_and_no_order_passes_a_bound(features: frozenset[str]) -> None:
    proven = 0
    for seed in range(4):
        dice = random.Random(f"{seed} {sorted(features)}")
        visits = 5 - len(features & {"two tasks", "spans"})
        problem = sometimes_away_for_less(random_problem(seed, visits, features=features), dice)
        answer, best = walked(problem), best_by_trying(problem)
        found = key(problem, (answer.order,))
        assert found is not None
        assert found <= best
        assert answer.rank_bounds >= best[:RANKS]
        if rank_score(problem, served((answer.order,))) == best[:RANKS]:
            assert answer.away_bound <= -best[RANKS]
        if answer.proven:
            assert found == best
            assert answer.rank_bounds == best[:RANKS]
            assert answer.away_bound == -best[RANKS]
            proven += 1
    assert proven == 4 or NOT_WHOLLY_KNOWN in features


@pytest.mark.parametrize("features", [frozenset(), frozenset({"hours", "break"}), frozenset({"two tasks", "moves"})])
def test_where_distance_comes_first_it_is_the_least_of_all_orders(features: frozenset[str]) -> None:
    """Of the orders that serve the most the shortest, then that which is away for least; no bound on seconds is said."""
    for seed in range(6):
        problem = random_problem(seed, 4, features=features)
        problem = dataclasses.replace(problem, distance_first=True)
        answer = walked(problem)
        assert answer.proven
        assert answer.away_bound == 0
        measures = []
        for order in every_order(problem):
            times = timeline(problem, 0, order) if order else None
            if OrderCosts(problem).cost(0, order) is not None and times is not None:
                score = rank_score(problem, served((order,)))
                measures.append((*(-weight for weight in score), times.metres, times.away))
        times = timeline(problem, 0, answer.order)
        assert times is not None
        score = rank_score(problem, served((answer.order,)))
        assert (*(-weight for weight in score), times.metres, times.away) == min(measures)


@pytest.mark.parametrize("visits", then_deep([16], [22]))
@pytest.mark.parametrize("seed", then_deep([0, 1], range(4)))
def test_it_agrees_with_the_circuit_model(monkeypatch: pytest.MonkeyPatch, seed: int, visits: int) -> None:
    """Two ways of proving that share nothing but the rules come to the same weights and the same seconds away."""
    problem = farm_round(seed, visits)
    answer = walked(problem, construct(OrderCosts(problem), everything(problem))[0])
    monkeypatch.setattr(exact_day, "LEAST_WALKED", 10**9)
    other = best_day(problem, 0, everything(problem), [NO_LIMIT])
    assert answer.proven
    assert other.proven
    assert answer.rank_bounds == other.rank_bounds == rank_score(problem, served((answer.order,)))
    assert answer.away_bound == other.away_bound


def test_a_day_of_many_candidates_is_proven_and_the_same_with_other_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """How far what is asked for is lowered at once, and how much the tables remember, changes the effort alone."""
    problem = farm_round(1, 40)
    answer = walked(problem)
    assert answer.proven
    times = timeline(problem, 0, answer.order)
    assert times is not None
    assert times.away == answer.away_bound
    for module, name, value in (
        (looking, "QUICKLY", 0),
        (day_of_walks, "STEPS_DOWN", 20),
        (day_arrays, "MOST_TABLE", 1),
    ):
        with monkeypatch.context() as patch:
            patch.setattr(module, name, value)
            again = walked(problem, answer.order)
        assert (again.proven, again.rank_bounds, again.away_bound) == (True, answer.rank_bounds, answer.away_bound)


@pytest.mark.parametrize(("module", "name"), [(label_room, "MOST_LABELS"), (looking, "COMPARED_A_WORK")])
def test_where_there_is_too_little_room_or_effort_nothing_is_proven_that_is_not(
    monkeypatch: pytest.MonkeyPatch, module: ModuleType, name: str
) -> None:
    problem = farm_round(2, 30)
    best = walked(problem)
    monkeypatch.setattr(module, name, 5)
    hint = construct(OrderCosts(problem), everything(problem))[0]
    answer = walked(problem, hint, Effort(1))
    assert not answer.proven
    assert answer.rank_bounds >= best.rank_bounds
    assert rank_score(problem, served((answer.order,))) >= rank_score(problem, served((hint,)))


def test_no_effort_keeps_the_hint_and_an_impossible_hint_is_forgotten() -> None:
    problem = farm_round(3, 20)
    hint = construct(OrderCosts(problem), everything(problem))[0]
    answer = walked(problem, hint, Effort(0, deadline=0.0))
    assert not answer.proven
    assert answer.order == hint
    assert walked(problem, hint * 3, Effort(0, deadline=0.0)).order == ()


def test_ctrl_c_keeps_the_best_order_until_then() -> None:
    """One crew-day of more candidates than are begun by hand, interrupted as soon as an order is told of."""
    problem = farm_round(0, 60)
    presses = PressesCtrlC()
    solution = solve(problem, everything(problem), progress=presses)
    assert solution.interrupted
    assert not solution.proven
    assert rank_score(problem, served(solution.orders)) >= rank_score(problem, served(presses.told[0]))
    assert served(solution.orders)


def test_days_with_returns_to_base_are_left_to_the_circuit_model() -> None:
    problem = random_problem(1, 5, features=frozenset({"returns"}))
    assert walked_day(problem, 0, everything(problem), stock_left(problem, ()), (), Effort()) is None


def test_the_circuit_model_goes_on_from_what_walks_have_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    """Walks that are given hardly any room prove a part at the most; the answer is proven all the same, and the same."""
    problem = farm_round(0, 16)
    plain = best_day(problem, 0, everything(problem), [NO_LIMIT])
    monkeypatch.setattr(label_room, "MOST_LABELS", 60)
    rest = best_day(problem, 0, everything(problem), [NO_LIMIT], budget=Budget(60))
    assert plain.proven
    assert rest.proven
    assert (rest.rank_bounds, rest.away_bound) == (plain.rank_bounds, plain.away_bound)


@pytest.mark.parametrize("kilograms", [60, 40])
@pytest.mark.parametrize("seed", range(3))
def test_days_that_the_payload_ends_are_proven_with_their_packs(
    monkeypatch: pytest.MonkeyPatch, seed: int, kilograms: int
) -> None:
    """Packs of 12.5 kg go whole: the circuit model comes to the same, and the order is carried."""
    problem = farm_round(seed, 18)
    route = dataclasses.replace(problem.routes[0], payload_grams=1000 * kilograms)
    problem = dataclasses.replace(problem, routes=(route,))
    answer = walked(problem)
    assert answer.proven
    assert carries(problem, 0, answer.order)
    monkeypatch.setattr(exact_day, "LEAST_WALKED", 10**9)
    other = best_day(problem, 0, everything(problem), [NO_LIMIT])
    assert other.proven
    assert (answer.rank_bounds, answer.away_bound) == (other.rank_bounds, other.away_bound)
