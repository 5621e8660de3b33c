"""Hybrid genetic search: what crossover keeps, who makes way, brief days without a break, and repeatability."""

from __future__ import annotations

import dataclasses
import itertools
import random

import pytest
import pyvrp

from routing.planning.heuristics.brief_models import Models
from routing.planning.heuristics.crossover import crossover
from routing.planning.heuristics.hybrid_genetic import HybridGenetic
from routing.planning.heuristics.population import (
    ELITE,
    LAST_OF_ALL,
    NOT_SERVED,
    Genes,
    Individual,
    successors,
    survivors,
)
from routing.planning.heuristics.pyvrp import PyVRP
from routing.planning.heuristics.pyvrp_model import BASE, clients_in
from routing.planning.model.engine import Ask, Limit
from routing.planning.model.frame import build_frame
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, Orders, Problem, served
from routing.planning.model.timing import timeline
from routing.planning.search.incumbent import measure
from routing.planning.search.repair import repaired
from routing.planning.search.solve import solve
from tests.farm_rounds import farm_round
from tests.planning.random_problems import best_of_two, key, random_problem
from tests.planning.test_engines import EVERYTHING, WITH_RETURNS
from tests.together import then_deep

CLIENTS = 24


def random_genes(dice: random.Random) -> Genes:
    """Two kinds of three routes each; some come back to base, some clients are left out."""
    some = dice.sample(range(CLIENTS), CLIENTS - 3)
    routes = []
    for number in range(6):
        stops = some[number::6]
        if dice.random() < 0.5 and len(stops) > 1:
            stops.insert(dice.randrange(1, len(stops)), BASE)
        routes.append((number % 2, tuple(stops)))
    return tuple(routes)


@pytest.mark.parametrize("seed", range(40))
def test_crossover_keeps_whole_routes_of_one_parent_and_parts_of_the_other(seed: int) -> None:
    """Nothing twice, one client of a group at most, no more routes than there are, and BASE only between two stops."""
    dice = random.Random(seed)
    one, other = random_genes(dice), random_genes(dice)
    near = dice.sample(range(CLIENTS), CLIENTS)
    many = dice.randint(1, 5)
    group = [number // 2 for number in range(CLIENTS)] if seed % 2 else list(range(CLIENTS))
    if seed % 2:  # as parents that keep to their groups
        one, other = (
            tuple((k, tuple(s for s in stops if s == BASE or s % 2 == 0)) for k, stops in each) for each in (one, other)
        )
        one, other = (tuple((k, stops) for k, stops in each if stops and BASE not in stops) for each in (one, other))
        many = min(many, len(one))
    everything = frozenset(range(BASE, CLIENTS))
    child = crossover(one, other, near, many, (3, 3), group, (everything, everything))
    met = [client for _, stops in child for client in clients_in(stops)]
    assert len({group[client] for client in met}) == len(met)
    assert all(sum(kind == number for kind, _ in child) <= 3 for number in range(2))
    assert all(route in one for route in child[:many])
    route_of = {stop: number for number, (_, stops) in enumerate(one) for stop in stops}
    first = next(client for client in near if client in route_of)
    assert child[0] == one[route_of[first]]
    for _, stops in child[many:]:
        whole = next(theirs for _, theirs in other if set(stops) - {BASE} <= set(theirs))
        assert [client for client in clients_in(whole) if client in stops] == clients_in(stops)
    for _, stops in child:
        assert BASE not in (stops[0], stops[-1])
        assert (BASE, BASE) not in itertools.pairwise(stops)


def test_a_route_for_which_there_is_no_room_goes_to_another_kind_that_may_serve_it() -> None:
    """Both parents use the first kind's one day: what is left of the other's goes to the second, unless that cannot."""
    one: Genes = ((0, (0, 1)),)
    other: Genes = ((0, (2, BASE, 3, 1)),)
    group, room = list(range(4)), (1, 1)
    everything = frozenset(range(BASE, 4))
    for able, child in (
        (everything, ((0, (0, 1)), (1, (2, BASE, 3)))),
        (everything - {3}, one),
        (everything - {BASE}, one),
    ):
        assert crossover(one, other, [0, 1, 2, 3], 1, room, group, (everything, able)) == child


def test_what_follows_each_client_is_told_across_base() -> None:
    genes: Genes = ((0, (3, BASE, 1)), (1, (0,)))
    assert successors(genes, 5).tolist() == [LAST_OF_ALL, LAST_OF_ALL, NOT_SERVED, 1, NOT_SERVED]


def individuals(many: int, same: int) -> list[Individual]:
    """Return individuals with random orders, the last `same` of them like the first."""
    dice = random.Random(1)
    problem = farm_round(1, 2)
    nothing = pyvrp.Solution(Models(build_frame(problem, frozenset(range(2))), scarce=False, seed=1).of((0,)).data, [])
    drawn = [random_genes(dice) for _ in range(many - same)]
    drawn += [drawn[0]] * same
    return [Individual(nothing, genes, (0,), successors(genes, CLIENTS)) for genes in drawn]


def test_what_is_the_same_as_another_makes_way_first() -> None:
    """However cheap: four copies of one are gone before any other, and the cheapest of all is never lost."""
    some = individuals(20, 4)
    kept = survivors(some, [5.0] * 16 + [1.0, 2.0, 3.0, 4.0], 16)
    alike = [one for one in kept if one.genes == some[0].genes]
    assert len(kept) == 16
    assert alike == [some[16]]


@pytest.mark.parametrize("seed", range(5))
def test_the_cheapest_stay_whatever_they_are_like(seed: int) -> None:
    """Those of the elite stay, in their order; the dearest that is like others does not."""
    some = individuals(30, 0)
    costs = list(range(30))
    random.Random(seed).shuffle(costs)
    kept = survivors(some, costs, 10)
    assert len(kept) == 10
    assert [one for one in some if one in kept] == kept
    cheapest = sorted(range(30), key=costs.__getitem__)[: ELITE - 1]
    assert all(some[number] in kept for number in cheapest)


def test_the_shortest_days_are_the_brief_ones_and_need_no_break() -> None:
    """A day of two stops costs half an hour less once one may be brief; where two are to be, the full one is too long."""
    problem = farm_round(3, 24, 1, 2)
    frame = build_frame(problem, frozenset(range(24)))
    models = Models(frame, scarce=False, seed=1)
    orders = repaired(
        OrderCosts(problem), HybridGenetic()(Ask(problem, frozenset(range(24)), Limit(2000), scarce=True))
    )
    day = max(orders, key=len)
    full, short = day[:-2], day[-2:]
    genes = ((0, tuple(frame.sequence(full))), (0, tuple(frame.sequence(short))))
    plain, brief = (models.solution(genes, (many,)) for many in (0, 1))
    assert models.genes(brief, (1,)) == (genes[1], genes[0])
    evaluator = pyvrp.CostEvaluator([1, 1], 1, 0)
    saved = evaluator.penalised_cost(plain) - evaluator.penalised_cost(brief)
    whole, part = timeline(problem, 0, full), timeline(problem, 1, short)
    assert whole is not None
    assert part is not None
    assert whole.rest is not None
    assert part.rest is None
    assert saved == problem.routes[0].break_seconds
    assert models.brief_of(genes) == (1,)
    assert [models.briefest(genes, many) for many in range(3)] == [(0,), (1,), (2,)]
    both = models.solution(genes, (2,))
    assert both.has_time_warp()


def test_the_shortest_days_of_all_kinds_are_the_brief_ones() -> None:
    """Two crews that are not alike: the second's day of one stop is the shorter."""
    problem = farm_round(3, 24, 1, 2)
    earlier = dataclasses.replace(problem.routes[1], home_by=problem.routes[1].home_by - 600)
    frame = build_frame(dataclasses.replace(problem, routes=(problem.routes[0], earlier)), frozenset(range(24)))
    models = Models(frame, scarce=False, seed=1)
    genes: Genes = ((0, (0, 1, 2)), (1, (3,)))
    assert [models.briefest(genes, many) for many in range(4)] == [(0, 0), (0, 1), (1, 1), (1, 1)]
    assert [models.briefest(genes[:1], many) for many in range(3)] == [(0, 0), (1, 0), (1, 1)]
    assert Models(frame, scarce=True, seed=1).briefest(genes, 1) == (0, 0)


@pytest.mark.parametrize("seed", [6, 11])
def test_brief_days_are_bred_where_they_save_a_break(seed: int) -> None:
    """By brute force over all orders of two crews; who knows of no breaks ends an hour later."""
    plain = farm_round(seed, 6, 1, 2, side_km=20)
    routes = (dataclasses.replace(route, break_after_seconds=9000, break_seconds=3600) for route in plain.routes)
    problem = dataclasses.replace(plain, routes=tuple(routes))
    tasks = frozenset(range(6))
    best = best_of_two(problem)
    reached = []
    for engine in (HybridGenetic(), PyVRP()):
        found = key(problem, repaired(OrderCosts(problem), engine(Ask(problem, tasks, Limit(10_000)))))
        assert found is not None
        reached.append(found)
    assert reached[0][: RANKS + 1] == best[: RANKS + 1]
    assert reached[1][: RANKS + 1] < best[: RANKS + 1]


@pytest.mark.parametrize("features", [frozenset({"hours", "load"}), frozenset({"hours", "returns", "load"})])
def test_the_same_seed_breeds_the_same_orders(features: frozenset[str]) -> None:
    """With a count of iterations for its limit."""
    problem = random_problem(4, visits=14, routes=3, features=features)
    tasks = frozenset(range(14))
    first, again = (HybridGenetic()(Ask(problem, tasks, Limit(1500, seed=3))) for _ in range(2))
    assert first == again
    assert served(first)


def test_it_goes_on_from_a_start() -> None:
    """With hardly an iteration of its own it gives back what it was given."""
    problem = farm_round(2, 40, 2, 2)
    tasks = frozenset(range(40))
    known = HybridGenetic()(Ask(problem, tasks, Limit(2000)))
    again = HybridGenetic()(Ask(problem, tasks, Limit(1), known))
    order_costs = OrderCosts(problem)
    assert measure(order_costs, repaired(order_costs, again)) >= measure(order_costs, repaired(order_costs, known))


def test_it_takes_in_what_is_known_elsewhere() -> None:
    """What it then ends with is no worse, though it had no time to find it."""
    problem = farm_round(2, 40, 2, 2)
    tasks, order_costs = frozenset(range(40)), OrderCosts(problem)
    known = HybridGenetic()(Ask(problem, tasks, Limit(8000)))
    asked: list[None] = []

    def elsewhere() -> Orders:
        asked.append(None)
        return known

    brief = Limit(400, seed=2)
    alone = HybridGenetic()(Ask(problem, tasks, brief))
    helped = HybridGenetic()(Ask(problem, tasks, brief, elsewhere=elsewhere))
    best, less, more = (measure(order_costs, repaired(order_costs, orders)) for orders in (known, alone, helped))
    assert less < best <= more
    assert asked


def test_after_long_without_gain_it_begins_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """What was best before is kept."""
    monkeypatch.setattr("routing.planning.heuristics.hybrid_genetic.RESTART_AFTER", 25)
    problem: Problem = random_problem(3, visits=5, routes=2)
    tasks = frozenset(range(5))
    order_costs = OrderCosts(problem)
    brief, long = (
        measure(order_costs, repaired(order_costs, HybridGenetic()(Ask(problem, tasks, Limit(many)))))
        for many in (500, 3000)
    )
    assert long >= brief
    assert sum(long[:3]) > 0


@pytest.mark.parametrize("seed", then_deep([1, 2], range(6)))
def test_a_round_large_enough_to_be_bred_keeps_every_rule(monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    """All constraints at once, on one day to three, the crews coming back to base in half of them."""
    asked_of_it: list[Ask] = []
    run = HybridGenetic.__call__

    def listened(engine: HybridGenetic, ask: Ask) -> Orders:
        asked_of_it.append(ask)
        return run(engine, ask)

    monkeypatch.setattr(HybridGenetic, "__call__", listened)
    features = WITH_RETURNS if seed % 2 else EVERYTHING
    problem = random_problem(seed, visits=34, routes=4, features=features, days=1 + seed % 3)
    orders = solve(problem, frozenset(range(len(problem.tasks))), work=3, prove=False).orders
    assert asked_of_it
    assert key(problem, orders) is not None
    assert served(orders)
