"""The land around a round as plain values: what a stranger finds the way by, drawn under the roads."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Literal

AreaKind = Literal["field", "rough", "built", "yard", "wood", "marsh", "water"]
AREA_KINDS: tuple[AreaKind, ...] = ("field", "rough", "built", "yard", "wood", "marsh", "water")
"""In the order in which they are drawn, the last on top."""

LineKind = Literal["hedge", "path", "stream", "river", "rail", "contour"]
LINE_KINDS: tuple[LineKind, ...] = ("hedge", "path", "stream", "river", "rail", "contour")

MarkKind = Literal["church", "peak", "tower", "castle", "station", "inn", "gate"]
MARK_KINDS: tuple[MarkKind, ...] = ("church", "peak", "tower", "castle", "station", "inn", "gate")
"""What can be seen from afar or is asked for by strangers; `inn` is a house with a sign at the road.

Gates are kept near the places alone: there they are what is looked for.
"""


@dataclass(frozen=True)
class Mark:
    """One landmark; `name` is empty where it has none."""

    kind: MarkKind
    name: str
    latitude: float
    longitude: float


@dataclass(frozen=True)
class RoadName:
    """A road's name along a straight stretch of it, or its number, which stands level."""

    text: str
    latitude: float
    longitude: float
    turn: int
    """Degrees clockwise from east to the stretch, -90 to 90."""
    metres: int
    """How long the stretch is."""
    rank: int
    """0 for a main road, 1 for another road, 2 for a lane and what is less."""
    numbered: bool


@dataclass(frozen=True)
class Land:
    """Areas as rings of encoded polylines (the outer one first), lines, landmarks, and the names of roads.

    Rings and lines have the precision `background.LINE_PRECISION`; a ring ends where it begins.
    """

    areas: dict[AreaKind, tuple[tuple[str, ...], ...]] = field(default_factory=dict)
    lines: dict[LineKind, tuple[str, ...]] = field(default_factory=dict)
    marks: tuple[Mark, ...] = ()
    road_names: tuple[RoadName, ...] = ()

    def without_names(self, holds: Callable[[str], bool]) -> Land:
        """Return the land without the names of which `holds` is true; landmarks stay, nameless."""
        return replace(
            self,
            marks=tuple(replace(mark, name="") if holds(mark.name) else mark for mark in self.marks),
            road_names=tuple(name for name in self.road_names if not holds(name.text)),
        )
