"""Ruin and recreate: its arithmetic against a clock and a load carried along each route, its runs against each other."""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence

import numpy as np
import pytest

from routing.planning.heuristics import ruin_insertion, ruin_segments
from routing.planning.heuristics import ruin_recreate_kernel as kernel
from routing.planning.heuristics.ruin_recreate import RuinRecreate
from routing.planning.heuristics.ruin_segments import Whole
from routing.planning.model.engine import Ask, Limit
from routing.planning.model.frame import NO_WAY
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, Order, served
from routing.planning.search.incumbent import measure
from routing.planning.search.repair import repaired
from tests.farm_rounds import farm_round

CLIENTS = 6


class Day:
    """One route and its clients in the columns that the search reads."""

    def __init__(self, seed: int) -> None:
        dice = random.Random(seed)
        self.arcs = np.array([[[dice.randrange(1, 900) for _ in range(CLIENTS + 1)] for _ in range(CLIENTS + 1)]])
        for via in range(CLIENTS + 1):  # no way is shorter by another place
            self.arcs[0] = np.minimum(self.arcs[0], self.arcs[0][:, via, None] + self.arcs[0][None, via, :])
        for _ in range(seed % 3):
            self.arcs[0, dice.randrange(1, CLIENTS + 1), dice.randrange(1, CLIENTS + 1)] = NO_WAY
        rows = []
        for task in range(CLIENTS):
            opens = dice.choice((0, 0, 1500, 3000))
            loads = [dice.choice((0, 10, 25)) for _ in range(4)]
            rows.append((dice.randrange(200, 900), opens, opens + dice.choice((600, 2500, 6000)), *loads, task))
        self.clients = np.array(rows, dtype=np.int64)
        room = dice.choice((40, 60, 200))
        longest = dice.choice((5500, 10**6))
        self.routes = np.array([[0, dice.choice((0, 400)), dice.choice((6000, 8000)), longest, room, room, 0]])
        self.order = np.zeros((1, CLIENTS), dtype=np.int64)
        self.count = np.zeros(1, dtype=np.int64)
        self.segments = np.zeros((1, CLIENTS + 1, ruin_segments.SEGMENT_COLUMNS), dtype=np.int64)

    def update_segments(self, order: Sequence[int]) -> int:
        """Return what the search says of an order: seconds away, or -1."""
        self.count[0] = len(order)
        self.order[0, : len(order)] = order
        return ruin_segments.update_segments(
            self.arcs, self.clients, self.routes, self.order, self.count, self.segments, 0
        )

    def away(self, order: Sequence[int]) -> int:
        """Return the same by a clock that is carried along: as early as can be, then as late a departure as can be."""
        return self.away_and_slack(order)[0]

    def away_and_slack(self, order: Sequence[int]) -> tuple[int, int]:
        """Return by how much later it could begin, too: the latest departure of all against that which waits least."""
        if not order:
            return 0, 0
        _, early, late, longest, *room = self.routes[0].tolist()[:6]
        stops = [self.clients[client].tolist() for client in order]
        ways = [int(self.arcs[0, a, b]) for a, b in itertools.pairwise((0, *(c + 1 for c in order), 0))]
        clock = early
        for way, (service, opens, latest, *_) in zip(ways, stops, strict=False):
            clock = max(clock + way, opens)
            if clock > latest:
                return -1, 0
            clock += service
        home = clock + ways[-1]
        leave, last = home, late
        for way, (service, _, latest, *_) in zip(reversed(ways[1:]), reversed(stops), strict=True):
            leave, last = (min(end - way - service, latest) for end in (leave, last))
        leave, last = (min(end - ways[0], late) for end in (leave, last))
        for each in range(2):
            on_board = sum(stop[3 + each] for stop in stops)
            most = on_board
            for stop in stops:  # what comes on may come on before what is left there goes off
                most = max(most, on_board, on_board - stop[3 + each] + stop[5 + each])
                on_board += stop[5 + each] - stop[3 + each]
            if max(most, on_board) > room[each]:
                return -1, 0
        possible = home <= late and home - leave <= longest
        return home - leave if possible else -1, min(last - leave, longest - home + leave)


@pytest.mark.parametrize("seed", range(30))
def test_marks_tell_what_an_order_takes_and_whether_it_is_possible(seed: int) -> None:
    """All orders of up to four of six clients, by arithmetic of the test's own."""
    day = Day(seed)
    possible = 0
    for size in range(5):
        for order in itertools.permutations(range(CLIENTS), size):
            away = day.away(order)
            assert day.update_segments(order) == away
            possible += away > 0
    assert possible > 2


@pytest.mark.parametrize("seed", range(30))
@pytest.mark.parametrize(("slack", "toll"), [(0.0, 1.0), (3600.0, 0.3), (100.0, 1.0)])
def test_the_cheapest_place_is_that_of_trying_them_all(seed: int, slack: float, toll: float) -> None:
    """Into every possible order of three each other client; what does not fit anywhere finds no place."""

    def cost(order: Sequence[int]) -> float:
        away, left = day.away_and_slack(order)
        return toll * away - slack * (left / 3600) ** 2

    day = Day(seed)
    dice = np.array([1], dtype=np.uint64)
    for order in itertools.permutations(range(CLIENTS), 3):
        if day.away(order) < 0:
            continue
        for client in set(range(CLIENTS)) - set(order):
            changed = [(*order[:place], client, *order[place:]) for place in range(4)]
            extras = [cost(each) - cost(order) for each in changed if day.away(each) >= 0]
            now = np.array([day.update_segments(order)])
            least, place = ruin_insertion.cheapest_position(
                day.arcs, day.clients, day.routes, day.order, day.count, day.segments, now, dice, 0.0, 0, client, 1e6, slack,
                toll,
            )  # fmt: skip
            assert (place >= 0) == bool(extras)
            if extras:
                assert least == pytest.approx(min(extras))
                assert cost(changed[place]) - cost(order) == pytest.approx(least)


def test_what_a_run_gives_and_tells_of_needs_no_mending() -> None:
    """Each task is done once at most, and every route, told of or given, is possible by our own clock."""
    problem = farm_round(3, 40, days=2, crews=2)
    order_costs = OrderCosts(problem)
    told: list[tuple[int, Order]] = []
    tasks = frozenset(range(40))
    ask = Ask(problem, tasks, Limit(50, seed=3), None, lambda route, order: told.append((route, order)))
    orders = RuinRecreate()(ask)
    done = [task for order in orders for planned in order for task in planned.tasks]
    assert len(done) == len(set(done)) > 10
    assert all(order_costs.cost(route, order) is not None for route, order in enumerate(orders))
    assert told
    assert all(order_costs.cost(route, order) is not None for route, order in told)


def test_longer_runs_serve_no_less_and_a_start_is_never_lost() -> None:
    """Of a start that serves something, the answer serves at least as much; the same seed gives the same orders."""
    problem = farm_round(5, 40, days=2, crews=1)
    order_costs = OrderCosts(problem)
    tasks = frozenset(range(40))

    def run(iterations: int, start: tuple[Order, ...] | None = None) -> tuple[Order, ...]:
        return repaired(order_costs, RuinRecreate()(Ask(problem, tasks, Limit(iterations, seed=2), start)))

    short, again = run(25), run(25)
    assert short == again
    longer = run(200, short)
    assert measure(order_costs, longer)[:RANKS] >= measure(order_costs, short)[:RANKS]
    assert served(longer)


def test_slack_in_one_day_is_worth_more_than_in_two() -> None:
    """An hour in one day against half an hour in each of two; where all is served seconds away count, and under all."""
    arcs = np.zeros((1, 3, 3), dtype=np.int64)
    clients: Whole = np.array([(600, 0, 10**6, 0, 0, 0, 0, 0), (600, 0, 10**6, 0, 0, 0, 0, 1)], dtype=np.int64)
    order, count = np.array([[0], [1]], dtype=np.int64), np.array([1, 1], dtype=np.int64)

    def held(slacks: tuple[int, int], out: int) -> float:
        routes = np.array([(0, 0, 600 + slack, 10**6, 9, 9, 0) for slack in slacks], dtype=np.int64)
        segments, away = np.zeros((2, 2, ruin_segments.SEGMENT_COLUMNS), dtype=np.int64), np.array([600, 600])
        for route in range(2):
            assert ruin_segments.update_segments(arcs, clients, routes, order, count, segments, route) == 600
        left_out = np.array([0, 1, out])
        return kernel.acceptance_cost(
            arcs, routes, order, count, left_out, segments, away, 1200 + 10**5 * (out < 0), 80.0, 0.5
        )

    assert held((3600, 0), out=-1) == 10**5 + 600 - 80
    assert held((1800, 1800), out=-1) == 10**5 + 600 - 40
    assert held((3600, 0), out=1) == held((1800, 1800), out=1) == 1200 - kernel.NOTHING_OUT
