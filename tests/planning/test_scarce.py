"""When light is scarce: the rough sum that says so, and what engines do with it."""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace

import pytest

from routing.planning.heuristics.pyvrp import PyVRP
from routing.planning.heuristics.ruin_recreate import RuinRecreate
from routing.planning.model import scarce_light as scarce
from routing.planning.model.engine import Ask, Engine, Limit
from routing.planning.model.frame import build_frame
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Orders, Problem, rank_score, served
from routing.planning.model.scarce_light import bound_by_light, light_of
from routing.planning.running.budget import Budget
from routing.planning.search.driver import Search
from routing.planning.search.engines import engines_for
from routing.planning.search.incumbent import measure
from routing.planning.search.insertion import construct
from routing.planning.search.repair import repaired
from routing.planning.search.solve import solve
from tests.farm_rounds import HOUR, farm_round
from tests.planning.own_clock import own_clock
from tests.planning.random_problems import listening, wait_until_over
from tests.together import then_deep

__all__ = ["own_clock"]  # a fixture is found by its name


def everything(problem: Problem) -> frozenset[int]:
    return frozenset(range(len(problem.tasks)))


def with_hours(problem: Problem, hours: float) -> Problem:
    """Return the problem with crews that are away for so many hours at the most."""
    return replace(
        problem, routes=tuple(replace(route, most_away=round(hours * HOUR) + 1800) for route in problem.routes)
    )


def test_a_rank_is_contested_where_its_work_and_ways_alone_fill_all_days() -> None:
    """Twice as many days hold more; where everything is done in the end, no rank was said to be."""
    ranks = [
        light_of(problem, everything(problem)).contested()
        for problem in (farm_round(7, 60, 2, crews) for crews in (1, 2, 6))
    ]
    assert ranks == [0, 1, None]
    roomy = farm_round(7, 60, 2, 6)
    assert served(solve(roomy, everything(roomy), work=0.3, prove=False).orders) == everything(roomy)


@pytest.mark.parametrize(("seed", "work"), then_deep([(0, 0.5), (1, 0.5)], [(seed, 3) for seed in range(4)]))
def test_what_is_done_was_never_called_contested(seed: int, work: float) -> None:
    """Of rounds between too short and ample, those whose first ranks are all done; by more work it is the same ranks."""
    for crews in (2, 3, 4):
        problem = farm_round(seed, 30, 1, crews)
        done = rank_score(problem, served(solve(problem, everything(problem), work=work, prove=False).orders))
        whole = rank_score(problem, everything(problem))
        first = next((rank for rank, (a, b) in enumerate(zip(done, whole, strict=True)) if a < b), None)
        rank = light_of(problem, everything(problem)).contested()
        assert rank is None or (first is not None and rank >= first)


def test_hours_away_decide_and_not_the_light_where_they_end_first() -> None:
    """Ways to the first stop and from the last count in full where the day is over before the light is."""
    problem = farm_round(7, 60, 2, 2)
    short = with_hours(problem, 4)
    frames = [build_frame(each, everything(each)) for each in (problem, short)]
    assert [bound_by_light(frame, frame.kinds[0]) for frame in frames] == [True, False]
    assert light_of(short, everything(short)).contested() == 0


def test_promising_are_all_ranks_before_and_what_is_worth_its_light() -> None:
    """None of the ranks after; one that seemed hopeless is promising with more weight; more days have hope for more."""
    short, longer = farm_round(7, 150, 4, 2), farm_round(7, 150, 4, 3)
    light = light_of(short, everything(short))
    assert light.contested() == 1
    promising = light.promising(1)
    ranks = [{task for task in everything(short) if short.tasks[task].rank == rank} for rank in range(3)]
    assert ranks[0] < promising < ranks[0] | ranks[1]
    assert len(promising) < len(light_of(longer, everything(longer)).promising(1))
    hopeless = min(ranks[1] - promising)
    tasks = [replace(task, weight=1000) if number == hopeless else task for number, task in enumerate(short.tasks)]
    heavier = replace(short, tasks=tuple(tasks))
    assert hopeless in light_of(heavier, everything(heavier)).promising(1)


def test_where_there_was_more_light_than_it_seemed_the_others_are_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """With hope for hardly any, those are all served; then the rest of the rank is asked for, still as scarce."""
    monkeypatch.setattr(scarce, "PROMISING_SHARE", 0.05)
    problem = farm_round(7, 60, 4, 1)
    asked: list[Ask] = []
    search = Search(problem, everything(problem), Budget(1))
    search.run(1, tuple(listening(engine, asked) for engine in engines_for(problem, 60)))
    first_ranks = frozenset(task for task in everything(problem) if problem.tasks[task].rank < 2)
    assert asked[0].tasks < first_ranks
    assert asked[1].tasks == first_ranks
    assert asked[1].scarce
    assert measure(search.order_costs, search.best)[:2] > (200, 200)


@pytest.mark.parametrize("engine", [RuinRecreate(), PyVRP()], ids=["ruin and recreate", "pyvrp"])
def test_engines_that_are_told_serve_more(engine: Engine) -> None:
    """Four rounds that are short of some hours only: every `must`, and more of `want` in all than by engines not told."""
    served_in_all = {True: 0, False: 0}
    for seed in range(4):
        problem = farm_round(seed, 50, 2, 2)
        order_costs = OrderCosts(problem)
        tasks = frozenset(task for task in everything(problem) if problem.tasks[task].rank < 2)
        for told in served_in_all:
            orders = repaired(order_costs, engine(Ask(problem, tasks, Limit(1500), scarce=told)))
            must, want = measure(order_costs, orders)[:2]
            assert must == rank_score(problem, tasks)[0]
            served_in_all[told] += want
    assert served_in_all[True] > served_in_all[False]


def test_ranks_after_the_contested_one_come_in_last() -> None:
    """The engines are first asked without them, then with every task from the best so far."""
    problem = farm_round(7, 60, 4, 1)
    asked: list[Ask] = []

    search = Search(problem, everything(problem), Budget(1))
    search.run(1, tuple(listening(engine, asked) for engine in engines_for(problem, 60)))
    ranks = [max(problem.tasks[task].rank for task in ask.tasks) for ask in asked]
    assert ranks[0] == 1
    assert ranks[-1] == 2
    assert [ask.scarce for ask in asked] == [rank < 2 for rank in ranks]
    assert asked[0].start is None
    assert asked[-1].start is not None
    assert measure(search.order_costs, search.best)[:2] > (200, 200)


@dataclass(eq=False)
class Ready:
    """Tells at once of orders for all that it is asked for, and goes on until it is ended."""

    asked: list[Ask] = field(default_factory=list)
    took: list[float] = field(default_factory=list)
    name: str = "ready"

    def __call__(self, ask: Ask) -> Orders:
        self.asked.append(ask)
        begun = time.monotonic()
        orders = construct(OrderCosts(ask.problem), ask.tasks)
        assert ask.better is not None
        ask.better(orders)
        wait_until_over(ask)
        self.took.append(time.monotonic() - begun)
        return orders


@pytest.mark.usefixtures("own_clock")
def test_a_run_that_saves_light_ends_once_all_that_it_was_asked_for_is_served(monkeypatch: pytest.MonkeyPatch) -> None:
    """By the clock: the rank that only seemed contested is done at once, and the next one is contested in its turn."""
    monkeypatch.setattr("routing.planning.search.exchange.cores", lambda: 1)
    monkeypatch.setattr(scarce.Light, "contested", lambda _: 1)
    problem = farm_round(2, 24, 3, 1)
    first_ranks = frozenset(task for task in everything(problem) if problem.tasks[task].rank < 2)
    ready, seconds = Ready(), 4.0
    search = Search(problem, everything(problem), Budget(10, time.monotonic() + seconds))
    search.run(1, (ready,))
    assert ready.asked[0].tasks == first_ranks
    assert ready.asked[0].scarce
    assert ready.took[0] < 0.5
    assert ready.asked[1].tasks > first_ranks
    assert ready.asked[1].scarce
    assert ready.took[1] > 0.5
    assert not ready.asked[-1].scarce
    assert served(search.best) >= first_ranks


def test_one_crew_day_is_asked_for_every_task_of_the_contested_rank(monkeypatch: pytest.MonkeyPatch) -> None:
    """What seems hopeless for its light may be on the best way: published orienteering rounds lost 5 % of their score."""
    monkeypatch.setattr(scarce, "PROMISING_SHARE", 0.05)
    for crews in (1, 2):
        problem = farm_round(7, 60, 1, crews)
        asked: list[Ask] = []
        search = Search(problem, everything(problem), Budget(1))
        search.run(1, tuple(listening(engine, asked) for engine in engines_for(problem, 60)))
        whole = frozenset(task for task in everything(problem) if problem.tasks[task].rank == 0)
        assert asked[0].scarce
        assert (asked[0].tasks == whole) == (crews == 1)
