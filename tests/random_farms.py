"""Random small farms anywhere on the earth, with every feature that a farm folder can have."""

from __future__ import annotations

import datetime as dt
import random
from pathlib import Path

from routing.farm.kinds import load_catalogue
from routing.farm.models import Base, Crew, Farm, Hours, Job, KnownDrive, Place, Rank, Site, Vehicle

ZONES = (
    ("Europe/London", 52.3, -2.9),
    ("Europe/Oslo", 69.6, 18.9),
    ("Pacific/Auckland", -41.2, 174.7),
    ("America/Denver", 39.7, -105.1),
    ("Europe/Dublin", 53.3, -8.2),
)


def random_farm(seed: int) -> tuple[Farm, dt.date]:
    """Return a farm and a date; the same seed gives the same farm."""
    dice = random.Random(seed)
    zone, latitude, longitude = dice.choice(ZONES)
    catalogue = load_catalogue()
    kinds = sorted(catalogue.job_kinds)
    date = dt.date(2026, 1, 1) + dt.timedelta(days=dice.randrange(365))

    def somewhere(spread: float) -> Place:
        return Place(
            latitude=latitude + dice.uniform(-spread, spread), longitude=longitude + dice.uniform(-spread, spread)
        )

    sites = tuple(
        _site(dice, number, somewhere(dice.choice([0.02, 0.1, 0.3])), date) for number in range(dice.randint(1, 7))
    )
    jobs = tuple(
        _job(dice, number, dice.choice(sites), dice.choice(kinds), date)
        for number in range(dice.randint(1, 2 * len(sites)))
    )
    vehicles = {
        name: Vehicle(
            id=name,
            name=f"The {name}",
            payload_kg=dice.choice([60, 300, 900]),
            space_litres=dice.choice([200, 1500, 4000]),
            reaches=frozenset({"4x4"} if dice.random() < 0.5 else ()),
        )
        for name in ("van", "truck")
    }
    farm = Farm(
        name=f"Farm {seed}",
        folder=Path("nowhere"),
        time_zone=zone,
        base=Base(name="Yard", place=somewhere(0.02), loading_minutes=dice.choice([0, 20, 12.5])),
        sites=sites,
        jobs=jobs,
        job_kinds=catalogue.job_kinds,
        materials=catalogue.materials,
        vehicles=vehicles,
        crews=tuple(_crew(dice, number, date) for number in range(dice.choice([1, 1, 1, 2]))),
        rules=catalogue.rules,
        stock={material: dice.randint(0, 60) for material in sorted(catalogue.materials) if dice.random() < 0.2},
        known_drives=tuple(
            KnownDrive(start="base", end=site.id, minutes=dice.uniform(1, 60)) for site in sites if dice.random() < 0.3
        ),
    )
    return _with_moves(random.Random(f"moves {seed}"), farm), date


def with_tight_loads(farm: Farm, seed: int) -> Farm:
    """Return the farm with vehicles that hold little, and crews that may come back to base for more."""
    dice = random.Random(f"loads {seed}")
    vehicles = {
        name: vehicle.model_copy(
            update={"payload_kg": dice.choice([60, 90, 150, 250]), "space_litres": dice.choice([200, 600, 4000])}
        )
        for name, vehicle in farm.vehicles.items()
    }
    crews = tuple(crew.model_copy(update={"trips_a_day": dice.choice([1, 2, 2, 3])}) for crew in farm.crews)
    return farm.model_copy(update={"vehicles": vehicles, "crews": crews})


def _with_moves(dice: random.Random, farm: Farm) -> Farm:
    """Return the farm with hives to be moved from site to site, on most of such farms by a crew that is out late."""
    healthy = [site for site in farm.sites if not site.last_of_day]
    if len(healthy) < 2 or dice.random() < 0.5:
        return farm
    jobs = list(farm.jobs)
    for number in range(dice.randint(1, 3)):
        old, new = dice.sample(healthy, 2)
        jobs.append(
            Job(
                id=f"jobs.csv:{len(farm.jobs) + 2 + number}",
                site=old.id,
                kind="move-hives",
                hives=min(old.colonies, dice.choice([1, 2, 3, 8])),
                to=new.id,
                rank=dice.choice(list(Rank)),
            )
        )
    late = {"people": dice.choice([2, 3]), "home_by": dice.choice([dt.time(23, 30), dt.time(2), dt.time(3)])}
    if dice.random() < 0.2:
        return farm.model_copy(update={"jobs": tuple(jobs)})
    first = farm.crews[0].model_copy(update=late)
    strong = farm.vehicles[first.vehicle].model_copy(update={"payload_kg": dice.choice([150, 900])})
    return farm.model_copy(
        update={
            "jobs": tuple(jobs),
            "crews": (first, *farm.crews[1:]),
            "vehicles": {**farm.vehicles, first.vehicle: strong},
        }
    )


def _site(dice: random.Random, number: int, place: Place, date: dt.date) -> Site:
    opens = dice.randint(5, 12)
    spans = [Hours(opens=dt.time(opens), closes=dt.time(opens + dice.randint(1, 6), 30))] if dice.random() < 0.3 else []
    if spans and dice.random() < 0.5 and spans[0].closes.hour < 20:
        spans.append(Hours(opens=dt.time(spans[0].closes.hour + 1), closes=dt.time(22)))
    return Site(
        id=f"s{number}",
        name=f"Site {number}",
        place=place,
        hives=dice.randint(1, 40),
        nucs=dice.randint(0, 5),
        hours=tuple(spans),
        closed_weekdays=frozenset({dice.randrange(7)} if dice.random() < 0.2 else ()),
        closed_dates=frozenset({date} if dice.random() < 0.05 else ()),
        vehicle_needed="4x4" if dice.random() < 0.2 else "",
        walking_minutes=dice.choice([0, 0, 2.5, 15]),
        last_of_day=dice.random() < 0.15,
    )


def _job(dice: random.Random, number: int, site: Site, kind: str, date: dt.date) -> Job:
    job = _any_day(dice, number, site, kind, date)
    apart = random.Random(f"{job.note}{site.id}{kind}{date}")  # drawn apart, so that all else stays as it was
    if apart.random() > 0.1:
        return job
    promised = date + dt.timedelta(days=apart.randint(-1, 2))
    return job.model_copy(update={"promised": promised, "not_before": promised, "due_by": promised})


def _any_day(dice: random.Random, number: int, site: Site, kind: str, date: dt.date) -> Job:
    return Job(
        id=f"jobs.csv:{number + 2}",
        site=site.id,
        kind=kind,
        hives=dice.randint(1, site.colonies),
        not_before=date + dt.timedelta(days=dice.randint(-5, 2)) if dice.random() < 0.3 else None,
        due_by=date + dt.timedelta(days=dice.randint(-10, 10)) if dice.random() < 0.7 else None,
        rank=dice.choice(list(Rank)),
        note=dice.choice(["", "by the hedge"]),
    )


def _crew(dice: random.Random, number: int, date: dt.date) -> Crew:
    return Crew(
        id=f"c{number}",
        name=f"Crew {number}",
        people=dice.choice([1, 1, 2, 3]),
        vehicle=dice.choice(["van", "truck"]),
        earliest_start=dt.time(dice.randint(4, 9), dice.choice([0, 30])),
        home_by=dt.time(dice.randint(14, 23)) if dice.random() < 0.9 else dt.time(2),
        break_minutes=dice.choice([0, 20, 45]),
        break_after_hours=dice.choice([3, 4.5, 6]),
        days_off_dates=frozenset({date} if dice.random() < 0.05 else ()),
    )
