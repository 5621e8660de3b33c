"""What the linear programme over walks is to do, and what each of its rows lies between."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.bounds.pricing import Pricer
from routing.planning.model.problem import NO_LIMIT, Problem


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
    """What each row of the programme lies between: tasks, groups, what is held, ranks before the goal, cuts."""

    low: tuple[float, ...]
    high: tuple[float, ...]

    def each(self) -> Iterator[tuple[float, float]]:
        """Yield the two of each row."""
        return zip(self.low, self.high, strict=True)

    def with_cuts(self, many: int) -> RowBounds:
        """Return these with so many more rows of cuts."""
        return RowBounds((*self.low, *(-math.inf,) * many), (*self.high, *(1.0,) * many))

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


def first_prices(
    problem: Problem,
    tasks: Sequence[int],
    priced: Sequence[Pricer],
    held: Sequence[Held],
    goal: Goal,
    done: Collection[int],
) -> NDArray[np.float64]:
    """Return prices to begin with for a rank's weight, shape (rows,), where orders that do some tasks are known.

    A task takes its work and the nearest way there; a second is worth what the least good of the rank's tasks brings
    that would fit into the seconds so taken by all that is done, the best for their seconds first.
    """
    takes = dict.fromkeys(tasks, math.inf)
    for pricer in priced:
        ways = np.where(pricer.day.seconds >= 0, pricer.day.seconds, pricer.day.longest)
        nearest = np.minimum(pricer.day.out, ways.min(axis=0)) if len(ways) else pricer.day.out
        for task, seconds in zip(pricer.day.tasks.tolist(), nearest.tolist(), strict=True):
            takes[task] = max(1.0, min(takes[task], seconds))
    facts = problem.tasks
    before = sum(takes[task] for task in done if facts[task].rank < goal.rank)
    room = taken = sum(takes[task] for task in done) - before
    second = 0.0
    sought = [task for task in tasks if facts[task].rank == goal.rank and takes[task] < math.inf]
    for task in sorted(sought, key=lambda task: (takes[task] / facts[task].weight, task)):
        second, room = facts[task].weight / takes[task], room - takes[task]
        if room < 0:
            break
    worth = {task: second * takes[task] if takes[task] < math.inf else 0.0 for task in tasks}
    floors = [
        max((worth[task] / facts[task].weight for task in tasks if facts[task].rank == rank), default=0.0)
        for rank in range(goal.rank)
    ]
    most = [*floors, 1.0]
    prices = [
        min(0.0, worth[task] - most[facts[task].rank] * facts[task].weight) if facts[task].rank <= goal.rank else 0.0
        for task in tasks
    ]
    routes = sum(len(pricer.day.routes) for pricer in priced)
    prices += [-second * (before + taken) / routes for _ in priced] + [0.0 for _ in held] + floors
    return np.array(prices)
