"""What a road map covers and how a farm lies on it, in lines to read."""

from __future__ import annotations

import math
import statistics

from routing.farm.models import Farm
from routing.travel.legs import UNREACHABLE, LegOrigin
from routing.travel.roads.farm import Roads, furthest, open_roads, road_legs, walking_minutes

_FEW = 3
"""From this many known drives on, their ratio to the map's minutes says something."""


def report(farm: Farm) -> tuple[str, ...]:
    """Return the lines. Raises RoadError where the map cannot be used."""
    roads = open_roads(farm)
    build = roads.build
    lines = [
        f"Road map: {farm.road_map}",
        f"Covers latitude {build.south:.4f} to {build.north:.4f}, longitude {build.west:.4f} to {build.east:.4f}.",
        f"Names {build.places} towns, villages and hamlets.",
        *(f"Ways that a {drives} may use: {count}" for drives, count in sorted(build.ways.items())),
        f"Built in: {build.folder}",
    ]
    return (*lines, *_places(roads), *_learned(roads))


def _places(roads: Roads) -> list[str]:
    lines = []
    for number, site in enumerate(roads.farm.sites, start=1):
        for drives, snaps in roads.snaps.items():
            metres = snaps[number].metres
            if metres > furthest(site, roads.rules):
                nearest = "no road found" if math.isinf(metres) else f"the nearest is {metres:.0f} m away"
                lines.append(f"{site.name}: no road near for a {drives}; {nearest}.")
            elif site.walking_minutes == 0:
                minutes = walking_minutes(metres, roads.rules)
                lines.append(
                    f"{site.name}: {metres:.0f} m from the road for a {drives}; walk {minutes:g} min each way."
                )
    return lines


def _learned(roads: Roads) -> list[str]:
    """Return what the farmer's known drives say of `drive_factor`, where there are enough."""
    farm = roads.farm
    legs = road_legs(roads)
    ratios = []
    for drive in farm.known_drives:
        i, j = legs.index(drive.start), legs.index(drive.end)
        seconds = int(legs.seconds[i, j])
        if seconds not in {UNREACHABLE, 0} and legs.origins[i][j] is LegOrigin.ROAD:
            ratios.append(drive.minutes * 60 / seconds * farm.rules.drive_factor)
    if len(ratios) < _FEW:
        return []
    middle = statistics.median(ratios)
    said = f"Your {len(ratios)} known drives take {middle:.2f} times the map's own minutes (the middle one)"
    return [f"{said}; drive_factor in [rules] is {farm.rules.drive_factor:g}."]
