"""What is asked of a road map for one place, and where a vehicle stops for it."""

from __future__ import annotations

from dataclasses import dataclass

from routing.farm.models import Place


@dataclass(frozen=True)
class Wanted:
    """A place that a vehicle is to stop for."""

    place: Place
    furthest: float
    """The longest walk in metres."""
    own_place: bool = False
    """Where the vehicle is left, as the farm itself says: private ways are open there."""
    hives: Place | None = None
    """Where the walk from an own place goes."""
    own_walk: bool = False
    """The farm says how long the walk is: the place is not given up where the map knows no way for it."""


@dataclass(frozen=True)
class PassedOver:
    """A road nearer than the one chosen, and in metres how near in a straight line."""

    road: str
    metres: float
    why: str


@dataclass(frozen=True)
class Snap:
    """Where a vehicle stops for one place."""

    metres: float
    """From the place to the road, as it is walked; where there is no stopping place, to the nearest road to stop on,
    infinite for none."""
    road: Place | None
    """The point on the road, None where there is none near enough."""
    name: str = ""
    kind: str = ""
    walk_metres: float = 0.0
    """Of the walk to the hives: from the road, or from an own place."""
    by_ways: bool = False
    """The walk goes by the map's ways, because something bars the straight line."""
    barred: str = ""
    """What bars the straight line of the walk, such as `the river Arrow`."""
    passed_over: tuple[PassedOver, ...] = ()

    @property
    def words(self) -> str:
        """The road as it is told: `Mill Lane (road)`, `a track`."""
        return road_called(self.name, self.kind) if self.name else f"a {self.kind}"


def road_called(name: str, kind: str) -> str:
    """Return a road as it is told: `A14 motorway`, `Mill Lane (road)`, `track`."""
    if not name:
        return kind
    return f"{name} {kind}" if kind in {"motorway", "trunk road", "slip road"} else f"{name} ({kind})"


NOWHERE = Snap(float("inf"), None)
