"""What is on a vehicle that is out already: all of it weighs until it is used, and what it brings home weighs too."""

from __future__ import annotations

from dataclasses import dataclass

from routing.planning.model.problem import Supply


@dataclass(frozen=True)
class OnBoard(Supply):
    """A material of a day under way; its stock is what is on board to be used."""

    brought: int = 0
    """Thousandths on board that go home."""

    def loaded(self, used: int) -> int:
        """Return what is on board, needed or not."""
        return max(self.stock, used) + self.brought
