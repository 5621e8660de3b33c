"""Farms for pencil and paper: every drive is given in minutes, and every job takes the minutes that are said."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from routing.farm.kinds import load_catalogue
from routing.farm.models import (
    Base,
    Crew,
    Farm,
    Figure,
    Hours,
    Job,
    JobKind,
    KnownDrive,
    LightNeed,
    Material,
    MaterialUse,
    Place,
    Rank,
    Site,
    Vehicle,
)
from routing.planning.model.build_instance import build_instance
from routing.planning.model.instance import Instance
from routing.travel.farm import farm_legs

JUNE = dt.date(2026, 6, 10)

CREW = Crew(
    id="ivy",
    name="Ivy",
    people=1,
    vehicle="van",
    earliest_start=dt.time(8),
    home_by=dt.time(18),
    break_minutes=0,
    trips_a_day=1,
)
VAN = Vehicle(id="van", name="Van", payload_kg=1000, space_litres=5000)


def figure(value: float) -> Figure:
    return Figure(value=value, source="made up for the test", confidence="farm")


KINDS = {
    "look": JobKind(
        id="look", name="Look over", minutes_a_visit=figure(0), minutes_a_hive=figure(1), light=LightNeed.ANY
    ),
    "feed": JobKind(
        id="feed",
        name="Feed",
        minutes_a_visit=figure(0),
        minutes_a_hive=figure(1),
        light=LightNeed.ANY,
        takes=(MaterialUse(material="dough", a_hive=figure(1)),),
    ),
    "lift": JobKind(
        id="lift",
        name="Lift honey",
        minutes_a_visit=figure(0),
        minutes_a_hive=figure(1),
        light=LightNeed.ANY,
        brings_back=(MaterialUse(material="box", a_hive=figure(1)),),
    ),
}
MATERIALS = {
    "dough": Material(id="dough", name="Dough", unit="kg", kg_each=figure(1), litres_each=figure(1)),
    "box": Material(id="box", name="Box", unit="pieces", kg_each=figure(10), litres_each=figure(10)),
}


def job(site: str, minutes: int, rank: Rank = Rank.WANT, kind: str = "look", **more: Any) -> Job:
    """Return a job that takes so many minutes, one for each of its hives."""
    return Job(id="", site=site, kind=kind, hives=minutes, rank=rank, **more)


def span(opens: str, closes: str) -> Hours:
    return Hours(opens=dt.time.fromisoformat(opens), closes=dt.time.fromisoformat(closes))


def paper_farm(
    jobs: Sequence[Job],
    drives: Mapping[tuple[str, str], int] | int,
    *,
    sites: Mapping[str, Mapping[str, Any]] | None = None,
    **changes: Any,
) -> Farm:
    """Return a farm of the sites that the jobs name; `drives` are minutes, one number for all or by pair."""
    names = list(dict.fromkeys(end for one in jobs for end in (one.site, one.to) if end))
    pairs = [(here, there) for here in ("base", *names) for there in ("base", *names) if here != there]
    known = dict.fromkeys(pairs, drives) if isinstance(drives, int) else drives
    farm = Farm(
        name="Paper Bees",
        folder=Path("nowhere"),
        time_zone="Europe/London",
        base=Base(name="Shed", place=Place(latitude=52.3, longitude=-2.9), loading_minutes=0),
        sites=tuple(
            Site(
                id=name,
                name=name.capitalize(),
                place=Place(latitude=52.3 + number / 100, longitude=-2.9),
                hives=500,
                **(sites or {}).get(name, {}),
            )
            for number, name in enumerate(names, start=1)
        ),
        jobs=tuple(one.model_copy(update={"id": f"jobs.csv:{line}"}) for line, one in enumerate(jobs, start=2)),
        job_kinds=KINDS,
        materials=MATERIALS,
        vehicles={"van": VAN},
        crews=(CREW,),
        rules=load_catalogue().rules,
        known_drives=tuple(KnownDrive(start=a, end=b, minutes=minutes) for (a, b), minutes in known.items()),
    )
    return farm.model_copy(update=changes)


def days_of(farm: Farm, *dates: dt.date) -> Instance:
    """Return the problem of a paper farm, of one day in June where no date is given."""
    return build_instance(farm, farm_legs(farm), dates or (JUNE,))


def crew(**changes: Any) -> tuple[Crew, ...]:
    return (CREW.model_copy(update=changes),)
