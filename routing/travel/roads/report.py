"""What a road map covers and how a farm lies on it, in lines to read."""

from __future__ import annotations

import math
import statistics

from routing.farm.models import Drives, Farm, RoadRules, Site
from routing.travel.leg_origin import LegOrigin
from routing.travel.legs import UNREACHABLE
from routing.travel.roads.farm import Roads, open_roads, road_legs
from routing.travel.roads.snap import Snap
from routing.travel.roads.walks import walk_words

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
    """Return for each site and sort of vehicle where it stops, and below it each nearer road that was passed over."""
    lines = []
    for number, site in enumerate(roads.farm.sites, start=1):
        for drives, snaps in roads.snaps.items():
            snap = snaps[number]
            told = _no_road(snap, drives) if snap.road is None else f"a {drives} {_stop(site, snap, roads.rules)}"
            lines.append(f"{site.name}: {told}.")
            lines += [f"  passed over: {road.road}, {road.metres:.0f} m: {road.why}" for road in snap.passed_over]
    return lines


def _no_road(snap: Snap, drives: Drives) -> str:
    if math.isinf(snap.metres):
        return f"no road near for a {drives}; no road found"
    between = f", beyond {snap.barred}, and the map knows no way over it" if snap.barred else ""
    nearest = f"the nearest to stop on is {snap.words}, {snap.metres:.0f} m away{between}"
    return f"no road near for a {drives}; {nearest}; the column parking can name a stopping place"


def _stop(site: Site, snap: Snap, rules: RoadRules) -> str:
    where = f"stops on {snap.words}"
    if site.parking is not None:
        where = f"stops at its own place, {snap.metres:.0f} m from {snap.words}"
    return f"{where}; walk {walk_words(site, snap, rules)}"


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
