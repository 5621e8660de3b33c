"""How long a search may take."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass


@dataclass(frozen=True)
class Budget:
    """How much work a search may do, in repeatable units (about a second each here), or until when."""

    work: float = 60
    deadline: float | None = None
    """Of `time.monotonic`: where given, the search ends then instead, and depends on the machine."""

    def half(self) -> Budget:
        """Return the budget that spends half the time left."""
        if self.deadline is None:
            return self
        return Budget(self.work, (time.monotonic() + self.deadline) / 2)

    def share(self, share: float) -> Budget:
        """Return such a share of the work, and half of the time left."""
        return Budget(self.work * share, self.deadline).half()

    def over(self) -> bool:
        """Return whether the time has come."""
        return self.left() <= 0

    def left(self) -> float:
        """Return the seconds left, endless where no time is given."""
        return math.inf if self.deadline is None else self.deadline - time.monotonic()
