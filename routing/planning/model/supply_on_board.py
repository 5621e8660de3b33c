"""What is on a vehicle that is out already: all of it weighs until it is used, and what it brings home weighs too."""

from __future__ import annotations

from dataclasses import dataclass, replace

from routing.planning.model.problem import Problem, Supply


@dataclass(frozen=True)
class OnBoard(Supply):
    """A material of a day under way; its stock is what is on board to be used."""

    brought: int = 0
    """Thousandths on board that go home."""

    def loaded(self, used: int) -> int:
        """Return what is on board, needed or not."""
        return max(self.stock, used) + self.brought


def used_up(problem: Problem) -> Problem:
    """Return the problem in which what was on board is used up, or left at base, but for what an order uses itself."""
    if not any(isinstance(supply, OnBoard) for supply in problem.supplies):
        return problem
    left = (
        replace(supply, stock=0, brought=0) if isinstance(supply, OnBoard) else supply for supply in problem.supplies
    )
    return replace(problem, supplies=tuple(left))
