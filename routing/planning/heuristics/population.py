"""The individuals of a population of orders, and which of them survive."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pyvrp
from numpy.typing import NDArray

from routing.planning.heuristics.pyvrp_model import clients_in

CLOSEST = 4
"""How like others an order is, is measured by so many of those most like it."""

ELITE = 4
"""So many of the least cost are kept whatever they are like."""

Genes = tuple[tuple[int, tuple[int, ...]], ...]
"""Routes: the kind, and the clients with BASE between them where it is come back to."""

Brief = tuple[int, ...]
"""How many days of each kind are to be brief."""


@dataclass(eq=False)
class Individual:
    """One of a population: a solution, and what it is compared by."""

    solution: pyvrp.Solution
    genes: Genes
    brief: Brief
    next: NDArray[np.int64]
    """What follows each client: another, LAST_OF_ALL, or NOT_SERVED."""
    distances: dict[Individual, float] = field(default_factory=dict)
    """In what share of the clients another differs, for those that it was measured of."""

    def broken_pairs_distance(self, other: Individual) -> float:
        """Return in what share of the clients the two differ in what follows.

        Source: the broken pairs distance of C. Prins, "Two memetic algorithms for heterogeneous fleet vehicle routing
        problems", Engineering Applications of Artificial Intelligence 22 (2009), from memory, not checked.
        """
        if other not in self.distances:
            self.distances[other] = other.distances[self] = float(np.mean(self.next != other.next))
        return self.distances[other]


LAST_OF_ALL, NOT_SERVED = -1, -2


def successors(genes: Genes, clients: int) -> NDArray[np.int64]:
    """Return what follows each client, shape (clients,)."""
    found = np.full(clients, NOT_SERVED, dtype=np.int64)
    for _, stops in genes:
        sequence = clients_in(stops)
        found[sequence] = [*sequence[1:], LAST_OF_ALL]
    return found


def survivors(individuals: Sequence[Individual], costs: Sequence[float], many: int) -> list[Individual]:
    """Return so many, in their order; what is the same as another goes first, then what costs much and is like others.

    The cheapest always stays. `costs` has one number a individual.
    """
    differ = np.array(
        [[np.inf if one is other else one.broken_pairs_distance(other) for other in individuals] for one in individuals]
    )
    left = np.arange(len(individuals))
    while len(left) > many:
        nearest = np.sort(differ[np.ix_(left, left)], axis=1)[:, :CLOSEST]
        by_cost, by_likeness = _places(np.asarray(costs)[left]), _places(-nearest.mean(axis=1))
        unfit = by_cost + (1 - ELITE / len(left)) * by_likeness + len(left) * 2 * (nearest[:, 0] == 0)
        unfit[by_cost == 0] = -1
        left = np.delete(left, np.argmax(unfit))
    return [individuals[number] for number in left.tolist()]


def _places(values: NDArray[Any]) -> NDArray[np.int64]:
    """Return which place each value has, the least the first, 0."""
    return np.argsort(np.argsort(values, kind="stable"))
