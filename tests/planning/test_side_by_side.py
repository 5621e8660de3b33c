"""What is run side by side gives what it gives one by one."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable

import pytest

from routing.planning.bounds import pricing
from routing.planning.bounds.column_generation import bounds
from routing.planning.model.order_costs import OrderCosts
from routing.planning.running.budget import Budget
from routing.planning.running.side_by_side import side_by_side
from routing.planning.search.insertion import construct
from tests.farm_rounds import farm_round


def test_answers_come_in_the_order_of_the_calls() -> None:
    def slow(number: int) -> Callable[[], int]:
        def call() -> int:
            time.sleep(0.01 * (5 - number))  # the first ends last
            return number

        return call

    assert side_by_side([slow(number) for number in range(5)]) == [0, 1, 2, 3, 4]
    assert side_by_side([]) == []


def test_what_one_raises_is_raised_when_all_have_ended() -> None:
    ended = threading.Event()

    def late() -> None:
        time.sleep(0.05)
        ended.set()

    def broken() -> None:
        raise ValueError("broken")

    with pytest.raises(ValueError, match="broken"):
        side_by_side([broken, late])
    assert ended.is_set()


@pytest.mark.parametrize("seed", range(3))
def test_bounds_are_the_same_side_by_side_and_one_by_one(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two crew-days with breaks: several kinds of day each, at two places in the programme."""
    problem = farm_round(seed, 14, days=2)
    tasks = frozenset(range(len(problem.tasks)))
    orders = construct(OrderCosts(problem), tasks)
    found = []
    for large in (0, math.inf):
        monkeypatch.setattr(pricing, "LARGE", large)
        found.append(bounds(problem, tasks, orders, Budget(5)))
    assert found[0] == found[1]
