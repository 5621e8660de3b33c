"""One matrix type for every way of knowing a drive: straight line, known drives, roads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol, cast

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import Place
from routing.travel.leg_origin import LegOrigin

UNREACHABLE = -1
"""Stands in `Legs.seconds` and `Legs.metres` where there is no way."""


MOST_WIDE = 500
"""Up to so many places numbers have 64 bits. 5,000 places take 200 MB in 32 bits, and what adds them up widens them."""

LARGEST_NARROW = 2**29
"""Seconds or metres of a leg of many places: 17 years, 500,000 km. Three such still fit into 32 bits."""


def dtype_for(places: int) -> np.dtype[np.int64]:
    """Return what the numbers of legs between so many places are kept as: 64 bits, or 32 of many places."""
    few, many = np.dtype(np.int64), np.dtype(np.int32)
    return few if places <= MOST_WIDE else cast("np.dtype[np.int64]", many)


def fitting(numbers: NDArray[np.int64], dtype: np.dtype[np.int64]) -> NDArray[np.int64]:
    """Return the numbers as they are kept; in 32 bits none is more than LARGEST_NARROW, which no day holds anyway."""
    return numbers if numbers.dtype == dtype else np.minimum(numbers, LARGEST_NARROW).astype(dtype)


@dataclass(frozen=True)
class LegRoute:
    """The way of one leg on the road map."""

    shape: str
    """The line driven: an encoded polyline of precision 6, or empty where it is not known."""
    turns: tuple[str, ...]
    """What to do where, in order and in the farm's units, such as `Turn left onto Mill Lane. (0.8 miles)`."""


@dataclass(frozen=True)
class Parked:
    """Where a vehicle stops for a place."""

    place: Place
    road: str
    """The road's name, or its kind where it has none, such as `a track`; empty where no road map tells it."""


class RouteSource(Protocol):
    """Whatever can tell the way of a leg."""

    def route(self, start: int, end: int) -> LegRoute:
        """Return the way from place to place; the same for the same places, empty where there is none to tell."""
        ...


@dataclass(frozen=True, eq=False)
class Legs:
    """Drive seconds and metres between places; `[i, j]` is from place i to place j.

    `places` are ids, the base (`routing.farm.models.BASE`) first. `seconds` and `metres` have shape (n, n) and are in
    64 bits, those of many places in 32 bits (`dtype_for`), zero on the diagonal, `UNREACHABLE` where there is no way;
    they need not be symmetric. `origins[i][j]` says where the leg came from. The arrays are read-only.
    """

    places: tuple[str, ...]
    seconds: NDArray[np.int64]
    metres: NDArray[np.int64]
    origins: tuple[tuple[LegOrigin, ...], ...]
    by_vehicle: Mapping[str, Legs] = field(default_factory=dict)
    """Legs of vehicles, by id, that drive otherwise than this; same places in the same order."""
    routes: RouteSource | None = None
    """Tells the way of a leg; None where there is no road map."""
    no_road: Mapping[str, int] = field(default_factory=dict)
    """Places too far from any road this vehicle may use: metres to the nearest, `UNREACHABLE` where none was found."""
    barred: Mapping[str, str] = field(default_factory=dict)
    """Of those places, what the nearest road lies beyond, where only that keeps it from being walked to."""
    parked: Mapping[str, Parked] = field(default_factory=dict)
    """Where this vehicle stops; a place that is not named is driven to as far as is known."""
    notes: tuple[str, ...] = ()
    """What about these legs is an estimate, a sentence each."""

    def __post_init__(self) -> None:
        n = len(self.places)
        if self.seconds.shape != (n, n) or self.metres.shape != (n, n):
            raise ValueError(f"legs of {n} places need matrices of shape ({n}, {n})")
        self.seconds.setflags(write=False)
        self.metres.setflags(write=False)

    def of(self, vehicle: str) -> Legs:
        """Return the legs as this vehicle drives them."""
        return self.by_vehicle.get(vehicle, self)

    def index(self, place: str) -> int:
        """Return the row of a place id. Raises ValueError when it is not there."""
        return self.places.index(place)

    def way(self, start: int, end: int) -> LegRoute:
        """Return the way from place to place: empty without a road map and for known drives joined."""
        if self.routes is None or self.origins[start][end] not in {LegOrigin.ROAD, LegOrigin.KNOWN}:
            return LegRoute("", ())
        return self.routes.route(start, end)
