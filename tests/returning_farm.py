"""A farm whose supers come home in two loads: the van holds those of one site and a few more."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from routing.farm.kinds import load_catalogue
from routing.farm.models import Base, Crew, Farm, Job, KnownDrive, Place, Rank, Site, Vehicle
from routing.travel.farm import farm_legs
from routing.travel.legs import Legs

SUMMER = dt.date(2026, 7, 21)

SITES = (
    Site(id="brook", name="Brook", place=Place(latitude=52.31, longitude=-2.95), hives=12, walking_minutes=1),
    Site(id="copse", name="Copse", place=Place(latitude=52.36, longitude=-2.86), hives=10, notes="Shut the gate"),
    Site(id="dene", name="Dene", place=Place(latitude=52.29, longitude=-2.82), hives=8),
)
JOBS = (
    Job(id="jobs.csv:2", site="brook", kind="supers-off", hives=12, rank=Rank.MUST),
    Job(id="jobs.csv:3", site="copse", kind="supers-off", hives=10, rank=Rank.MUST),
    Job(id="jobs.csv:4", site="dene", kind="weekly-inspection", hives=8),
    Job(id="jobs.csv:5", site="dene", kind="syrup", hives=8, note="All of them"),
)
VAN = Vehicle(id="van", name="Van", payload_kg=450, space_litres=2500)
CREW = Crew(
    id="fern",
    name="Fern",
    people=2,
    vehicle="van",
    earliest_start=dt.time(8),
    home_by=dt.time(20),
    break_minutes=30,
    break_after_hours=5,
)
DRIVES = (
    ("base", "brook", 12),
    ("base", "copse", 9),
    ("base", "dene", 14),
    ("brook", "copse", 16),
    ("brook", "dene", 23),
)


def returning_farm(**changes: object) -> Farm:
    """Return the farm, with some of its parts changed."""
    catalogue = load_catalogue()
    farm = Farm(
        name="Returning Bees",
        folder=Path("nowhere"),
        time_zone="Europe/London",
        base=Base(name="Long Barn", place=Place(latitude=52.32, longitude=-2.88), loading_minutes=15),
        sites=SITES,
        jobs=JOBS,
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
