"""The legs of a farm on its road map, and what lies around."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from routing.errors import RoadError
from routing.farm.faults import quoted
from routing.farm.models import BASE, Drives, Farm, Place, RoadRules, Site
from routing.travel.background import Background
from routing.travel.leg_origin import LegOrigin
from routing.travel.legs import UNREACHABLE, LegRoute, Legs, Parked
from routing.travel.polyline import ROUTE_PRECISION, decode, encode
from routing.travel.roads.build import LAND, STORE, Built, Progress, built, no_progress
from routing.travel.roads.closure import Closed
from routing.travel.roads.engine import Engine
from routing.travel.roads.kept import matrix, snaps
from routing.travel.roads.land_cut import box_around, land_around
from routing.travel.roads.road_names import road_names
from routing.travel.roads.snap import Snap, Wanted
from routing.travel.roads.store import background
from routing.travel.roads.walks import walk_notes, walked
from routing.travel.straight import geodesic_metres

_ON_THE_ROAD_METRES = 10.0
"""A stopping place of the farm's own that is nearer to a road's middle is told as on it, else as off it."""


@dataclass(frozen=True, eq=False)
class Roads:
    """A farm's road map, built and opened: one engine and the stopping places for each sort of vehicle."""

    farm: Farm
    rules: RoadRules
    build: Built
    engines: dict[Drives, Engine]
    snaps: dict[Drives, tuple[Snap, ...]]
    """Where each sort stops: for the base first, then for the sites in order."""


class Ways:
    """The ways of one vehicle's legs, asked of the engine when wanted and remembered."""

    def __init__(
        self,
        engine: Engine,
        snaps: Sequence[Snap],
        units: Literal["km", "miles"],
        direct: NDArray[np.int64],
        ways: Closed,
    ) -> None:
        """Take the engine's own metres between the places with a road near, `direct`, and the quickest ways by them."""
        self._engine = engine
        self._snaps = snaps
        self._units = units
        self._direct = direct
        self._ways = ways
        self._known: dict[tuple[int, int], LegRoute] = {}

    def route(self, start: int, end: int) -> LegRoute:
        """Return the way from place to place; empty where there is none to tell."""
        if (start, end) not in self._known:
            none = start == end or self._ways.seconds[start, end] == UNREACHABLE
            self._known[start, end] = LegRoute("", ()) if none else self._by_places(self._ways.hops(start, end))
        return self._known[start, end]

    def _by_places(self, hops: Sequence[int]) -> LegRoute:
        pieces = [
            self._engine.way(self._snaps[here], self._snaps[there], int(self._direct[here, there]), self._units)
            for here, there in pairwise(hops)
        ]
        if len(pieces) == 1:
            return pieces[0]
        if not all(piece.shape for piece in pieces):
            return LegRoute("", ())
        scale = 10**ROUTE_PRECISION
        points = [point for piece in pieces for point in decode(piece.shape)]
        shape = encode((round(latitude * scale), round(longitude * scale)) for latitude, longitude in points)
        return LegRoute(shape, tuple(turn for piece in pieces for turn in piece.turns))


def open_roads(farm: Farm, progress: Progress = no_progress) -> Roads:
    """Return the farm's road map opened, built first where it must be.

    Raises RoadError where it cannot be used, does not cover a site, or has no road near the base.
    """
    build, rules = _built(farm, progress), _rules(farm)
    _require_cover(farm, build, rules)
    engines = {drives: Engine(build.tiles(drives), rules) for drives in _sorts(farm)}
    wanted = [Wanted(farm.base.place, rules.furthest_walk_metres.value, own_place=True)]
    wanted += [_wanted(site, rules) for site in farm.sites]
    found = {drives: snaps(engine, build, drives, wanted) for drives, engine in engines.items()}
    if all(snap[0].road is None for snap in found.values()):
        nearest = min(snap[0].metres for snap in found.values())
        where = "no road was found" if math.isinf(nearest) else f"the nearest is {nearest:.0f} m away"
        raise RoadError(
            f"the road map {quoted(build.map)} has no road near the base: {where}; "
            f"set the base's place on its yard (at most {wanted[0].furthest:.0f} m from a road)"
        )
    return Roads(farm, rules, build, engines, found)


def _wanted(site: Site, rules: RoadRules) -> Wanted:
    """Return what is asked of the map for a site: its own stopping place where it has one, else its hives."""
    if site.parking is None:
        return Wanted(site.place, furthest(site, rules), own_walk=site.walking_minutes > 0)
    return Wanted(site.parking, furthest(site, rules), own_place=True, hives=site.place)


def road_legs(roads: Roads) -> Legs:
    """Return the legs of every vehicle of the farm between the base and all sites, as the road map has them."""
    farm = roads.farm
    by_sort = {drives: _legs_of(roads, drives) for drives in roads.engines}
    main = by_sort[farm.vehicles[farm.crews[0].vehicle].drives]
    others = {id_: by_sort[vehicle.drives] for id_, vehicle in farm.vehicles.items()}
    return Legs(
        places=main.places,
        seconds=main.seconds,
        metres=main.metres,
        origins=main.origins,
        by_vehicle={id_: legs for id_, legs in others.items() if legs is not main},
        routes=main.routes,
        no_road=main.no_road,
        barred=main.barred,
        parked=main.parked,
        notes=walk_notes(farm, roads.rules, roads.snaps),
    )


def with_walks(roads: Roads) -> Farm:
    """Return the farm with walking minutes, from where the vehicle stops, at each site that gives none of its own."""
    return walked(roads.farm, roads.rules, roads.snaps)


def roads_around(farm: Farm, places: Sequence[Place]) -> Background:
    """Return the roads, the land and names around places, as far as `box_around` says.

    Raises RoadError where the map cannot be used.
    """
    build = _built(farm, no_progress)
    box = box_around(places)
    lines, kept = build.folder / STORE, build.folder / LAND
    land = replace(land_around(kept, box, places), road_names=road_names(lines, kept, box, places))
    return replace(background(lines, box, farm.road_credit, places), land=land)


def furthest(site: Site, rules: RoadRules) -> float:
    """Return how far it may be to the road, in metres: the limit, or a site's own walk to its hives where longer."""
    if site.parking is not None:
        return rules.furthest_walk_metres.value
    own = site.walking_minutes / 60 * rules.walking_kmh.value * 1000
    return max(rules.furthest_walk_metres.value, own)


def _built(farm: Farm, progress: Progress) -> Built:
    if farm.road_map is None:
        raise ValueError("the farm names no road map")
    return built(farm.road_map, _rules(farm), _sorts(farm), progress)


def _rules(farm: Farm) -> RoadRules:
    if farm.rules.roads is None:
        raise ValueError("the farm has no rules for roads")
    return farm.rules.roads


def _sorts(farm: Farm) -> list[Drives]:
    return sorted({vehicle.drives for vehicle in farm.vehicles.values()})


def _legs_of(roads: Roads, drives: Drives) -> Legs:
    farm, rules, near_roads = roads.farm, roads.rules, roads.snaps[drives]
    ids = (BASE, *(site.id for site in farm.sites))
    near = [i for i, snap in enumerate(near_roads) if snap.road is not None]
    ways, direct = matrix(roads.engines[drives], roads.build, drives, rules, [near_roads[i] for i in near])
    n = len(ids)
    seconds, metres = np.full((n, n), UNREACHABLE, np.int64), np.full((n, n), UNREACHABLE, np.int64)
    slower = np.ceil(np.round(ways.seconds * farm.rules.drive_factor, 6)).astype(np.int64)
    seconds[np.ix_(near, near)] = np.where(ways.seconds == UNREACHABLE, UNREACHABLE, slower)
    metres[np.ix_(near, near)] = ways.metres
    np.fill_diagonal(seconds, 0)
    np.fill_diagonal(metres, 0)
    return Legs(
        places=ids,
        seconds=seconds,
        metres=metres,
        origins=((LegOrigin.ROAD,) * n,) * n,
        routes=_Numbered(
            Ways(roads.engines[drives], [near_roads[i] for i in near], farm.rules.units, direct, ways),
            {place: number for number, place in enumerate(near)},
        ),
        no_road={
            ids[i]: UNREACHABLE if math.isinf(snap.metres) else round(snap.metres)
            for i, snap in enumerate(near_roads)
            if i not in near
        },
        barred={ids[i]: snap.barred for i, snap in enumerate(near_roads) if snap.road is None and snap.barred},
        parked=_parked(farm, near_roads),
    )


def _parked(farm: Farm, stops: Sequence[Snap]) -> dict[str, Parked]:
    """Return where a vehicle stops for each site: the site's own place, or the point on the road."""
    found = {}
    for site, snap in zip(farm.sites, stops[1:], strict=True):
        road = "" if snap.road is None else snap.name or f"a {snap.kind}"
        if site.parking is not None and road and snap.metres > _ON_THE_ROAD_METRES:
            road = f"off {road}"
        place = site.parking or snap.road
        if place is not None:
            found[site.id] = Parked(place, road)
    return found


@dataclass(frozen=True)
class _Numbered:
    """Ways between all places, told by the ways between those that have a road near."""

    ways: Ways
    numbers: dict[int, int]

    def route(self, start: int, end: int) -> LegRoute:
        if start not in self.numbers or end not in self.numbers:
            return LegRoute("", ())
        return self.ways.route(self.numbers[start], self.numbers[end])


def _require_cover(farm: Farm, build: Built, rules: RoadRules) -> None:
    known = {end for drive in farm.known_drives for end in (drive.start, drive.end)}
    named = [("the base", farm.base.place, rules.furthest_walk_metres.value)]
    asked = [site for site in farm.sites if site.id not in known]
    named += [(f"site {quoted(site.id)}", site.parking or site.place, furthest(site, rules)) for site in asked]
    beyond = _beyond([place for _, place, _ in named], build)
    outside = [(name, metres) for (name, _, limit), metres in zip(named, beyond, strict=True) if metres > limit]
    if outside:
        listed = ", ".join(f"{name} by {metres / 1000:.1f} km" for name, metres in outside)
        raise RoadError(
            f"the road map {quoted(build.map)} does not cover the whole farm: outside lie {listed}; "
            "get an extract of a larger area (see maps/README.md), or put the site's drives in "
            f"{farm.tables.drives}"
        )


def _beyond(places: Sequence[Place], build: Built) -> list[float]:
    """Return the metres from each place to the box of the map's roads, 0 inside it."""
    inside = [
        Place(
            latitude=min(max(place.latitude, build.south), build.north),
            longitude=min(max(place.longitude, build.west), build.east),
        )
        for place in places
    ]
    return [float(metres) for metres in geodesic_metres(places, inside)]
