"""How much pricing may do, counted in labels compared, so that it is the same on every machine."""

from __future__ import annotations

import math
from dataclasses import dataclass

from routing.planning.running.budget import Budget

COMPARED_A_WORK = 5_000_000
"""Labels: of a usual plan 3 to 4 s. Rounds of 25 to 40 single visits are closed with 10 to 67 % of that; 36 jobs at 22
sites by two crews, long days of 18 jobs, took 6,000 million without an end to it, and were not."""

UNCOUNTED = 1 << 60
"""Labels that are never compared."""

LEAST_COMPARED = 200_000
"""Labels that may be compared for one kind of day even where the work is done: prices then still tell something."""


@dataclass(eq=False)
class PricingWork:
    """What is left of it; endless where nothing is said."""

    left: float = math.inf
    """Labels that may still be compared."""
    whole: PricingWork | None = None
    """What this is a part of."""

    @classmethod
    def of(cls, budget: Budget) -> PricingWork:
        """Return what a budget is; where a clock ends it, nothing else does."""
        return cls() if budget.deadline is not None else cls(budget.work * COMPARED_A_WORK)

    @property
    def over(self) -> bool:
        """Whether all is done."""
        return self.left <= 0

    def share(self, calls: int) -> int:
        """Return how many labels each of so many calls may compare, the same in whatever order they are made."""
        if self.left == math.inf:
            return UNCOUNTED
        return max(LEAST_COMPARED, int(self.left) // max(1, calls))

    def spend(self, compared: float) -> None:
        """Count what was done."""
        self.left -= compared
        if self.whole is not None:
            self.whole.spend(compared)

    def part(self, share: float) -> PricingWork:
        """Return such a share of what is left; what is done of it counts here too."""
        return PricingWork(self.left * share, self)
