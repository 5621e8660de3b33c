"""Subset-row cuts that a fractional choice of walks passes, each with the tasks at which walks must remember it.

Of any three tasks, walks that do two of them or more can be taken once at the most.
Source: M. Jepsen, B. Petersen, S. Spoorendonk, D. Pisinger, "Subset-row inequalities applied to the vehicle-routing
problem with time windows", Operations Research 56 (2008); the memory: D. Pecin, A. Pessoa, M. Poggi, E. Uchoa,
"Improved branch-cut-and-price for capacitated vehicle routing", Mathematical Programming Computation 9 (2017); both
from memory, not checked.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

VIOLATED = 0.05
"""By so much a cut must be passed to be worth adding."""

MOST_OF_A_TASK = 3
"""Cuts with one task that are added together: the next round may do without the rest."""

SLACK = 1e-6
"""Of a walk, what is not worth counting as taken."""


@dataclass(frozen=True)
class Cut:
    """Three tasks: walks that come to a second of them are taken once at the most.

    A walk that was at a task outside `remembered` in between has forgotten the first, and so counts less than it
    might: the cut is weaker for it, and never wrong.
    """

    tasks: frozenset[int]
    remembered: frozenset[int]

    def counts(self, walked: Iterable[int]) -> int:
        """Return how often a walk through these tasks, in turn, has come to a second one."""
        begun, seconds = False, 0
        for task in walked:
            begun = begun and task in self.remembered
            if task in self.tasks:
                seconds += begun
                begun = not begun
        return seconds


def passed_by(walks: Sequence[tuple[Sequence[int], float]], most: int) -> list[Cut]:
    """Return up to so many cuts that a choice of walks passes, those passed by most first.

    `walks` are the tasks of each, in turn, and how much of it is taken.
    """
    taken = [(walk, value) for walk, value in walks if value > SLACK]
    tasks = sorted({task for walk, _ in taken for task in walk})
    if len(tasks) < 3:  # noqa: PLR2004 - a cut has three
        return []
    place = {task: at for at, task in enumerate(tasks)}
    does = np.zeros((len(taken), len(tasks)))
    for row, (walk, _) in enumerate(taken):
        does[row, [place[task] for task in walk]] = 1.0
    cuts: list[Cut] = []
    used = dict.fromkeys(tasks, 0)
    for triple in _passed_most(does, np.array([value for _, value in taken])):
        three = [tasks[at] for at in triple]
        if max(used[task] for task in three) < MOST_OF_A_TASK:
            for task in three:
                used[task] += 1
            cuts.append(Cut(frozenset(three), _remembered(frozenset(three), [walk for walk, _ in taken])))
            if len(cuts) == most:
                break
    return cuts


def _passed_most(does: NDArray[np.float64], values: NDArray[np.float64]) -> list[tuple[int, int, int]]:
    """Return the triples that are passed, by how much; `does` has shape (walks, tasks), `values` (walks,)."""
    pairs = does.T @ (does * values[:, None])
    found: list[tuple[float, int, int, int]] = []
    for one in range(does.shape[1]):
        with_it = does[does[:, one] > 0]
        of_three = with_it.T @ (with_it * values[does[:, one] > 0][:, None])
        over = pairs[one, :, None] + pairs[one, None, :] + pairs - 2 * of_three - 1.0
        for two, three in np.argwhere(np.triu(over, 1) > VIOLATED).tolist():
            if one < two:
                found.append((-float(over[two, three]), one, two, three))
    return [(one, two, three) for _, one, two, three in sorted(found)]


def _remembered(three: frozenset[int], walks: Sequence[Sequence[int]]) -> frozenset[int]:
    """Return the tasks at which the three must be remembered, so that each of these walks counts in full."""
    found = set(three)
    for walk in walks:
        at = [index for index, task in enumerate(walk) if task in three]
        for first, second in zip(at[::2], at[1::2], strict=False):
            found.update(walk[first:second])
    return frozenset(found)
