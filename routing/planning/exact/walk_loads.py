"""What a day's tasks use of stock, payload and space, as walks count it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from routing.planning.bounds.rows import Held, amounts_of
from routing.planning.bounds.walk_days import Day
from routing.planning.exact.circuit_loads import FINE
from routing.planning.labelling.columns import LONG
from routing.planning.model.problem import NO_LIMIT, Problem, Supply, measures_over, used_by


class WalkLoads:
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
