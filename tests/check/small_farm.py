"""An invented farm of eight sites and two crews, small enough to follow by hand, that touches every promise."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np

from routing.farm.models import (
    Base,
    Crew,
    Farm,
    Figure,
    Hours,
    Job,
    JobKind,
    LightNeed,
    Material,
    MaterialUse,
    Place,
    Rank,
    Rules,
    Site,
    Vehicle,
)
from routing.travel.leg_origin import LegOrigin
from routing.travel.legs import Legs

WEDNESDAY = dt.date(2025, 12, 3)


def figure(value: float) -> Figure:
    return Figure(value=value, source="invented for tests", confidence="farm")


def use(material: str, a_hive: float) -> MaterialUse:
    return MaterialUse(material=material, a_hive=figure(a_hive))


MATERIALS = (
    Material(
        id="fondant",
        name="Fondant",
        unit="kg",
        kg_each=figure(1),
        litres_each=figure(0.8),
        sold_by=figure(12.5),
        pack="box",
    ),
    Material(
        id="strip",
        name="Strips",
        unit="pieces",
        kg_each=figure(0.021),
        litres_each=figure(0.053),
        sold_by=figure(10),
        pack="packet",
    ),
    Material(id="guard", name="Mouse guard", unit="pieces", kg_each=figure(0.111), litres_each=figure(0.273)),
    Material(id="super", name="Super", unit="pieces", kg_each=figure(14.7), litres_each=figure(43.1)),
)

KINDS = (
    JobKind(
        id="fondant",
        name="Give fondant",
        minutes_a_visit=figure(10),
        minutes_a_hive=figure(4.01),
        takes=(use("fondant", 2.5),),
        cautions=("A box is heavy: lift with two hands.",),
    ),
    JobKind(
        id="guards",
        name="Fit mouse guards",
        minutes_a_visit=figure(5),
        minutes_a_hive=figure(2),
        takes=(use("guard", 1),),
        light=LightNeed.TWILIGHT,
    ),
    JobKind(
        id="supers",
        name="Take supers off",
        minutes_a_visit=figure(12.3),
        minutes_a_hive=figure(6.1),
        brings_back=(use("super", 1),),
        people=2,
    ),
    JobKind(
        id="strips",
        name="Hang strips",
        minutes_a_visit=figure(7),
        minutes_a_hive=figure(3),
        takes=(use("strip", 2),),
        light=LightNeed.ANY,
    ),
)


def site(id_: str, latitude: float, longitude: float, hives: int, **more: object) -> Site:
    facts = {
        "id": id_,
        "name": f"{id_.title()} apiary",
        "place": Place(latitude=latitude, longitude=longitude),
        "hives": hives,
    }
    return Site.model_validate({**facts, **more})


MILL_HOURS = (Hours(opens=dt.time(9), closes=dt.time(12)), Hours(opens=dt.time(13, 30), closes=dt.time(17)))

SITES = (
    site("hill", 52.05, -1.55, 11, walking_minutes=3.5, notes="Keys on the hook."),
    site("mill", 52.08, -1.45, 8, hours=MILL_HOURS),
    site("lane", 52.02, -1.42, 6, last_of_day=True),
    site("wood", 51.95, -1.60, 5, vehicle_needed="4x4"),
    site("ford", 51.93, -1.52, 3),
    site("moor", 52.12, -1.62, 40),
    site("fen", 52.10, -1.50, 4),
    site("gate", 51.98, -1.44, 2, closed_weekdays=frozenset({WEDNESDAY.weekday()})),
)


def job(number: int, site_id: str, kind: str, hives: int, **more: object) -> Job:
    return Job.model_validate({"id": f"jobs.csv:{number}", "site": site_id, "kind": kind, "hives": hives, **more})


JOBS = (
    job(2, "hill", "fondant", 11, rank=Rank.MUST, due_by=dt.date(2025, 12, 1), note="Ask at the house."),
    job(3, "hill", "guards", 11),
    job(4, "mill", "fondant", 8),
    job(5, "lane", "strips", 6, rank=Rank.MUST, not_before=dt.date(2025, 12, 3)),
    job(6, "wood", "supers", 5),
    job(7, "wood", "guards", 5, rank=Rank.PASSING),
    job(8, "ford", "strips", 3),
    job(9, "moor", "fondant", 40, due_by=dt.date(2025, 11, 30)),
    job(10, "fen", "fondant", 4, not_before=dt.date(2025, 12, 10)),
    job(11, "gate", "guards", 2),
)

CREWS = (
    Crew(
        id="anna",
        name="Anna alone",
        people=1,
        vehicle="van",
        earliest_start=dt.time(7, 30),
        home_by=dt.time(13, 30),
        break_minutes=20,
        break_after_hours=3,
        days_off_weekdays=frozenset({6}),
    ),
    Crew(
        id="ben",
        name="Ben and helper",
        people=2,
        vehicle="truck",
        earliest_start=dt.time(8),
        home_by=dt.time(11),
        break_minutes=20,
        break_after_hours=6,
        days_off_weekdays=frozenset({6}),
    ),
)

VEHICLES = (
    Vehicle(id="van", name="White van", payload_kg=110.5, space_litres=450.5),
    Vehicle(id="truck", name="Old truck", payload_kg=400, space_litres=900, reaches=frozenset({"4x4"})),
)

RULES = Rules(
    light_margin_minutes=figure(30),
    flying_stops_minutes_after_sunset=figure(20),
    extra_hands_share=figure(0.8),
    call_in_minutes=figure(60),
    drive_bands=(),
    drive_bands_source="invented for tests",
)

FARM = Farm(
    name="Invented Bees",
    folder=Path("nowhere"),
    time_zone="Europe/London",
    base=Base(name="The yard", place=Place(latitude=52.0, longitude=-1.5), loading_minutes=15),
    sites=SITES,
    jobs=JOBS,
    job_kinds={kind.id: kind for kind in KINDS},
    materials={material.id: material for material in MATERIALS},
    vehicles={vehicle.id: vehicle for vehicle in VEHICLES},
    crews=CREWS,
    rules=RULES,
    stock={"fondant": 200, "strip": 55},
)


def grid_legs(farm: Farm) -> Legs:
    """Return drives of 900 s and more that differ by direction and by pair, the first known, the rest estimates."""
    places = ("base", *(site.id for site in farm.sites))
    count = len(places)
    seconds = np.array(
        [
            [0 if i == j else 600 + 97 * abs(i - j) + 5 * i + (11 if i > j else 0) for j in range(count)]
            for i in range(count)
        ],
        dtype=np.int64,
    )
    origins = tuple(
        tuple(LegOrigin.KNOWN if i == 0 else LegOrigin.ESTIMATE for j in range(count)) for i in range(count)
    )
    return Legs(places, seconds, seconds * 13, origins)


LEGS = grid_legs(FARM)

ORDERS: dict[str, tuple[tuple[str, tuple[int, ...]], ...]] = {
    "anna": (("hill", (2, 3)), ("mill", (4,)), ("lane", (5,))),
    "ben": (("wood", (6, 7)), ("ford", (8,))),
}
"""Who visits what in which order, with the numbers of the jobs."""

LEFT: tuple[tuple[str, tuple[int, ...], str], ...] = (
    ("moor", (9,), "no room in the day"),
    ("fen", (10,), "not due"),
    ("gate", (11,), "closed"),
)


def farm_with(farm: Farm, group: str, id_: str, **change: object) -> Farm:
    """Return the farm with one of its sites, jobs, crews, vehicles, job kinds or materials changed."""
    things = getattr(farm, group)
    if isinstance(things, dict):
        return farm.model_copy(update={group: {**things, id_: things[id_].model_copy(update=change)}})
    return farm.model_copy(
        update={group: tuple(thing.model_copy(update=change) if thing.id == id_ else thing for thing in things)}
    )
