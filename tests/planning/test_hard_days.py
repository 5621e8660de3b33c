"""What is proved of crew-days with narrow hours, breaks and returns, against trying every order."""

from __future__ import annotations

import pytest

from routing.planning.bounds.column_generation import bounds
from routing.planning.exact import cp_sat as exact_day
from routing.planning.exact.cp_sat import best_day
from routing.planning.exact.subset_dp import order_of_all
from routing.planning.exact.visit_options import Limits
from routing.planning.model.load import stock_left
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, Problem, rank_score, served
from tests.planning.hard_days import every_order_tried, hard_day

SEEDS = 120


def everything(problem: Problem) -> frozenset[int]:
    return frozenset(range(len(problem.tasks)))


@pytest.mark.parametrize("least_walked", [1, 99], ids=["by walks", "by the circuit"])
def test_what_is_called_proven_is_the_best_of_all_orders(monkeypatch: pytest.MonkeyPatch, least_walked: int) -> None:
    """Proven answers are no worse than any order with one stop a visit, and bounds are below none of them."""
    monkeypatch.setattr(exact_day, "LEAST_WALKED", least_walked)
    proven = 0
    for seed in range(SEEDS):
        problem = hard_day(seed)
        tried = every_order_tried(problem)
        answer = best_day(problem, 0, everything(problem), stock_left(problem, ()))
        cost = OrderCosts(problem).cost(0, answer.order)
        assert cost is not None, seed
        found = (rank_score(problem, served((answer.order,))), -cost.main, -cost.tie)
        assert found <= tried.often, seed
        for rank in range(RANKS):
            assert answer.rank_bounds[rank] >= tried.once[0][rank], seed
            if answer.rank_bounds[rank] > tried.once[0][rank]:
                break
        assert answer.away_bound <= cost.main, seed
        if found[0] == tried.once[0]:
            assert answer.away_bound <= -tried.once[1], seed
        if answer.proven:
            proven += 1
            assert found[:2] >= tried.once[:2], seed
            assert answer.away_bound == cost.main, seed
    assert proven >= 0.98 * SEEDS


def test_bounds_of_rounds_and_of_whole_days_are_passed_by_no_order() -> None:
    """Bounds by column generation hold for every order, and a day that does everything is never called impossible."""
    whole = 0
    for seed in range(SEEDS):
        problem = hard_day(seed)
        tried, tasks = every_order_tried(problem), everything(problem)
        bound = bounds(problem, tasks, (tried.order,))
        for rank in range(RANKS):
            assert bound.ranks[rank] >= tried.often[0][rank], seed
            if bound.ranks[rank] > tried.often[0][rank]:
                break
        if tried.order and tried.often[0] == tried.once[0]:
            assert bound.cost <= -tried.often[1], seed
        if tried.often[0] == rank_score(problem, tasks):
            whole += 1
            looks = [order_of_all(problem.relaxation, 0, tasks, Limits(), rest=rest) for rest in (True, False)]
            assert any(look.order or not look.proven for look in looks), seed
    assert whole > 10
