"""One crew-day solved to proof by walks: prices of a linear programme, then every label that they leave.

What is asked for is lowered from the programme's bound step by step until a walk comes to it: that one is the best.
All 27 published instances of 100 stops with one route are proven so in 5 s at the most, most in half a second; the
circuit model had proven five of them in 30 s.
Cannot hold: coming back to base to load, what is on board within a stop only, and that no break is at a suspect site
where another place serves. The answer is timed and loaded by us, and counts only where it comes to what the walk
promised.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from routing.planning.bounds.ng_labels import Whole, still_to_come
from routing.planning.bounds.pricing import Day, Pricer, Walk, day_of, order_of, pricers, step_of
from routing.planning.bounds.restricted_master import Effort, Goal, Held, WalkChoice, amounts_of
from routing.planning.exact.circuit_loads import FINE
from routing.planning.exact.elementary_labels import DUE, LONG, RESTED, SHORT, best_whole_walk
from routing.planning.model.order_costs import Rounds
from routing.planning.model.problem import (
    LIMITLESS,
    NO_LIMIT,
    RANKS,
    Order,
    Problem,
    Route,
    Supply,
    Task,
    Visit,
    measures_over,
    rank_score,
    served,
    used_by,
)
from routing.planning.running.stoppable import stoppable

MOST_NODES = 200
"""Of a day: tasks, and for each the visits in which it may be done."""

MOST_LABELS = 1_000_000
MOST_TABLE = 3_000_000
"""Numbers in one table of what may still come; there are up to 24 of them."""

ROUNDS_A_WORK, MOST_ROUNDS, LEAST_ROUNDS = 3_000, 400, 30
"""Rounds of pricing of one node that a unit of work makes, and how many there are."""

COMPARED_A_WORK = 5_000_000
"""Labels compared."""

MOST_POINTS = 1 << 60
"""Weights of all ranks as one number."""

STEPS_DOWN = 300
"""The first step down from a bound is such a part of it; the next are longer for as long as that costs little."""

QUICKLY, LONGER = 500, 2_500
"""Labels compared in one step, times the nodes squared, with tables of few neighbours and of more."""

LOOKED_UP, LOOKED_UP_LONGER = 3, 5
"""Neighbours that those tables remember."""

SLACK = 1e-6
"""Share of the largest numbers in play that may be their rounding."""


_Together = tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]
"""By goal: what going on is worth, the last row from base; what may still come, as the two tables of a `_View`."""


@dataclass(frozen=True)
class WalkedDay:
    """The best order found, and what no order passes."""

    order: Order
    proven: bool
    rank_bounds: tuple[int, ...]
    """Shape (RANKS,)."""
    away_bound: int
    """No order that serves the same ranks is away for less; 0 where nothing is known, or distance comes first."""
    interrupted: bool = False
    """Whether Ctrl-C ended it."""


def walked_day(
    problem: Problem,
    route: int,
    tasks: frozenset[int],
    stock: Sequence[int],
    hint: Order,
    effort: Effort,
    told: Callable[[Order], None] | None = None,
) -> WalkedDay | None:
    """Return the best order of one route for these candidate tasks, None where walks are not made for the day.

    That is where base may be come back to, where a drive and a stop take hardly any time, or where there are too many
    nodes or too large weights. `stock` and `hint` are those of `best_day`; `told` hears of every better order. The same
    input and effort give the same answer, unless that has a deadline.
    """
    rules = problem.routes[route]
    day = day_of(problem, route, tasks)
    able = day.able
    weights = rank_score(problem, able)
    if not 0 < len(day.tasks) <= MOST_NODES or math.prod(weight + 1 for weight in weights) > MOST_POINTS:
        return None
    if not step_of(day) or (rules.most_trips > 1 and measures_over(problem, rules, able)):
        return None
    return _WalkSearch(problem, route, day, stock, hint, effort, told).run()


@cache
def get_ready() -> None:
    """Solve a day of one stop, so that what is compiled at its first call is compiled before a clock is started.

    That may take a quarter of a minute.
    """
    way = np.array([[0, 60], [60, 0]])
    route = Route(0, 3600, LIMITLESS, LIMITLESS, 0, 0, (60,), (True,), way, way)
    problem = Problem((), (Task(0, 0, 1),), (Visit(1, 0, 3600, (0,)),), (route,))
    walked_day(problem, 0, frozenset({0}), (), (), Effort(1))


class _Room:
    """Room for labels, each array of shape (labels,), but `value` also by goal, `used` by load, `memory` by word."""

    def __init__(self, loads: int, words: int) -> None:
        size = MOST_LABELS
        self.node, self.finish, self.took, self.waited = (np.empty(size, dtype=np.int64) for _ in range(4))
        self.leaves, self.soonest = (np.empty(size, dtype=np.int64) for _ in range(2))
        self.metres, self.points = (np.empty(size, dtype=np.int64) for _ in range(2))
        self.before, self.link, self.following = (np.empty(size, dtype=np.int64) for _ in range(3))
        self.rested = np.empty(size, dtype=np.bool_)
        self.used = np.empty((size, loads), dtype=np.int64)
        self.memory = np.empty((size, words), dtype=np.uint64)
        self._values = np.empty(size * (RANKS + 1))

    def value(self, goals: int) -> NDArray[np.float64]:
        """Return the room for values by so many goals."""
        return self._values[: MOST_LABELS * goals].reshape(MOST_LABELS, goals)

    def nodes(self, label: int) -> list[int]:
        """Return the nodes of the walk that a label ends, without the base."""
        found: list[int] = []
        while label > 0:
            found.append(int(self.node[label]))
            label = int(self.before[label])
        return found[::-1]


class _WalkSearch:
    """One crew-day, goal after goal."""

    def __init__(
        self,
        problem: Problem,
        route: int,
        day: Day,
        stock: Sequence[int],
        hint: Order,
        effort: Effort,
        told: Callable[[Order], None] | None,
    ) -> None:
        self.problem, self.route, self.effort, self.told = problem, route, effort, told
        self.rounds = Rounds(problem)
        self.day = day
        self.tasks = day.able
        self._loads = _Loads(problem, route, day, stock)
        self.order: Order = hint if self._costs(hint) is not None else ()
        self._rounds = MOST_ROUNDS
        if effort.deadline is None:
            self._rounds = min(MOST_ROUNDS, max(LEAST_ROUNDS, round(effort.work * ROUNDS_A_WORK / len(day.tasks))))
        self.pricer = self._pricer(LOOKED_UP)
        self._tables = self.pricer
        """Of which the tables are: those of more neighbours take longer, and leave fewer labels."""
        self.compared = self._took = 0
        self._quickly, self._longer = (each * len(self.day.tasks) ** 2 for each in (QUICKLY, LONGER))
        self.interrupted = False
        self._room = _Room(len(self._loads.most), self.pricer.room.words)
        self._walks: list[tuple[int, Walk]] = []
        self._stacks: dict[int, _Together] = {}
        """By what is to be done about the break."""
        self._settled: list[_Goal] = []
        """The goals that are met: every beginning of a day must still be able to meet them."""
        self._halt = np.zeros(1, dtype=np.bool_)
        self._seconds, self._legs = _from_base(problem, route, day)
        self._late = np.minimum(day.late, (day.longest - day.home).max())
        """Shape (nodes,): the latest finish from which base is still reached from anywhere."""
        self._latest = _latest(day, self._late, self.pricer.places)
        scores = [problem.tasks[int(task)] for task in self.day.tasks]
        self.weights = np.zeros((RANKS, len(scores)), dtype=np.int64)
        for node, facts in enumerate(scores):
            self.weights[facts.rank, node] = facts.weight
        self.totals = rank_score(problem, self.tasks)

    def _pricer(self, looked_up: int) -> Pricer:
        """Return the day with tables of so many neighbours, or of fewer where they would be too large."""
        steps = self.day.longest // step_of(self.day)
        while looked_up > 1 and (len(self.day.tasks) * steps << looked_up) > MOST_TABLE:
            looked_up -= 1
        return pricers([self.day], more=True, looked_up=looked_up)[0]

    def _costs(self, order: Order) -> tuple[int, int] | None:
        cost = self.rounds.cost(self.route, order)
        return None if cost is None else (cost.main, cost.tie)

    def run(self) -> WalkedDay:
        """Return the best order, goal after goal for as long as each is proven."""
        bounds = list(self.totals)
        least, proven = 0, True
        try:
            for rank in range(RANKS):
                if proven and self.totals[rank]:
                    bounds[rank], proven = self._most(rank)
            if proven:
                least, proven = self._least()
        except KeyboardInterrupt:
            proven, self.interrupted = False, True
        if self.problem.distance_first:
            least = 0
        return WalkedDay(self.order, proven, tuple(bounds), least, self.interrupted)

    def _priced(self, goal: Goal) -> tuple[float, _Goal | None]:
        """Return what no order can be better than for a goal, and the prices that say so, if there are any."""
        self._stacks.clear()
        orders = tuple(self.order if number == self.route else () for number in range(len(self.problem.routes)))
        choice = WalkChoice(self.problem, self.tasks, [self.pricer], orders, goal, None, self._loads.held, self._walks)
        bound = choice.run(self._rounds, self.effort)
        self._walks = choice.walks
        if choice.prices is None:
            return bound, None
        values = choice.values(choice.prices)
        gains = np.array([values[int(task)] for task in self.day.tasks])
        constant = choice.constant(choice.prices)
        slack = SLACK * max(1.0, abs(constant), float(np.abs(gains).max()))
        return bound, _Goal(gains, choice.weight, constant - slack)

    def _points(self, last: int, reached: tuple[int, ...]) -> tuple[Whole, int]:
        """Return the weights up to a rank as one number a node, and what those reached come to."""
        factors = [math.prod(self.totals[r] + 1 for r in range(rank + 1, last + 1)) for rank in range(last + 1)]
        points: Whole = np.array(factors, dtype=np.int64) @ self.weights[: last + 1]
        return points, sum(f * w for f, w in zip(factors, reached, strict=False))

    def _most(self, rank: int) -> tuple[int, bool]:
        """Serve the most of a rank; return what no order passes, and whether the order comes to it."""
        reached = self._reached()
        bound, goal = self._priced(Goal(rank, reached))
        if goal is None:
            return self.totals[rank], False
        most = min(self.totals[rank], math.floor(-bound + 1e-6))
        points, base = self._points(rank, reached)
        base -= reached[rank]
        step = max(1, most // STEPS_DOWN)
        while most > (have := self._reached()[rank]):
            low = max(have + 1, most - max(1, step) + 1)
            best = np.array([base + low - 1, 0, 0], dtype=np.int64)
            sought = self._sought(goal, goal.constant - base, points, best, step)
            if sought.order is not None:
                if self._costs(sought.order) is None:
                    return most, False
                self._take(sought.order)
            if sought.ended:
                most = low - 1 if sought.order is None else int(best[0]) - base
            elif step == 0:
                return most, False
            step = sought.step
        self._settled.append(replace(goal, constant=goal.constant + most))
        return most, most == self._reached()[rank]

    def _least(self) -> tuple[int, bool]:
        """Cost the least for what is served; return what no order of the same ranks goes under, and whether met."""
        have = self._costs(self.order)
        if not self.order or have is None:
            return 0, have is not None
        reached = self._reached()
        bound, goal = self._priced(Goal(RANKS, reached))
        if goal is None:
            return 0, False
        points, need = self._points(RANKS - 1, reached)
        least = max(0, math.ceil(bound - 1e-6))
        step = max(1, least // STEPS_DOWN)
        while True:
            high = min(have[0], least + max(0, step - 1))
            best = np.array([need, high, have[1] if high == have[0] else LONG], dtype=np.int64)
            sought = self._sought(goal, goal.constant, points, best, step, best_cost=True)
            if sought.order is not None:
                if self._costs(sought.order) != (int(best[1]), int(best[2])):
                    return least, False
                self._take(sought.order)
                have = (int(best[1]), int(best[2]))
            if sought.ended:
                if sought.order is not None or high == have[0]:
                    return have[0], True
                least = high + 1
            elif step == 0:
                return least, False
            step = sought.step

    def _reached(self) -> tuple[int, ...]:
        return rank_score(self.problem, served((self.order,)))

    def _take(self, order: Order) -> None:
        self.order = order
        if self.told is not None:
            self.told(order)

    def _view(self, rests: int, goal: _Goal) -> _View:
        """Return one kind of day at the prices of a goal; each is worked out once."""
        if rests not in goal.views:
            goal.views[rests] = self._new_view(rests, goal.gains, goal.weight)
        return goal.views[rests]

    def _new_view(self, rests: int, gains: NDArray[np.float64], weight: float) -> _View:
        day, pricer = self.day, self._tables
        resting = day.rest_cost if rests == DUE else 0
        ending = -weight * (day.home_costs + resting).astype(np.float64)
        last = np.minimum(day.late, day.longest - day.home)
        worth = gains[None, :] - weight * day.costs
        opening = gains - weight * day.out_costs
        any_time = np.zeros_like(day.early)

        def table(early: Whole, last: Whole) -> NDArray[np.float64]:
            return still_to_come(day.seconds, worth, early, self._late, last, ending, pricer.moves, pricer.step)

        rested = table(day.early, last)
        unwaited = rested
        if rests == SHORT:
            unwaited = table(any_time, np.minimum(day.late, min(day.longest, day.rest_after) - day.home))
        elif rests == DUE and day.own_hours:
            unwaited = table(any_time, last - day.rest)
        return _View(worth, opening, rested, unwaited)

    def _sought(
        self, goal: _Goal, floor: float, points: Whole, best: Whole, step: int, *, best_cost: bool = False
    ) -> _Sought:
        """Return the best order that is better than `best`, which is written over, and the step to be tried next.

        `floor` is what the goal's value must pass, but for what is the best so far.
        """
        goals, found, ended = (*self._settled, goal), None, True
        floors = np.array([*(one.constant for one in self._settled), floor])
        before = self.compared
        most = self._compared_left()
        if step:
            most = min(most, self._quickly if self._tables is self.pricer else max(self._longer, 4 * self._took))
        for rests in (DUE, SHORT) if self.day.rest else (RESTED,):
            together = self._together(rests, goals)
            nodes, whole = self._looked_through(rests, together, floors, points, best, most, best_cost=best_cost)
            ended = ended and whole
            if nodes is not None:
                found = order_of((self.day.visits[node] for node in nodes), self.day.tasks[nodes].tolist())
        if self.compared - before > self._quickly // 2 and self._tables is self.pricer:
            self._sharpen(goals)
            return _Sought(found, ended, step)
        if ended:
            took = self.compared - before
            longer = 1 if took > max(self._longer // 4, 2 * self._took) else 4 if 2 * took < 3 * self._took else 2
            self._took = took
            return _Sought(found, ended, longer * max(1, step))
        return _Sought(found, ended, step // 4)

    def _sharpen(self, goals: Sequence[_Goal]) -> None:
        """Look up more neighbours from now on."""
        self._tables = self._pricer(LOOKED_UP_LONGER)
        self._stacks.clear()
        for goal in goals:
            goal.views.clear()

    def _together(self, rests: int, goals: Sequence[_Goal]) -> _Together:
        """Return one kind of day at the prices of all goals; worked out once for each goal that is sought."""
        if rests not in self._stacks:
            views = [self._view(rests, goal) for goal in goals]
            self._stacks[rests] = (
                np.stack([np.vstack([view.worth, view.opening]) for view in views]),
                np.stack([view.to_come for view in views]),
                np.stack([view.to_come_unwaited for view in views]),
            )
        return self._stacks[rests]

    def _looked_through(
        self,
        rests: int,
        together: _Together,
        floors: NDArray[np.float64],
        points: Whole,
        best: Whole,
        most: int,
        *,
        best_cost: bool,
    ) -> tuple[list[int] | None, bool]:
        """Return the nodes of the best walk of one kind of day, None where none is better than `best`.

        The second answer says whether all were looked through.
        """
        day, problem, pricer, room = self.day, self.problem, self._tables, self._room
        most_away = problem.routes[self.route].most_away
        most_away = LONG if most_away == NO_LIMIT else most_away
        # Where no window binds inside the day, a break before the first work is as good as any, and is never too late.
        timed = best_cost or rests == SHORT or most_away != LONG or (rests == DUE and day.own_hours)
        worth, to_come, unwaited = together
        loads = self._loads

        def call() -> tuple[int, bool, int]:
            return best_whole_walk(
                self._seconds, worth, self._legs, points, loads.amounts, loads.most, loads.beside, loads.limits,
                loads.excess, loads.each, loads.supplies, loads.packs, loads.stocks, day.early, self._late, day.home,
                day.longest, most_away, day.rest, rests, day.rest_after, day.own_hours, timed, best_cost,
                problem.distance_first, pricer.places, self._latest, pricer.near, to_come, unwaited, pricer.step,
                floors, best, most, self._halt, room.node, room.rested, room.finish, room.took, room.waited,
                room.leaves, room.soonest, room.metres, room.points, room.value(len(floors)), room.used, room.memory,
                room.before, room.link, room.following,
            )  # fmt: skip

        def stop() -> None:
            self._halt[0] = True

        (label, ended, compared), stopped = stoppable(call, stop)
        self.compared += compared
        self.interrupted = self.interrupted or stopped
        return (room.nodes(label) if label >= 0 else None), ended and not stopped

    def _compared_left(self) -> int:
        left = self.effort.work * COMPARED_A_WORK - self.compared
        if self.effort.deadline is not None:
            left = (self.effort.deadline - time.monotonic()) * COMPARED_A_WORK
        return max(0, int(left))


@dataclass(frozen=True, eq=False)
class _View:
    """One kind of day at the prices of a goal; what may still come, shape (nodes, steps, masks) each."""

    worth: NDArray[np.float64]
    opening: NDArray[np.float64]
    to_come: NDArray[np.float64]
    """By the clock; before the break too, since it may fall into a wait."""
    to_come_unwaited: NDArray[np.float64]
    """Before the break, by the seconds since the first start or, on a short day, since leaving base."""


@dataclass(frozen=True, eq=False)
class _Goal:
    """What each node brings at the prices of a goal, less `weight` times its cost."""

    gains: NDArray[np.float64]
    weight: float
    constant: float
    """What the value of a walk must come to that meets the goal."""
    views: dict[int, _View] = field(default_factory=dict)
    """By what is to be done about the break."""


@dataclass(frozen=True)
class _Sought:
    """A better order, if one was found; whether all labels were looked at; the step to be tried next."""

    order: Order | None
    ended: bool
    step: int
    """0: one value at a time, for as long as it takes."""


class _Loads:
    """What a day's tasks use of stock, payload and space, as `whole_walks` has it; and what they may use together."""

    def __init__(self, problem: Problem, route: int, day: Day, stock: Sequence[int]) -> None:
        self._problem, self._tasks = problem, day.able
        self._columns: list[dict[int, int]] = []
        self._most: list[int] = []
        self._beside: list[int] = []
        self._supplies: dict[int, int] = {}
        """The column of each supply that is limited or goes to what is."""
        self.held: list[Held] = []
        used = used_by(problem, self._tasks)
        over = measures_over(problem, problem.routes[route], self._tasks)
        for supply, left in enumerate(stock):
            short = left != NO_LIMIT and used[supply] > left
            if short or (over and used[supply]):
                amounts, most = amounts_of(problem, supply, self._tasks), left if short else LONG
                self._supplies[supply] = self._column(amounts, most)
                self._hold(most, amounts)
        known = [problem.supplies[supply] for supply in self._supplies]
        self.packs = np.array([supply.pack for supply in known], dtype=np.int64)
        self.stocks = np.array([LONG if s.stock == NO_LIMIT else s.stock for s in known], dtype=np.int64)
        self.supplies = np.array(list(self._supplies.values()), dtype=np.int64)
        fine = [[round(e * FINE) for e in per_unit] for _, per_unit in over]
        self.limits = np.array([limit * FINE for limit, _ in over], dtype=np.int64)
        self.each = np.array([[e[supply] for supply in self._supplies] for e in fine], dtype=np.int64)
        self.each = self.each.reshape(len(over), len(self._supplies))
        excess = [self._excess(e, int(limit)) for e, limit in zip(fine, self.limits, strict=True)]
        self.excess = np.array(excess, dtype=np.int64)
        self.most, self.beside = np.array(self._most, dtype=np.int64), np.array(self._beside, dtype=np.int64)
        self.amounts = np.zeros((len(day.tasks), len(self._columns)), dtype=np.int64)
        for index, amounts in enumerate(self._columns):
            self.amounts[:, index] = [amounts.get(int(task), 0) for task in day.tasks]

    def _column(self, amounts: dict[int, int], most: int, beside: int = -1) -> int:
        """Return the number of a new load."""
        self._columns.append(amounts)
        self._most.append(most)
        self._beside.append(beside)
        return len(self._columns) - 1

    def _hold(self, most: int, amounts: dict[int, int]) -> None:
        """Tell the programme of what all tasks together may pass."""
        if sum(amounts.values()) > most:
            self.held.append(Held(most, amounts))

    def _excess(self, fine: Sequence[int], limit: int) -> int:
        """Return the load by which what was brought ever passed what was used, -1 where nothing is brought."""
        tasks = self._problem.tasks
        out = {t: sum(fine[s] * a for s, a in tasks[t].uses) for t in self._tasks}
        back = {t: sum(fine[s] * a for s, a in tasks[t].back) for t in self._tasks}
        self._hold(limit, out)
        self._hold(limit, back)
        for supply, column in self._supplies.items():
            self._hold(_most_of(self._problem.supplies[supply], fine[supply], limit), self._columns[column])
        if not any(back.values()):
            return -1
        net = self._column({t: back[t] - out[t] for t in self._tasks}, LONG)
        return self._column({}, limit, net)


def _most_of(supply: Supply, each: int, limit: int) -> int:
    """Return how much of one supply may be used where its packs, `each` of a unit, are all that goes to a limit."""
    if not each:
        return LONG
    loose = limit // each
    whole = loose // supply.pack * supply.pack if supply.pack else loose
    return max(whole, supply.stock) if supply.stock != NO_LIMIT and supply.stock <= loose else whole


def _from_base(problem: Problem, route: int, day: Day) -> tuple[Whole, Whole]:
    """Return seconds from node to node, the last row from base, and metres, the last column to base too."""
    metres = problem.routes[route].drive_metres.astype(np.int64)
    visits = np.array([*day.visits, -1])
    places = np.array([*(problem.visits[visit].place for visit in day.visits), 0])
    legs: Whole = np.where(visits[:, None] == visits[None, :], 0, metres[np.ix_(places, places)])
    return np.vstack([day.seconds, day.out]), legs


def _latest(day: Day, late: Whole, places: Whole) -> Whole:
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
