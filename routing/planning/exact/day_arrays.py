"""A crew-day as labellings read it: ways, nodes, loads and rules in columns, and what may still come at prices."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from routing.planning.bounds.ng_labels import completion_bounds
from routing.planning.bounds.pricing import Pricer, pricers
from routing.planning.bounds.walk_days import Day, step_of
from routing.planning.exact.walk_loads import WalkLoads
from routing.planning.labelling.columns import (
    BESIDE,
    COLUMN,
    DUE,
    EACH,
    EARLY,
    EXCESS,
    FIRST_LIMIT,
    LATE,
    LIMIT,
    LONG,
    METRES_ON,
    MOST_LOAD,
    PACK,
    PLACE,
    SCORE,
    SECONDS,
    SHORT,
    STOCK,
    Real,
    Whole,
)
from routing.planning.model.problem import NO_LIMIT, Problem

MOST_TABLE = 3_000_000
"""Numbers in one table of what may still come; there are up to 24 of them."""


@dataclass(frozen=True, eq=False)
class Tables:
    """One kind of day at the prices of a goal."""

    worth: Real
    """Shape (nodes + 1, nodes + 1): what going on is worth, the last row from base and the last column home."""
    to_come: Real
    """Shape (nodes, steps, masks): what may still come, by the clock; before the break too: it may be in a wait."""
    to_come_unwaited: Real
    """Before the break, by the seconds since the first start or, on a short day, since leaving base."""


class DayArrays:
    """The arrays of one crew-day; see `labelling/columns.py` for what stands where."""

    def __init__(self, problem: Problem, route: int, day: Day, loads: WalkLoads) -> None:
        self._problem, self._route, self._day = problem, route, day
        self.late = np.minimum(day.late, (day.longest - day.home).max())
        """Shape (nodes,): the latest finish from which base is still reached from anywhere."""
        places = pricers([day], looked_up=1)[0].places
        self.ways = _ways(problem, route, day)
        self.nodes = np.zeros((len(day.tasks), 4), dtype=np.int64)
        self.nodes[:, EARLY], self.nodes[:, LATE], self.nodes[:, PLACE] = day.early, self.late, places
        self.loads, self.limits = _loads(loads)
        self.latest = _latest_finishes(day, self.late, places)

    def pricer(self, looked_up: int) -> Pricer:
        """Return the day with tables of so many neighbours, or of fewer where they would be too large."""
        steps = self._day.longest // step_of(self._day)
        while looked_up > 1 and (len(self._day.tasks) * steps << looked_up) > MOST_TABLE:
            looked_up -= 1
        return pricers([self._day], looked_up=looked_up)[0]

    def with_scores(self, scores: Whole) -> Whole:
        """Return the nodes with what each counts."""
        nodes = self.nodes.copy()
        nodes[:, SCORE] = scores
        return nodes

    def rules(self, rests: int, step: int, *, least_cost: bool, timed: bool, most_compared: int = LONG) -> Whole:
        """Return the rules of the day, where such is to be done about the break."""
        day, most_away = self._day, self._problem.routes[self._route].most_away
        return np.array(
            [day.longest, LONG if most_away == NO_LIMIT else most_away, day.rest, rests, day.rest_after,
             day.own_hours, timed, least_cost, self._problem.distance_first, step, most_compared, 0], dtype=np.int64
        )  # fmt: skip

    def tables(self, pricer: Pricer, rests: int, gains: Real, weight: float) -> Tables:
        """Return one kind of day where each node brings its `gains`, shape (nodes,), less `weight` times the cost."""
        day, base = self._day, len(self._day.tasks)
        resting = day.rest_cost if rests == DUE else 0
        ending = -weight * (day.home_costs + resting).astype(np.float64)
        last = np.minimum(day.late, day.longest - day.home)
        inner = gains[None, :] - weight * day.costs
        worth = np.zeros((base + 1, base + 1))
        worth[:base, :base], worth[base, :base], worth[:base, base] = inner, gains - weight * day.out_costs, ending
        any_time = np.zeros_like(day.early)

        def table(early: Whole, last: Whole) -> Real:
            return completion_bounds(
                day.seconds, pricer.follow, inner, early, self.late, last, ending, pricer.moves, pricer.step
            )

        by_clock = table(day.early, last)
        unwaited = by_clock
        if rests == SHORT:
            unwaited = table(any_time, np.minimum(day.late, min(day.longest, day.rest_after) - day.home))
        elif rests == DUE and day.own_hours:
            unwaited = table(any_time, last - day.rest)
        return Tables(worth, by_clock, unwaited)


def _ways(problem: Problem, route: int, day: Day) -> Whole:
    """Return seconds and metres from node to node, the last row from base and the last column to it."""
    base = len(day.tasks)
    metres = problem.routes[route].drive_metres.astype(np.int64)
    visits = np.array([*day.visits, -1])
    places = np.array([*(problem.visits[visit].place for visit in day.visits), 0])
    ways = np.full((2, base + 1, base + 1), -1, dtype=np.int64)
    ways[SECONDS, :base, :base], ways[SECONDS, base, :base], ways[SECONDS, :base, base] = day.seconds, day.out, day.home
    ways[METRES_ON] = np.where(visits[:, None] == visits[None, :], 0, metres[np.ix_(places, places)])
    return ways


def _loads(held: WalkLoads) -> tuple[Whole, Whole]:
    """Return what each node uses of each load with what all may use, and the limits of payload and space."""
    nodes, many = held.amounts.shape
    loads = np.zeros((nodes + 2, many), dtype=np.int64)
    loads[:nodes], loads[MOST_LOAD], loads[BESIDE] = held.amounts, held.most, held.beside
    limits = np.full((FIRST_LIMIT + len(held.limits), EACH + len(held.supplies)), -1, dtype=np.int64)
    limits[COLUMN, EACH:], limits[PACK, EACH:], limits[STOCK, EACH:] = held.supplies, held.packs, held.stocks
    limits[FIRST_LIMIT:, LIMIT], limits[FIRST_LIMIT:, EXCESS] = held.limits, held.excess
    limits[FIRST_LIMIT:, EACH:] = held.each
    return loads, limits


def _latest_finishes(day: Day, late: Whole, places: Whole) -> Whole:
    """Return the latest finish of each node from which each task can still be done, shape (nodes, tasks)."""
    nodes = len(day.tasks)
    ways = np.where(day.seconds >= 0, day.seconds, LONG // 4)
    np.fill_diagonal(ways, 0)
    for via in range(nodes):
        ways = np.minimum(ways, ways[:, via, None] + ways[None, via, :])
    latest = np.full((nodes, int(places.max()) + 1), -LONG, dtype=np.int64)
    for node in range(nodes):
        latest[:, places[node]] = np.maximum(latest[:, places[node]], late[node] - ways[:, node])
    return latest
