"""Walks of crew-days, and the orders that some of them are."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from routing.planning.model.problem import Order, Planned


@dataclass(frozen=True)
class Walk:
    """A walk of a group of crew-days: its tasks in order (with repeats), its value, and what it costs at the least."""

    tasks: tuple[int, ...]
    cost: int
    """Seconds away, or metres where the problem puts distance first."""
    value: float
    visits: tuple[int, ...] = ()
    """The visit of each task, of the group's first route."""

    def order(self) -> Order:
        """Return the stops of the walk; empty where it comes back to a task and so is no order."""
        return order_of(self.visits, self.tasks) if len(set(self.tasks)) == len(self.tasks) else ()


def order_of(visits: Iterable[int], tasks: Iterable[int]) -> Order:
    """Return the stops that do these tasks in turn, each in its visit; those of one visit in a row are one stop."""
    stops: list[Planned] = []
    for visit, task in zip(visits, tasks, strict=True):
        if stops and stops[-1].visit == visit:
            stops[-1] = Planned(visit, tuple(sorted({*stops[-1].tasks, task})))
        else:
            stops.append(Planned(visit, (task,)))
    return tuple(stops)
