"""The linear programme that chooses one walk (see `pricing`) a crew-day, each task at most once, the stock kept.

For any prices of the tasks, the prices and the best walk of each crew-day together bound every choice; the prices of
the programme make that bound tight. Each bound is computed from prices and walks alone and holds whether or not the
search has ended.
Source: the bound of M. E. Lübbecke and J. Desrosiers, "Selected topics in column generation", Operations Research 53
(2005), section 2.1, from memory, not checked.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ortools.math_opt.python import mathopt

from routing.planning.bounds.pricing import COARSE, Pricer, Walk, best_of_all
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import NO_LIMIT, RANKS, Orders, Problem, served
from routing.planning.model.route_pool import RoutePool
from routing.planning.running.budget import Budget

Effort = Budget

SMOOTHING = 0.8
"""Share of the best prices so far in those tried next; of 0.6, 0.8 and 0.9 it took the fewest rounds."""

NEAR = 1e-6
"""Under this, a difference is the solver's rounding."""

SETTLED = 1e-5
"""Share of the programme's value; a bound this near will not come nearer."""

LEAST_WALKS = 20

PRICES_ALONE = mathopt.ModelSolveParameters(
    variable_values_filter=mathopt.VariableFilter(filtered_items=()),
    reduced_costs_filter=mathopt.VariableFilter(filtered_items=()),
)
"""What the programme is asked for: to tell what each of thousands of walks does takes longer than to solve it."""

STEP = 0.3
"""Share of what it is away from the programme's value: exact pricing at the best prices that brings a bound no nearer
than that is followed by pricing at the programme's own."""

EXACT_ROUNDS = 5
"""Rounds of quick pricing that one of exact pricing counts for."""


@dataclass(frozen=True)
class Goal:
    """Serve the most weight of a rank while the ranks before keep what they have; after all ranks, cost the least."""

    rank: int
    """RANKS for the cost."""
    reached: tuple[int, ...]
    crew_days: bool = False
    """Whether the fewest crew-days are sought that serve what is `reached` in the ranks before `rank`."""


@dataclass(frozen=True)
class Held:
    """What all tasks together may use of something."""

    most: float
    amounts: Mapping[int, float]
    """By task."""


def amounts_of(problem: Problem, supply: int, tasks: Iterable[int]) -> dict[int, int]:
    """Return what each of the tasks uses of a supply."""
    return {task: sum(used for s, used in problem.tasks[task].uses if s == supply) for task in tasks}


def stock_held(problem: Problem) -> list[Held]:
    """Return what the stock holds, of each supply that is limited."""
    return [
        Held(supply.stock, amounts_of(problem, number, range(len(problem.tasks))))
        for number, supply in enumerate(problem.supplies)
        if supply.stock != NO_LIMIT
    ]


@dataclass(frozen=True)
class RowBounds:
    """What each row of the programme lies between: tasks, groups of crew-days, what is held, ranks before the goal."""

    low: tuple[float, ...]
    high: tuple[float, ...]

    def each(self) -> Iterator[tuple[float, float]]:
        """Yield the two of each row."""
        return zip(self.low, self.high, strict=True)

    def legal(self, prices: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the prices, shape (rows,), with the sign that their rows allow, whatever the solver's rounding."""
        signs = np.where(np.isinf(np.array(self.high)), 1, -1)
        return np.where(prices * signs > 0, prices, 0.0)

    def worth(self, prices: NDArray[np.float64]) -> float:
        """Return what all rows together are worth at these prices, shape (rows,)."""
        rows = zip(prices, self.low, self.high, strict=True)
        return float(sum(price * (low if price > 0 else high) for price, low, high in rows if price))


def row_bounds(tasks: Sequence[int], priced: Sequence[Pricer], held: Sequence[Held], goal: Goal | None) -> RowBounds:
    """Return what the rows lie between; with a goal each task is done at most once, without one at least once."""
    most_once, infinite = (-math.inf, 1.0), math.inf
    rows = [most_once if goal else (1.0, infinite) for _ in tasks]
    rows += [(-infinite, float(len(pricer.day.routes))) for pricer in priced]
    rows += [(-infinite, float(one.most)) for one in held]
    rows += [(float(goal.reached[rank]), infinite) for rank in range(goal.rank)] if goal else []
    return RowBounds(tuple(low for low, _ in rows), tuple(high for _, high in rows))


@dataclass
class _Centre:
    """Prices to stay near, and the bound there as far as it is known."""

    prices: NDArray[np.float64] | None = None
    low: float = -math.inf


class WalkChoice:
    """The linear programme over walks; it minimises minus the weight, or what the walks cost where there is no goal."""

    def __init__(
        self,
        problem: Problem,
        tasks: frozenset[int],
        priced: list[Pricer],
        orders: Orders,
        goal: Goal | None,
        pool: RoutePool | None,
        held: Sequence[Held] | None = None,
        walks: Iterable[tuple[int, Walk]] = (),
    ) -> None:
        """`pool` holds known routes of the problem, `held` what is limited: the stock where nothing is said.

        `walks` are those of another goal, each of a group.
        """
        self.problem, self.priced, self.goal, self.pool = problem, priced, goal, pool
        self.tasks = sorted(tasks)
        self.weight = 0.0 if goal and (goal.rank < RANKS or goal.crew_days) else 1.0
        self.each = 1.0 if goal and goal.crew_days else 0.0
        """What a walk costs besides."""
        self.model = mathopt.Model()
        self.held = stock_held(problem) if held is None else held
        self.floors = list(range(goal.rank)) if goal else []
        self.bounds = row_bounds(self.tasks, priced, self.held, goal)
        self.rows = [self.model.add_linear_constraint(lb=low, ub=high) for low, high in self.bounds.each()]
        self.solver = mathopt.IncrementalSolver(self.model, mathopt.SolverType.GLOP)
        self.row_of = {task: row for row, task in enumerate(self.tasks)}
        self.most_walks = max(LEAST_WALKS, len(tasks))
        """Told of at once for one group of crew-days."""
        self.known: set[tuple[int, tuple[int, ...], int]] = set()
        self.prices: NDArray[np.float64] | None = None
        """Those of the best bound so far, by row: tasks, groups, what is held, ranks before the goal."""
        self._coarse = COARSE
        self.tops: tuple[float, ...] = ()
        """By group what no walk is worth more than at those prices, nor a crew-day at home."""
        self.walks: list[tuple[int, Walk]] = []
        """All in the programme, each of a group."""
        self._add_orders(orders)
        if self.each:
            self._add_dear()
        for group, walk in walks:
            self._add(group, walk)

    def _add_orders(self, orders: Orders) -> None:
        """Start from these orders, and from what is known of others: prices are near their best much sooner."""
        order_costs = OrderCosts(self.problem)
        group = {route: number for number, pricer in enumerate(self.priced) for route in pricer.day.routes}
        for column in self.pool or ():
            if column.tasks <= self.row_of.keys():
                self._add(group[column.route], Walk(tuple(sorted(column.tasks)), column.cost.main, 0.0))
        for route, order in enumerate(orders):
            cost = order_costs.cost(route, order)
            tasks = tuple(sorted(served((order,))))
            if order and cost is not None:
                self._add(group[route], Walk(tasks, cost.main, 0.0))

    def _add_dear(self) -> None:
        """Add what does one task each, dearer than all crew-days: so the programme always has an answer."""
        row = len(self.tasks) + len(self.priced) + len(self.held)
        for task in self.tasks:
            facts = self.problem.tasks[task]
            variable = self.model.add_variable(lb=0)
            self.model.objective.set_linear_coefficient(variable, 1.0 + len(self.problem.routes))
            self.rows[self.row_of[task]].set_coefficient(variable, 1.0)
            if facts.rank in self.floors:
                self.rows[row + self.floors.index(facts.rank)].set_coefficient(variable, float(facts.weight))

    def _add(self, group: int, walk: Walk) -> bool:
        key = (group, tuple(sorted(walk.tasks)), walk.cost if self.weight else 0)
        if key in self.known:
            return False
        self.known.add(key)
        self.walks.append((group, walk))
        entries: dict[int, float] = {}
        for task in walk.tasks:
            row = self.row_of[task]
            entries[row] = entries.get(row, 0.0) + 1.0
        row = len(self.tasks)
        entries[row + group] = 1.0
        row += len(self.priced)
        for index, held in enumerate(self.held):
            if used := sum(held.amounts.get(task, 0.0) for task in walk.tasks):
                entries[row + index] = used
        row += len(self.held)
        weights = [0] * RANKS
        for task in walk.tasks:
            weights[self.problem.tasks[task].rank] += self.problem.tasks[task].weight
        for index, rank in enumerate(self.floors):
            if weights[rank]:
                entries[row + index] = float(weights[rank])
        cost = self.each or float(walk.cost)
        if self.goal is not None and self._whole:
            cost = -float(weights[self.goal.rank])
        variable = self.model.add_variable(lb=0)
        self.model.objective.set_linear_coefficient(variable, cost)
        for index, value in entries.items():
            self.rows[index].set_coefficient(variable, value)
        return True

    def run(self, rounds: int, effort: Effort, near: float = SETTLED, *, once: bool = False) -> float:
        """Return the best bound found (from below) in so many rounds of quick pricing; exact ones count for several.

        It ends sooner where the bound is `near` the programme's value, a share of it, or, where `once`, after the first
        exact pricing. Prices are tried between the programme's and those of the best bound, as far as quick pricing
        tells.
        Source: A. Pessoa, R. Sadykov, E. Uchoa, F. Vanderbeck, "Automation and combination of linear-programming based
        stabilization techniques in column generation", INFORMS Journal on Computing 30 (2018), section 2, from memory,
        not checked.
        """
        best, spent, self._coarse = -math.inf, 0, COARSE
        centre, stays = _Centre(), False
        while (answer := self._solved()) is not None and answer.has_dual_feasible_solution():
            prices, value = self.bounds.legal(np.array(answer.dual_values(self.rows))), answer.objective_value()
            last = spent >= rounds or effort.over()
            if not last:
                spent += 1
                if self._brings_walks(centre, prices, value, near):
                    continue
            tried = prices if stays or centre.prices is None else centre.prices
            bound, tops, added = self._bounded(tried)
            spent += EXACT_ROUNDS
            gain = bound - best
            if bound > best:
                best, self.prices, self.tops = bound, tried, tops
            centre, stays = _Centre(self.prices, best), tried is not prices and gain < STEP * (value - best)
            stalls = self._whole and near > SETTLED and gain < 1
            ended = last or once or stalls or self._near(value, best, near) or self._enough(best)
            if ended or (not added and tried is prices and gain <= 0):
                break
        return best

    @property
    def _whole(self) -> bool:
        """Whether the goal is a rank's weight, which is a whole number."""
        return self.goal is not None and not self.weight and not self.each

    def _near(self, value: float, low: float, near: float) -> bool:
        """Return whether a bound so low is near the programme's value, which no bound passes: within a share of it.

        A rank's is near where both tell one weight.
        """
        if low == -math.inf:
            return False
        share = SETTLED if self._whole else near
        told = self._whole and math.floor(NEAR - low) <= math.floor(NEAR - value)
        return told or value - low <= max(NEAR, share * abs(value))

    def _brings_walks(self, centre: _Centre, prices: NDArray[np.float64], value: float, near: float) -> bool:
        """Return whether quick pricing brought new walks into the programme; the centre moves to better prices.

        Where it brings none it is made finer.
        """
        while True:
            if centre.prices is None or not self._near(value, centre.low, near):
                for share in (SMOOTHING, SMOOTHING / 2, 0.0) if centre.prices is not None else (0.0,):
                    tried = prices if centre.prices is None else share * centre.prices + (1 - share) * prices
                    low, added = self._widen(tried, prices)
                    if low > centre.low:
                        centre.prices, centre.low = tried, low
                    if added:
                        return True
            if self._coarse == 1:
                return False
            self._coarse = 1
            if centre.prices is not None:
                centre.low, added = self._widen(centre.prices, prices)
                if added:
                    return True

    def _solved(self) -> mathopt.SolveResult | None:
        """Return an answer, or None where the numbers failed both solvers, which is no fault of the round."""
        try:
            return self.solver.solve(model_params=PRICES_ALONE)
        except Exception:  # noqa: BLE001 - the error that it makes of its own failure may fail too
            self.solver = mathopt.IncrementalSolver(self.model, mathopt.SolverType.GLOP)
        try:
            return mathopt.solve(self.model, mathopt.SolverType.HIGHS)
        except Exception:  # noqa: BLE001 - as above
            return None

    def _enough(self, best: float) -> bool:
        """Return whether the bound already proves the rank's weight best."""
        if self.each:
            return best > len(self.problem.routes) + NEAR
        return self.goal is not None and not self.weight and -best < self.goal.reached[self.goal.rank] + 1

    def _widen(self, tried: NDArray[np.float64], prices: NDArray[np.float64]) -> tuple[float, bool]:
        """Price quickly at the tried prices; return the bound there if no walk was missed, and whether any were added.

        Walks come into the programme where they are worth it at `prices`.
        """
        values, worth = self.values(tried), self.values(prices)
        row, added = len(self.tasks), False
        least = [self.each - tried[row + group] + NEAR for group in range(len(self.priced))]
        found = best_of_all(self.priced, values, self.weight, least, self.most_walks, coarse=self._coarse)
        low = self.bounds.worth(tried)
        for group, (_, walks) in enumerate(found):
            best = max((walk.value for walk in walks), default=least[group])
            low -= len(self.priced[group].day.routes) * max(0.0, best - least[group])
            for walk in walks:
                value = sum(worth[task] for task in walk.tasks) - self.weight * walk.cost - self.each
                if value + prices[row + group] > NEAR:
                    added = self._take(group, walk) or added
        return low, added

    def _bounded(self, prices: NDArray[np.float64]) -> tuple[float, tuple[float, ...], bool]:
        """Return the bound that these prices give, the `tops`, and whether new walks came into the programme."""
        values = self.values(prices)
        bound, tops = self.bounds.worth(prices), []
        added = False
        row = len(self.tasks)
        floors = [self.each - prices[row + group] for group in range(len(self.priced))]
        found = best_of_all(self.priced, values, self.weight, floors, self.most_walks)
        for group, (least, (top, walks)) in enumerate(zip(floors, found, strict=True)):
            bound -= len(self.priced[group].day.routes) * max(0.0, top - least)
            tops.append(max(top, least))
            for walk in walks:
                if walk.value - least > NEAR:
                    added = self._take(group, walk) or added
        return float(bound), tuple(tops), added

    def constant(self, prices: NDArray[np.float64]) -> float:
        """Return that without the rows of the groups: less a walk of each group, a bound on what these come to."""
        only = prices.copy()
        only[len(self.tasks) : len(self.tasks) + len(self.priced)] = 0.0
        return self.bounds.worth(only)

    def _take(self, group: int, walk: Walk) -> bool:
        """Put a walk into the programme, and into the pool where it is an order; return whether it is new."""
        if not self._add(group, walk):
            return False
        if self.pool is not None and (order := walk.order()):
            self.pool.add(self.priced[group].day.routes[0], order)
        return True

    def values(self, prices: NDArray[np.float64]) -> Mapping[int, float]:
        """Return what a task adds to a walk's value at these prices: minus its reduced cost."""
        values = {}
        row = len(self.tasks) + len(self.priced)
        for index, task in enumerate(self.tasks):
            facts = self.problem.tasks[task]
            value = prices[index]
            value += sum(prices[row + i] * held.amounts.get(task, 0.0) for i, held in enumerate(self.held))
            value += sum(
                prices[row + len(self.held) + i] * facts.weight for i, r in enumerate(self.floors) if r == facts.rank
            )
            if self.goal and facts.rank == self.goal.rank and not self.each:
                value += facts.weight
            values[task] = float(value)
        return values
