"""A crew-day as relaxed labels see it at given values of its tasks, by where its break is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.planning.bounds.walk_days import Day
from routing.planning.labelling.columns import BEGINS, EARLY, LAST, LATE, LONG, PLACE, Real, Whole


@dataclass(frozen=True, eq=False)
class Kind:
    """A kind of day by where its break is: when walks may finish."""

    begins: NDArray[np.int64]
    """Shape (nodes,): the earliest finish of a node that comes first."""
    early: NDArray[np.int64]
    """Shape (nodes,): the earliest finish of a node that comes later."""
    longest: int
    """When they are home."""
    rest: int
    """Seconds of break that the walk pays for."""
    unrested: bool = False
    """Whether the break may come after the first work too; `begins` is that after it."""


@dataclass(frozen=True, eq=False)
class View:
    """A day at certain values and of a certain kind, as `ng_routes` has it."""

    worth: Real
    """Shape (nodes + 1, nodes + 1)."""
    nodes: Whole
    """Shape (states, 5)."""
    rest: int
    """Seconds of the break where it may come after the first work too, else 0."""
    resting: int
    """What the break costs."""
    follow: Whole
    """Shape (nodes, many): what a walk goes on to from each."""


def kinds_of(day: Day) -> list[Kind]:
    """Return the kinds of day by where the break is; each day is of one kind.

    A break before the first work takes the least light, and part of it may be had while the first window is still shut.
    Where windows bind inside the day, it may be better in a later gap, or in a wait. Without a break the day is short,
    however late it begins.
    """
    if not day.rest:
        return [Kind(day.begins, day.early, day.longest, 0)]
    rested = np.maximum(day.out + day.rest, day.early)
    short = Kind(day.out, np.zeros_like(day.early), min(day.longest, day.rest_after), 0)
    return [Kind(rested, day.early, day.longest, day.rest, day.own_hours), short]


def view_of(day: Day, places: Whole, gains: NDArray[np.float64], weight: float, kind: Kind, follow: Whole) -> View:
    """Return the day where each node brings its `gains`, shape (nodes,), less `weight` times what it costs.

    `places`, shape (nodes,), are the numbers of the nodes' tasks.
    """
    base = len(day.tasks)
    last = np.minimum(day.late, kind.longest - day.home)
    resting = day.rest_cost if kind.rest else 0
    worth = np.zeros((base + 1, base + 1))
    worth[:base, :base], worth[base, :base] = gains[None, :] - weight * day.costs, gains - weight * day.out_costs
    worth[:base, base] = -weight * (day.home_costs + resting).astype(np.float64)
    nodes = np.empty((base, 5), dtype=np.int64)
    nodes[:, EARLY], nodes[:, LATE], nodes[:, PLACE] = kind.early, np.minimum(day.late, last.max()), places
    nodes[:, BEGINS], nodes[:, LAST] = kind.begins, last
    if kind.unrested:
        nodes = np.concatenate([nodes, nodes])
        nodes[base:, BEGINS] = day.begins
    return View(worth, nodes, kind.rest if kind.unrested else 0, resting, follow)


def followers(seconds: Whole) -> Whole:
    """Return what may follow each node, shape (nodes, nodes), the nearest first, then -1.

    Nearest is what takes least longer than from where it is reached soonest.
    """
    ways = np.where(seconds >= 0, seconds, np.iinfo(np.int64).max // 2)
    longer = np.where(seconds >= 0, ways - ways.min(axis=0, initial=np.iinfo(np.int64).max // 2), LONG)
    order = np.argsort(longer, axis=1, kind="stable")
    return np.where(np.take_along_axis(seconds, order, axis=1) >= 0, order, -1)
