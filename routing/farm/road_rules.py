"""How fast is driven and walked: the straight-line estimate, and the ways of a road map."""

from __future__ import annotations

from pydantic import Field

from routing.farm.basics import Figure, Frozen


class DriveBand(Frozen):
    """One point of the straight-line estimate: at this distance, this detour and this average speed."""

    straight_km: float = Field(ge=0, allow_inf_nan=False)
    detour_factor: float = Field(ge=1, allow_inf_nan=False)
    speed_kmh: float = Field(gt=0, allow_inf_nan=False)


class RoadRules(Frozen):
    """How ways of a road map are driven, and how far it is walked where no road ends at the hives."""

    speeds_kmh: dict[str, Figure]
    """Planning speed by OpenStreetMap's `highway` value; a posted limit below it is kept."""
    limits_kmh: dict[str, Figure]
    """Legal limits: `van motorway`, `van dual`, `van single` and the same with `trailer`."""
    lane_kmh: Figure
    """Highest planning speed on a single-track lane."""
    track_kmh: Figure
    """Planning speed on a track, and through a ford."""
    gate_minutes: Figure
    """Added for each gate on the way: out, open, drive through, close."""
    walking_kmh: Figure
    barrow_factor: Figure
    """A walk with a loaded barrow takes this many times as long."""
    furthest_walk_metres: Figure
    """A site farther from the nearest usable road is refused, unless it states a longer walk of its own."""
