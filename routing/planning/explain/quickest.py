"""The quickest ways from base to every place and home again, by whatever places lie between, without stopping there."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from routing.planning.model.instance import Instance
    from routing.planning.model.problem import Problem

FAR = np.iinfo(np.int64).max // 4
"""Stands for `no way` where ways are added up."""


class QuickestWays:
    """Of some days, by route and place; crews that drive alike share what is worked out once.

    A site may be reached sooner by way of another than directly, or only so. Hives are not moved on the way: places
    that are entered at one site and left from another are never driven through.
    """

    def __init__(self, instance: Instance) -> None:
        self._routes = instance.problem.routes
        self._through = len(instance.farm.sites) + 1
        self._known: dict[int, tuple[list[int], list[int]]] = {}

    def out(self, route: int, place: int) -> int | None:
        """Return the fewest seconds from base to a place, None where there is no way."""
        seconds = self._both(route)[0][place]
        return None if seconds >= FAR else seconds

    def back(self, route: int, place: int) -> int | None:
        """Return the fewest seconds from a place to base, None where there is no way."""
        seconds = self._both(route)[1][place]
        return None if seconds >= FAR else seconds

    def there_and_back(self, route: int, place: int) -> bool:
        """Return whether a place can be reached and left again."""
        return self.out(route, place) is not None and self.back(route, place) is not None

    def _both(self, route: int) -> tuple[list[int], list[int]]:
        drives = self._routes[route].drive_seconds
        if id(drives) not in self._known:
            self._known[id(drives)] = (_least(drives, self._through), _least(drives.T, self._through))
        return self._known[id(drives)]


def whatever_else(problem: Problem, places: Iterable[int] | None = None) -> tuple[Problem, ...]:
    """Return the problems of which one holds some tasks wherever a day does that holds them with others besides.

    Others lie on the way, so each drive takes no longer than by whatever places, or those given; and they may come
    after, so that the break is taken after these tasks. What none of these problems holds no day holds.
    """
    routes = tuple(
        replace(
            route,
            drive_seconds=by_way_of(
                route.drive_seconds, places if places is not None else range(len(route.drive_seconds))
            ),
        )
        for route in problem.routes
    )
    closer = replace(problem, routes=routes)
    rests = any(route.break_seconds for route in routes)
    return (closer, closer.breaks_elsewhere[2]) if rests else (closer,)


def by_way_of(seconds: NDArray[np.int64], places: Iterable[int]) -> NDArray[np.int64]:
    """Return the least seconds between places by way of some, shape as `seconds`; negative where there is no way.

    Source: Floyd, Algorithm 97, Communications of the ACM 5 (1962), from memory, not checked.
    """
    ways = np.where(seconds < 0, np.int64(FAR), seconds)
    for via in places:
        ways = np.minimum(ways, ways[:, via, None] + ways[None, via, :])
    return np.where(ways >= FAR, -1, ways)


def _least(drives: NDArray[np.int64], through: int) -> list[int]:
    """Return the fewest seconds from place 0 to each, through places below `through` only, shape (places,).

    Source: Dijkstra, A note on two problems in connexion with graphs, Numerische Mathematik 1 (1959), from memory, not
    checked. `drives` are negative where there is no way.
    """

    def onward(place: int) -> NDArray[np.int64]:
        return np.where(drives[place] < 0, np.int64(FAR), drives[place])

    least = onward(0)
    least[0] = 0
    open_ = np.ones(through, dtype=bool)
    open_[0] = False
    while open_.any():
        nearest = int(np.argmin(np.where(open_, least[:through], FAR + 1)))
        if least[nearest] >= FAR:
            break
        open_[nearest] = False
        least = np.minimum(least, least[nearest] + onward(nearest))
    found: list[int] = least.tolist()
    return found
