"""The linear programme that chooses one walk (see `pricing`) a crew-day, each task at most once, the stock kept.

For any prices of the tasks, the prices and the best walk of each crew-day together bound every choice; the prices of
the programme make that bound tight. Each bound is computed from prices and walks alone and holds whether or not the
search has ended.
Source: the bound of M. E. Lübbecke and J. Desrosiers, "Selected topics in column generation", Operations Research 53
(2005), section 2.1, from memory, not checked.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ortools.math_opt.python import mathopt

from routing.planning.bounds.pricing import COARSE, NEARBY, best_of_all, work_of
from routing.planning.bounds.pricing_work import PricingWork
from routing.planning.bounds.programme import Programme
from routing.planning.bounds.rows import first_prices
from routing.planning.bounds.walks import Walk
from routing.planning.running.budget import Budget

Effort = Budget

SMOOTHING = 0.8
"""Share of the best prices so far in those tried next; of 0.6, 0.8 and 0.9 it took the fewest rounds."""

NEAR = 1e-6
"""Under this, a difference is the solver's rounding."""

SETTLED = 1e-5
"""Share of the programme's value; a bound this near will not come nearer."""

PRICES_ALONE = mathopt.ModelSolveParameters(
    variable_values_filter=mathopt.VariableFilter(filtered_items=()),
    reduced_costs_filter=mathopt.VariableFilter(filtered_items=()),
)
"""What the programme is asked for: to tell what each of thousands of walks does takes longer than to solve it."""

STEP = 0.05
"""Share of what it is away from the programme's value: exact pricing at the best prices that brings a bound no nearer
than that is followed by pricing at the programme's own."""

NEAR_QUICKLY = 0.004
"""Share of a rank's weight within which the coarsest pricing comes, before finer takes over."""

MANY = 100
"""Tasks from which prices are guessed to begin with: those of the first programmes are too wild."""

EXACT_ROUNDS = 5
"""Rounds of quick pricing that one of exact pricing counts for."""


@dataclass
class _Centre:
    """Prices to stay near, and the bound there as far as it is known."""

    prices: NDArray[np.float64] | None = None
    low: float = -math.inf


class WalkChoice(Programme):
    """The programme solved: prices that bound every choice of walks, and walks that these prices bring."""

    def run(self, rounds: int, effort: Effort, near: float = SETTLED, *, once: bool = False) -> float:
        """Return the best bound found (from below) in so many rounds of quick pricing; exact ones count for several.

        It ends sooner where the bound is `near` the programme's value, a share of it, where the pricers' work is done,
        or, where `once`, after the first exact pricing. Prices are tried between the programme's and those of the best
        bound, as far as quick pricing tells.
        Source: A. Pessoa, R. Sadykov, E. Uchoa, F. Vanderbeck, "Automation and combination of linear-programming based
        stabilization techniques in column generation", INFORMS Journal on Computing 30 (2018), section 2, from memory,
        not checked.
        """
        best, last_round, self.coarse = -math.inf, self.spent + rounds, COARSE
        centre, stays = _Centre(self._guessed() if self.prices is None else self.prices), False
        while (answer := self._solved()) is not None and answer.has_dual_feasible_solution():
            prices, value = self.bounds.legal(np.array(answer.dual_values(self.rows))), answer.objective_value()
            last = self.spent >= last_round or effort.over() or self.work.over
            if not last:
                self.spent += 1
                if self._brings_walks(centre, prices, value, near):
                    continue
            if best > -math.inf and ((self.finest == NEARBY and effort.over()) or self.work.over):
                break  # of so many nodes exact pricing would go on for seconds after the time
            tried = prices if stays or centre.prices is None else centre.prices
            bound, tops, added = self._bounded(tried)
            self.spent += EXACT_ROUNDS
            gain = bound - best
            if bound > best:
                best, self.prices, self.tops = bound, tried, tops
            centre, stays = (
                _Centre(self.prices, best),
                tried is not prices and (not added or gain < STEP * (value - best)),
            )
            stalls = self.whole and near > SETTLED and gain < 1
            ended = last or once or stalls or self._near(value, best, near) or self.enough(best)
            if ended or (not added and tried is prices and gain <= 0):
                break
        return best

    @property
    def work(self) -> PricingWork:
        """What the pricers may still do together."""
        return work_of(self.priced)

    def _guessed(self) -> NDArray[np.float64] | None:
        """Return prices to begin with, None where the programme's own are as good."""
        if self.goal is None or not self.whole or len(self.tasks) < MANY:
            return None
        return first_prices(self.problem, self.tasks, self.priced, self.held, self.goal, self.done)

    def _near(self, value: float, low: float, near: float) -> bool:
        """Return whether a bound so low is near the programme's value, which no bound passes: within a share of it.

        A rank's is near where both tell one weight.
        """
        if low == -math.inf:
            return False
        share = SETTLED if self.whole else near
        told = self.whole and math.floor(NEAR - low) <= math.floor(NEAR - value)
        return told or value - low <= max(NEAR, share * abs(value))

    def _near_quickly(self, value: float, low: float, near: float) -> bool:
        """Return whether what quick pricing tells is so near that finer pricing may take over."""
        near_enough = self.whole and self.coarse > 1 and value - low <= NEAR_QUICKLY * abs(value)
        return near_enough or self._near(value, low, near)

    def _brings_walks(self, centre: _Centre, prices: NDArray[np.float64], value: float, near: float) -> bool:
        """Return whether quick pricing brought new walks into the programme; the centre moves to better prices.

        Where it brings none it is made finer.
        """
        while True:
            if not self._near_quickly(value, centre.low, near):
                for share in (SMOOTHING, SMOOTHING / 2, 0.0) if centre.prices is not None else (0.0,):
                    tried = prices if centre.prices is None else share * centre.prices + (1 - share) * prices
                    low, added = self._widen(tried, prices)
                    if low > centre.low:
                        centre.prices, centre.low = tried, low
                    if added:
                        return True
            if self.coarse == self.finest:
                return False
            self.coarse = 1 if self.coarse > 1 else NEARBY
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

    def enough(self, best: float) -> bool:
        """Return whether the bound already proves the rank's weight best."""
        if self.each:
            return best > len(self.problem.routes) + NEAR
        return self.goal is not None and not self.weight and -best < self.goal.reached[self.goal.rank] + 1

    def _widen(self, tried: NDArray[np.float64], prices: NDArray[np.float64]) -> tuple[float, bool]:
        """Price quickly at the tried prices; return the bound there if no walk was missed, and whether any were added.

        Walks come into the programme where they are worth it at `prices`.
        """
        values, worth = self.values(tried), self.values(prices)
        self._price_cuts(tried)
        row, cuts, added = len(self.tasks), len(self.rows) - len(self.cuts), False
        least = [self.each - tried[row + group] + NEAR for group in range(len(self.priced))]
        found = best_of_all(self.priced, values, self.weight, least, self.most_walks, coarse=self.coarse)
        low = self.bounds.worth(tried)
        for group, (_, walks) in enumerate(found):
            best = max((walk.value for walk in walks), default=least[group])
            low -= len(self.priced[group].day.routes) * max(0.0, best - least[group])
            for walk in walks:
                value = sum(worth[task] for task in walk.tasks) - self.weight * walk.cost - self.each
                value += sum(prices[cuts + index] * cut.counts(walk.tasks) for index, cut in enumerate(self.cuts))
                if value + prices[row + group] > NEAR:
                    added = self._take(group, walk) or added
        return low, added

    def _bounded(self, prices: NDArray[np.float64]) -> tuple[float, tuple[float, ...], bool]:
        """Return the bound that these prices give, the `tops`, and whether new walks came into the programme."""
        values = self.values(prices)
        self._price_cuts(prices)
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

    def _price_cuts(self, prices: NDArray[np.float64]) -> None:
        for pricer in self.priced:
            pricer.dear[: len(self.cuts)] = -prices[len(prices) - len(self.cuts) :]

    def _take(self, group: int, walk: Walk) -> bool:
        """Put a walk into the programme, and into the pool where it is an order; return whether it is new."""
        if not self.add(group, walk):
            return False
        if self.pool is not None and (order := walk.order()):
            self.pool.add(self.priced[group].day.routes[0], order)
        return True
