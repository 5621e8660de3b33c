"""The roads and the land around a round as plain values: what a map draws under its signs."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from routing.travel.land import Land

RoadClass = Literal["main", "road", "lane", "service", "track"]
"""From motorways and A roads down to farm tracks."""

ROAD_CLASSES: tuple[RoadClass, ...] = ("main", "road", "lane", "service", "track")
LINE_PRECISION = 5
"""Decimals of a degree in the lines of a background: about a metre."""


@dataclass(frozen=True)
class PlaceName:
    """A town, village or hamlet; `size` is 0 for a town, 1 for a village and 2 for less."""

    name: str
    latitude: float
    longitude: float
    size: int


@dataclass(frozen=True)
class Background:
    """Roads as encoded polylines of precision `LINE_PRECISION`, by class; names of places; whom the data is from."""

    lines: dict[RoadClass, tuple[str, ...]]
    names: tuple[PlaceName, ...]
    credit: str
    land: Land = field(default_factory=Land)
