"""The exact day against trying every order."""

from __future__ import annotations

import dataclasses
import itertools

import pytest

from routing.planning.exact.circuit_model import Relax
from routing.planning.exact.cp_sat import best_day
from routing.planning.exact.stretch import least_extension
from routing.planning.model.load import stock_left
from routing.planning.model.problem import NO_LIMIT, RANKS, Problem, rank_score, served
from routing.planning.model.timing import timeline
from routing.planning.running.budget import Budget
from tests.planning.random_problems import best_by_trying, every_order, key, random_problem
from tests.together import in_threes, then_deep

FEATURES = ("hours", "two tasks", "load", "back", "stock", "break", "last", "spans", "space", "moves")
ALONE_AND_IN_PAIRS = [frozenset(), *(frozenset(c) for size in (1, 2) for c in itertools.combinations(FEATURES, size))]
WITH_RETURNS = [chosen | {"returns"} for chosen in ALONE_AND_IN_PAIRS]
"""The same where the crew may come back to base to load again."""


@pytest.mark.parametrize(
    "features",
    then_deep(in_threes((*FEATURES, "returns")), (*ALONE_AND_IN_PAIRS, *WITH_RETURNS)),
    ids=lambda chosen: "+".join(sorted(chosen)) or "plain",
)
def test_the_exact_day_equals_trying_every_order(features: frozenset[str]) -> None:
    """Every rank, the time away and the distance are those of the best of all orders, and the bounds meet them."""
    for seed in range(3):
        problem = random_problem(seed, visits=5 - len(features & {"two tasks", "spans"}), features=features)
        answer = best_day(problem, 0, frozenset(range(len(problem.tasks))), stock_left(problem, ()))
        best = best_by_trying(problem)
        assert key(problem, (answer.order,)) == best
        assert answer.proven
        assert answer.rank_bounds == best[:RANKS]
        assert answer.away_bound == -best[RANKS]


def everything(problem: Problem) -> frozenset[int]:
    return frozenset(range(len(problem.tasks)))


def stretched(problem: Problem, relax: Relax, seconds: int) -> Problem:
    """Return the problem with one thing made longer."""
    route = problem.routes[0]
    light = seconds if relax is Relax.LIGHT else 0
    return dataclasses.replace(
        problem,
        visits=tuple(dataclasses.replace(visit, closes=visit.closes + light) for visit in problem.visits),
        routes=(
            dataclasses.replace(
                route,
                earliest_leave=route.earliest_leave - (seconds if relax is Relax.START else 0),
                home_by=route.home_by + (seconds if relax is Relax.HOME else 0),
            ),
        ),
    )


def all_fit(problem: Problem) -> bool:
    """Return whether some order does everything, by trying them all."""
    return any(
        served((order,)) == everything(problem) and timeline(problem, 0, order) for order in every_order(problem)
    )


@pytest.mark.parametrize("relax", [Relax.LIGHT, Relax.START, Relax.HOME])
@pytest.mark.parametrize("features", [frozenset(), frozenset({"hours"}), frozenset({"break"})], ids=sorted)
def test_the_least_extension_is_enough_and_one_second_less_is_not(relax: Relax, features: frozenset[str]) -> None:
    """Stretching the day by the answer fits every task, by trying every order; by a second less it does not."""
    proven = 0
    for seed in range(4):
        problem = random_problem(seed, visits=4, features=features)
        answer = least_extension(problem, 0, everything(problem), stock_left(problem, ()), frozenset({relax}))
        if answer.seconds is None:
            assert answer.least
            assert not all_fit(stretched(problem, relax, 12 * 3600))
            continue
        assert answer.least
        assert timeline(stretched(problem, relax, answer.seconds), 0, answer.order) is not None
        assert answer.seconds == 0 or not all_fit(stretched(problem, relax, answer.seconds - 1))
        proven += 1
    assert proven or relax is not Relax.LIGHT


def test_the_same_input_gives_the_same_order() -> None:
    """The search runs on one thread to a fixed amount of work, so it repeats itself."""
    problem = random_problem(11, visits=9, features=frozenset({"two tasks", "break"}))
    tasks = frozenset(range(len(problem.tasks)))
    assert best_day(problem, 0, tasks, [NO_LIMIT] * 2) == best_day(problem, 0, tasks, [NO_LIMIT] * 2)


def test_a_spent_budget_keeps_the_hint_and_claims_nothing() -> None:
    """With next to no work allowed the given order survives and is not called proven."""
    problem = random_problem(5, visits=12)
    tasks = frozenset(range(len(problem.tasks)))
    start = next(order for order in every_order(random_problem(5, visits=1)) if order)
    answer = best_day(problem, 0, tasks, [NO_LIMIT] * 2, start, Budget(1e-6))
    assert not answer.proven
    assert rank_score(problem, served((answer.order,))) >= rank_score(problem, served((start,)))
    assert answer.rank_bounds >= rank_score(problem, served((answer.order,)))
