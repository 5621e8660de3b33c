"""Great farms: the thresholds are lowered here, so that small farms go the ways of great ones and can be held to proof."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from routing.check import broken_promises, still_fits
from routing.farm.models import Place
from routing.planning.ask import fit as fitting
from routing.planning.bounds.spanning_tree import least_joining
from routing.planning.explain import forced_insertion
from routing.planning.model import problem as waist
from routing.planning.model import subproblem
from routing.planning.model.build_instance import build_instance
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, rank_score, rows_of, served
from routing.planning.model.subproblem import is_packed, subproblem_of
from routing.planning.plan import fit_day, plan_days
from routing.planning.search import preselection
from routing.planning.search.preselection import most_weight, preselected
from routing.planning.search.solve import solve
from routing.round import FitProof
from routing.travel import legs as kept
from routing.travel import straight
from routing.travel.farm import farm_legs
from routing.travel.straight import straight_line_legs
from tests.planning.random_problems import best_by_trying, every_order, key, random_problem
from tests.random_farms import random_farm

RULES = random_farm(400)[0].rules
SEEDS = range(400, 412)


@pytest.fixture
def packed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the drives of every farm as those of great ones are kept."""
    monkeypatch.setattr(kept, "MOST_WIDE", 1)
    monkeypatch.setattr(waist, "MOST_LISTED", 1)
    monkeypatch.setattr(straight, "BLOCK", 2)


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    """Search among three tasks of whatever there are, and look at great farms' few places for the rest."""
    monkeypatch.setattr(preselection, "LEAST_MOST", 3)
    monkeypatch.setattr(preselection, "MOST_OF_A_DAY", 1)
    monkeypatch.setattr(subproblem, "MOST_PLACES", 1)
    monkeypatch.setattr(forced_insertion, "MANY_TASKS", 1)
    monkeypatch.setattr(fitting, "MOST_SEARCHED", 2)


def places(count: int) -> list[tuple[str, Place]]:
    dice = np.random.default_rng(3)
    return [
        (f"p{number}", Place(latitude=52 + dice.uniform(-1, 1), longitude=-2 + dice.uniform(-1, 1)))
        for number in range(count)
    ]


def test_drives_between_many_places_are_kept_in_32_bits() -> None:
    """So 5,000 places take 200 MB; up to 500 have 64 bits, in which engines add them up."""
    many, few_ = straight_line_legs(places(kept.MOST_WIDE + 1), RULES), straight_line_legs(places(20), RULES)
    assert [many.seconds.itemsize, many.metres.itemsize] == [4, 4]
    assert [few_.seconds.itemsize, few_.metres.itemsize] == [8, 8]
    assert np.iinfo(np.int32).max > 3 * kept.LARGEST_NARROW


def test_drives_estimated_by_blocks_are_those_estimated_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Thirty places in blocks of seven, kept in 32 bits: the same whole seconds and metres both ways."""
    whole = straight_line_legs(places(30), RULES)
    monkeypatch.setattr(straight, "BLOCK", 7)
    monkeypatch.setattr(kept, "MOST_WIDE", 10)
    parts = straight_line_legs(places(30), RULES)
    assert parts.seconds.itemsize == 4
    assert (parts.seconds == whole.seconds).all()
    assert (parts.metres == whole.metres).all()


def test_rows_of_many_places_are_no_copies(monkeypatch: pytest.MonkeyPatch) -> None:
    array = np.arange(9, dtype=np.int64).reshape(3, 3)
    listed = rows_of(array)
    monkeypatch.setattr(waist, "MOST_LISTED", 2)
    views = rows_of(array)
    array[1, 2] = 70
    assert (views[1][2], listed[1][2], views[2][0], len(views)) == (70, 5, 6, 3)


@pytest.mark.usefixtures("packed")
@pytest.mark.parametrize("seed", SEEDS)
def test_a_farm_kept_in_32_bits_is_planned_as_any_other(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    farm, date = random_farm(seed)
    legs = farm_legs(farm)
    assert legs.seconds.itemsize == 4
    days = build_instance(farm, legs, (date,))
    there = plan_days(days, work=2)
    monkeypatch.setattr(kept, "MOST_WIDE", 500)
    monkeypatch.setattr(waist, "MOST_LISTED", 1200)
    plain = build_instance(farm, farm_legs(farm), (date,))
    assert not is_packed(plain.problem)
    here = plan_days(plain, work=2).model_copy(update={"clash": ""})  # great farms are not told of clashes
    assert there.model_dump_json() == here.model_dump_json()


@pytest.mark.usefixtures("packed", "few")
@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("count", [1, 2])
def test_a_round_with_jobs_set_aside_keeps_every_promise(seed: int, count: int) -> None:
    """Nothing is left out that still fits, and every reason, insertion and word on the proof holds."""
    farm, date = random_farm(seed)
    dates = tuple(date + dt.timedelta(days=ahead) for ahead in range(count))
    legs = farm_legs(farm)
    planned = plan_days(build_instance(farm, legs, dates), work=2)
    assert broken_promises(planned, farm, legs) == ()
    assert still_fits(planned, farm, legs) == ()


@pytest.mark.usefixtures("few")
@pytest.mark.parametrize("seed", range(20))
def test_no_bound_with_jobs_set_aside_is_below_the_best(seed: int) -> None:
    """The bound counts the jobs set aside too: no order of all that are tried serves more of the first open rank."""
    problem = random_problem(seed, 6)
    best = best_by_trying(problem)[:RANKS]
    tasks = frozenset(range(len(problem.tasks)))
    found = solve(problem, tasks, 2)
    assert preselected(problem, tasks) < tasks
    assert all(bound >= reached for bound, reached in zip(found.rank_bounds, best, strict=True))
    assert rank_score(problem, served(found.orders)) <= best
    assert not found.proven
    assert not found.days_proven
    order_costs = OrderCosts(problem)
    assert all(order_costs.cost(route, order) is not None for route, order in enumerate(found.orders))


@pytest.mark.parametrize("seed", range(40))
def test_no_orders_pass_the_sum_of_hours(seed: int) -> None:
    """Whatever is tried: no order serves more of any rank than the sum says."""
    kinds = ({"two tasks", "hours"}, {"break", "last"}, {"load", "stock"}, set[str]())
    problem = random_problem(seed, 4, features=frozenset(kinds[seed % 4]))
    bound = most_weight(problem, frozenset(range(len(problem.tasks))))
    most = [0] * RANKS
    for order in every_order(problem):
        if key(problem, (order,)) is not None:
            most = [max(pair) for pair in zip(most, rank_score(problem, served((order,))), strict=True)]
    assert all(told >= reached for told, reached in zip(bound, most, strict=True))


@pytest.mark.usefixtures("few")
def test_the_greater_rank_is_searched_among_first() -> None:
    problem = random_problem(1, 9)
    ranks = sorted(task.rank for task in problem.tasks)
    kept_ranks = sorted(problem.tasks[task].rank for task in preselected(problem, frozenset(range(9))))
    assert kept_ranks == ranks[: len(kept_ranks)]


@pytest.mark.parametrize("seed", range(6))
def test_an_order_costs_the_same_in_the_problem_of_its_tasks_alone(seed: int) -> None:
    problem = random_problem(seed, 9)
    order = solve(problem, frozenset(range(9)), 5).orders
    small = subproblem_of(problem, served(order))
    again = small.restricted(order)
    assert small.lifted(again) == order
    for route in range(len(order)):
        assert OrderCosts(small.problem).cost(route, again[route]) == OrderCosts(problem).cost(route, order[route])


@pytest.mark.usefixtures("packed", "few")
@pytest.mark.parametrize("seed", SEEDS)
def test_fit_of_many_says_no_only_where_the_whole_search_does(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    farm, date = random_farm(seed)
    quick = fit_day(build_instance(farm, farm_legs(farm), (date,)))
    monkeypatch.undo()
    whole = fit_day(build_instance(farm, farm_legs(farm), (date,)))
    assert not quick.fits or whole.fits or whole.proof is FitProof.NOT_PROVED
    assert quick.fits or quick.proof is FitProof.NOT_PROVED or not whole.fits


def spanning_trees(ways: np.ndarray) -> Iterator[int]:
    """Yield the sum of every tree over four places (Prüfer: a tree for every pair of numbers)."""
    from itertools import combinations  # noqa: PLC0415

    pairs = list(combinations(range(4), 2))
    for edges in combinations(pairs, 3):
        joined = {0}
        for _ in range(3):
            joined |= {end for pair in edges if joined & set(pair) for end in pair}
        if len(joined) == 4:
            yield sum(int(min(ways[pair], ways[pair[::-1]])) for pair in edges)


@pytest.mark.parametrize("seed", range(8))
def test_the_least_tree_is_the_least_of_all_trees(seed: int) -> None:
    """Sixteen trees join four places, each pair at the shorter of its directions."""
    problem = random_problem(seed, 9)
    ways = problem.relaxation.routes[0].drive_seconds[:4, :4]
    trees = list(spanning_trees(ways))
    assert len(trees) == 16
    assert least_joining(replace(problem, routes=problem.routes[:1]), range(4)) == min(trees)
