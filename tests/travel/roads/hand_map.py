"""Small road maps made by hand, and farms on them, so that each test can show its own arithmetic."""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import osmium
from osmium.osm import mutable

from routing.farm.kinds import load_catalogue
from routing.farm.models import (
    Base,
    Crew,
    Drives,
    Farm,
    Figure,
    Job,
    KnownDrive,
    Place,
    RoadRules,
    Rules,
    Site,
    Vehicle,
)

LATITUDE, LONGITUDE = 52.0, -3.0
METRES_PER_DEGREE = 6_371_008.8 * math.pi / 180
"""On the sphere; the engine measures on one, too."""

RULES: Rules = load_catalogue().rules
ROADS: RoadRules = RULES.roads or RoadRules.model_validate({})


def at(east_km: float, north_km: float) -> Place:
    """Return the place so many kilometres east and north of the south-west corner of the hand-made map."""
    up = north_km * 1000 / METRES_PER_DEGREE
    along = east_km * 1000 / METRES_PER_DEGREE / math.cos(math.radians(LATITUDE))
    return Place(latitude=LATITUDE + up, longitude=LONGITUDE + along)


@dataclass
class HandMap:
    """Nodes by name with kilometres east and north, and ways through them."""

    spots: dict[str, tuple[float, float]]
    ways: list[tuple[Sequence[str], Mapping[str, str]]]
    node_tags: dict[str, dict[str, str]] = field(default_factory=dict)
    areas: list[tuple[Sequence[int], Mapping[str, str]]] = field(default_factory=list)
    """Multipolygons of ways, by their places in the list."""
    left_out: frozenset[str] = frozenset()
    """Nodes that ways go through and the map does not have, as where it was cut out of a larger one."""

    def write(self, path: Path) -> Path:
        """Write the map as an extract and return its path."""
        writer = osmium.SimpleWriter(str(path))
        numbers = {name: number for number, name in enumerate(self.spots, start=1)}
        for name, number in numbers.items():
            place = at(*self.spots[name])
            tags = self.node_tags.get(name, {})
            if name in self.left_out:
                continue
            writer.add_node(mutable.Node(id=number, version=1, location=(place.longitude, place.latitude), tags=tags))
        for number, (names, way_tags) in enumerate(self.ways, start=1):
            nodes = [numbers[name] for name in names]
            writer.add_way(mutable.Way(id=number, version=1, nodes=nodes, tags=dict(way_tags)))
        for number, (members, area_tags) in enumerate(self.areas, start=1):
            outer = [("w", member + 1, "outer") for member in members]
            tags = {"type": "multipolygon", **area_tags}
            writer.add_relation(mutable.Relation(id=number, version=1, members=outer, tags=tags))
        writer.close()
        return path


def metres(start: tuple[float, float], end: tuple[float, float]) -> float:
    """Return the metres between two spots given in kilometres; flat is near enough over a few of them."""
    return 1000 * math.hypot(end[0] - start[0], end[1] - start[1])


def farm_on(
    road_map: Path | None,
    base: Place,
    sites: Mapping[str, Place],
    drives: Mapping[str, Drives] | None = None,
    known: Sequence[tuple[str, str, float]] = (),
    drive_factor: float = 1.0,
    **rules: float,
) -> Farm:
    """Return a farm with one job a site and one crew a vehicle; `rules` change the road rules or drive_factor."""
    vehicles: Mapping[str, Drives] = drives or {"van": "van"}
    figures = {name: Figure(value=value, source="test", confidence="farm") for name, value in rules.items()}
    return Farm(
        name="Hand farm",
        folder=Path(),
        time_zone="Europe/London",
        base=Base(name="Yard", place=base),
        sites=tuple(Site(id=name, name=name.title(), place=place, hives=4) for name, place in sites.items()),
        jobs=tuple(
            Job(id=f"jobs.csv:{line}", site=name, kind="heft", hives=4, line=line)
            for line, name in enumerate(sites, start=2)
        ),
        job_kinds=dict(load_catalogue().job_kinds),
        materials=dict(load_catalogue().materials),
        vehicles={
            name: Vehicle(id=name, name=name, payload_kg=500, space_litres=2000, drives=how)
            for name, how in vehicles.items()
        },
        crews=tuple(
            Crew(id=f"crew-{name}", name=name, people=1, vehicle=name, earliest_start=dt.time(7), home_by=dt.time(18))
            for name in vehicles
        ),
        rules=RULES.model_copy(update={"drive_factor": drive_factor, "roads": ROADS.model_copy(update=figures)}),
        known_drives=tuple(KnownDrive(start=a, end=b, minutes=minutes) for a, b, minutes in known),
        road_map=road_map,
    )


def pairs(names: Sequence[str]) -> list[tuple[str, str]]:
    """Return every ordered pair of different names."""
    return list(itertools.permutations(names, 2))
