"""A farm whose supers come home in two loads: the van holds those of one site and a few more."""

from __future__ import annotations

import datetime as dt

from routing.farm.kinds import load_catalogue
from routing.farm.models import Base, Crew, Farm, Figure, Job, JobKind, KnownDrive, Place, Rank, Site, Vehicle
from tests.moving_farm import legs_of, moving_farm

__all__ = ["CREW", "JOBS", "SITES", "SUMMER", "VAN", "legs_of", "returning_farm"]

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


def kinds() -> dict[str, JobKind]:
    """Return the job kinds, with syrup of this farm's own minutes: the tests count on how its day falls out."""
    known = dict(load_catalogue().job_kinds)
    five = Figure(value=5, source="this farm's own feeders", confidence="farm")
    return {**known, "syrup": known["syrup"].model_copy(update={"minutes_a_hive": five})}


def returning_farm(**changes: object) -> Farm:
    """Return the farm, with some of its parts changed."""
    own = {
        "name": "Returning Bees",
        "base": Base(name="Long Barn", place=Place(latitude=52.32, longitude=-2.88), loading_minutes=15),
        "sites": SITES,
        "jobs": JOBS,
        "vehicles": {"van": VAN},
        "crews": (CREW,),
        "job_kinds": kinds(),
        "known_drives": tuple(KnownDrive(start=start, end=end, minutes=minutes) for start, end, minutes in DRIVES),
    }
    return moving_farm(**(own | changes))
