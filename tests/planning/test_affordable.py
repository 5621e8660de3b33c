"""What the stock holds together: never beaten by trying every choice, and asked of the engines alone."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace

import numpy as np
import pytest

from routing.planning.model.engine import Ask, Engine
from routing.planning.model.load import stock_holds, unlimited
from routing.planning.model.problem import NO_LIMIT, Problem, Supply, rank_score, served
from routing.planning.running.budget import Budget
from routing.planning.search.driver import Search
from routing.planning.search.engines import engines_for
from routing.planning.search.incumbent import measure
from routing.planning.search.scarce_stock import affordable
from routing.planning.search.solve import solve
from tests.farm_rounds import farm_round, mixed_round
from tests.planning.random_problems import listening
from tests.together import then_deep


def short_of_two(seed: int, jobs: int) -> Problem:
    """Return a problem whose jobs use up to two supplies, of which one or both are short, and a third without end."""
    dice = random.Random(seed)
    plain = farm_round(seed, jobs)
    supplies = (*(Supply(0, dice.randrange(0, 3000 * jobs), 1.0, 1.0) for _ in range(2)), Supply(0, NO_LIMIT, 1.0, 1.0))
    tasks = tuple(
        replace(
            task,
            weight=dice.choice([5, 7, 12]),
            uses=tuple((supply, dice.randrange(500, 9000, 500)) for supply in range(3) if dice.random() < 0.6),
        )
        for task in plain.tasks
    )
    return replace(plain, supplies=supplies, tasks=tasks)


@pytest.mark.parametrize("seed", range(20))
def test_no_other_choice_holds_more_weight_or_needs_less_for_it(seed: int) -> None:
    """Every choice of eight jobs is tried: first must, want and passing decide, then what the choice needs."""
    problem = short_of_two(seed, 8)
    everything = frozenset(range(8))
    needs = np.array([random.Random(seed).randrange(100, 5000) * (task + 1) for task in range(8)], dtype=np.float64)

    def worth(tasks: frozenset[int]) -> tuple[float, ...]:
        return (*rank_score(problem, tasks), -sum(needs[sorted(tasks)]))

    choices = (frozenset(some) for many in range(9) for some in itertools.combinations(range(8), many))
    best = max(worth(tasks) for tasks in choices if stock_holds(problem, tasks))
    chosen = affordable(problem, everything, needs)
    assert stock_holds(problem, chosen)
    assert worth(chosen) == best


def test_all_are_affordable_where_the_stock_holds_them() -> None:
    problem = farm_round(1, 12)
    assert affordable(problem, frozenset(range(12)), np.zeros(12)) == frozenset(range(12))


@pytest.mark.parametrize("seed", range(5))
def test_what_uses_nothing_that_is_short_can_always_be_added(seed: int) -> None:
    """To whatever else the stock holds; every other job uses some of what is too little for all."""
    problem = short_of_two(seed, 8)
    everything = frozenset(range(8))
    free = unlimited(problem, everything)
    assert stock_holds(problem, affordable(problem, everything, np.zeros(8)) | free)
    wanted = [sum(dict(task.uses).get(supply, 0) for task in problem.tasks) for supply in range(3)]
    short = {s for s in range(2) if wanted[s] > problem.supplies[s].stock}
    assert everything - free == {n for n, task in enumerate(problem.tasks) if short & dict(task.uses).keys()}


@pytest.mark.parametrize(("seed", "visits", "work"), then_deep([(7, 30, 3)], [(8, 30, 5), (7, 60, 20), (8, 60, 20)]))
def test_a_roomy_round_short_of_stock_serves_the_most_that_the_stock_holds(seed: int, visits: int, work: float) -> None:
    """Ten crew-days for 60 visits have light enough; who gets the last of it is decided by rank, then by weight."""
    problem = mixed_round(seed, visits, 5, 2)
    everything = frozenset(range(visits))
    most = rank_score(problem, affordable(problem, everything, np.zeros(60)))
    solution = solve(problem, everything, work=work, prove=False)
    assert rank_score(problem, served(solution.orders)) == most
    assert most < rank_score(problem, everything)


def test_engines_are_not_asked_for_more_than_the_stock_holds() -> None:
    """From nothing for what it holds; from the best for what that has, and for what uses nothing of it."""
    problem = mixed_round(7, 32, 5, 2)
    everything = frozenset(range(32))
    asked: list[Ask] = []
    search = Search(problem, everything, Budget(5))
    engines: tuple[Engine, ...] = engines_for(problem, 32)
    search.run(1, tuple(listening(engine, asked) for engine in engines))
    assert len(asked) > len(engines)
    assert all(stock_holds(problem, ask.tasks) for ask in asked)
    assert all(ask.tasks < everything for ask in asked)
    assert measure(search.order_costs, search.best)[:2] == rank_score(problem, asked[0].tasks)[:2]
