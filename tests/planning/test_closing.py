"""Small rounds that are closed, against every pair of orders; the brute force shares no code with the planning."""

from __future__ import annotations

import numpy as np
import pytest

from routing.planning.exact.subset_rows import Choice, may_be_chosen
from routing.planning.model.problem import RANKS, Problem, served
from routing.planning.running.budget import Budget
from routing.planning.search.closing import Closing, may_be_closed
from routing.planning.search.incumbent import Incumbent
from routing.planning.search.solve import solve
from tests.planning.random_problems import best_of_two, key, random_problem
from tests.together import then_deep

FEATURES = (
    frozenset[str](),
    frozenset({"hours"}),
    frozenset({"hours", "break"}),
    frozenset({"break", "last"}),
    frozenset({"load", "stock"}),
    frozenset({"load", "back", "break"}),
    frozenset({"crews", "hours"}),
    frozenset({"spans", "closed", "break"}),
    frozenset({"two tasks", "hours"}),
    frozenset({"two tasks", "stock", "break"}),
)


def closed(problem: Problem) -> tuple[Incumbent, tuple[int, ...], int, bool]:
    """Return the incumbent that closing comes to from nothing, and what it says of it."""
    tasks = frozenset(range(len(problem.tasks)))
    assert may_be_closed(problem, tasks)
    incumbent = Incumbent(problem, tasks, None)
    found = Closing(incumbent, Budget(10)).run()
    return incumbent, found.rank_bounds, found.cost_bound, found.proven


@pytest.mark.parametrize("features", FEATURES, ids=lambda features: " ".join(sorted(features)) or "plain")
@pytest.mark.parametrize("days", [1, 2])
@pytest.mark.parametrize("seed", then_deep(range(3), range(30)))
def test_what_is_closed_is_the_best_of_every_pair_of_orders(seed: int, days: int, features: frozenset[str]) -> None:
    """From no orders at all: all are proven, and as good as the best of every pair (better only by a second stop)."""
    problem = random_problem(seed, 4, 2, features, days)
    incumbent, bounds, cost, proven = closed(problem)
    best, ours = best_of_two(problem), key(problem, incumbent.orders)
    assert ours is not None
    assert proven or "last" in features
    assert bounds >= best[:RANKS]
    if proven:
        assert ours >= best if "two tasks" in features else ours[:-1] == best[:-1]
        assert bounds == ours[:RANKS]
        assert cost == -ours[RANKS]


def test_a_contested_round_of_two_crews_is_proven_and_repeatable() -> None:
    """Seven visits that two crews cannot all make: solving twice gives the same orders, proven, of no less than the best."""
    problem = random_problem(6, 7, 2, frozenset({"hours"}))
    tasks = frozenset(range(7))
    first, second = solve(problem, tasks), solve(problem, tasks)
    assert first == second
    assert first.proven
    assert served(first.orders) != tasks
    assert key(problem, first.orders) == best_of_two(problem)


def test_three_tasks_of_which_any_two_go_together_make_one_route(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pairs of three tasks, half of each, fill one and a half routes; by the cut only one pair and one single are left.

    At most two routes: with three tasks to be done and each route one, no choice of pairs alone comes to all three.
    """
    monkeypatch.setattr("routing.planning.exact.subset_rows.ENOUGH", 0)
    pairs = np.array([[1, 1, 0], [1, 0, 1], [0, 1, 1]], dtype=bool)
    choice = Choice(
        costs=np.ones(3),
        does=pairs,
        rows=pairs.sum(axis=1)[None, :].astype(np.float64),
        low=np.array([3.0]),
        high=np.array([np.inf]),
        groups=np.zeros(3, dtype=np.int64),
        many=np.array([2]),
        most=2.0,
    )
    assert not may_be_chosen(choice).any()
