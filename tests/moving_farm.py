"""A farm whose hives are moved from Ridge to Hollow Lane, with drives that are known to the minute."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path

from routing.farm.kinds import load_catalogue
from routing.farm.models import Base, Crew, Farm, Hours, Job, KnownDrive, LightNeed, Place, Rank, Site, Vehicle
from routing.travel.farm import farm_legs
from routing.travel.legs import Legs

SUMMER = dt.date(2026, 6, 10)

RIDGE = Site(
    id="ridge",
    name="Ridge",
    place=Place(latitude=52.30, longitude=-2.90),
    hives=6,
    walking_minutes=3,
    notes="Mind the step",
)
HOLLOW = Site(id="hollow", name="Hollow Lane", place=Place(latitude=52.40, longitude=-2.90), hives=2)
MILL = Site(id="mill", name="Mill", place=Place(latitude=52.32, longitude=-2.92), hives=8)

MOVE = Job(id="jobs.csv:2", site="ridge", kind="move-hives", hives=4, to="hollow", rank=Rank.MUST)
HEFT = Job(id="jobs.csv:3", site="mill", kind="heft", hives=8)

VAN = Vehicle(id="van", name="Van", payload_kg=500, space_litres=3000)
CREW = Crew(
    id="ash",
    name="Ash",
    people=2,
    vehicle="van",
    earliest_start=dt.time(12),
    home_by=dt.time(3),
    break_minutes=20,
    break_after_hours=10,
)

DRIVES = (("base", "ridge", 10), ("ridge", "hollow", 20), ("base", "hollow", 15), ("base", "mill", 5))


def moving_farm(**changes: object) -> Farm:
    """Return the farm, with some of its parts changed."""
    catalogue = load_catalogue()
    farm = Farm(
        name="Moving Bees",
        folder=Path("nowhere"),
        time_zone="Europe/London",
        base=Base(name="The yard", place=Place(latitude=52.32, longitude=-2.88), loading_minutes=15),
        sites=(RIDGE, HOLLOW, MILL),
        jobs=(MOVE, HEFT),
        job_kinds=catalogue.job_kinds,
        materials=catalogue.materials,
        vehicles={"van": VAN},
        crews=(CREW,),
        rules=catalogue.rules,
        known_drives=tuple(KnownDrive(start=start, end=end, minutes=minutes) for start, end, minutes in DRIVES),
    )
    return farm.model_copy(update=changes)


def legs_of(farm: Farm) -> Legs:
    """Return the drives of the farm, no road map needed."""
    return farm_legs(farm)


def gated_farm(gates: Mapping[str, tuple[int, int]], light: LightNeed) -> Farm:
    """Return the farm with sites that are open between two full hours only, and a move that needs this light."""
    plain = moving_farm()
    sites = tuple(
        site.model_copy(update={"hours": (Hours(opens=dt.time(gates[site.id][0]), closes=dt.time(gates[site.id][1])),)})
        if site.id in gates
        else site
        for site in plain.sites
    )
    kind = plain.job_kinds[MOVE.kind].model_copy(update={"light": light})
    return plain.model_copy(update={"sites": sites, "job_kinds": plain.job_kinds | {MOVE.kind: kind}})
