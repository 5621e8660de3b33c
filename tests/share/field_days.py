"""Random days of 6 to 20 visits under way on whole farms, as the page and `replan` are asked of them."""

from __future__ import annotations

import datetime as dt
import random
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from routing.farm.kinds import load_catalogue
from routing.farm.models import BASE, Base, Crew, Farm, Hours, Job, Place, Rank, Site, Vehicle
from routing.planning.ask.moment import Moment, aboard_now
from routing.planning.day_numbers import with_numbers
from routing.planning.explain.reasons import certain_reasons
from routing.planning.itineraries import build_round
from routing.planning.model.build_instance import build_instance
from routing.planning.model.order_costs import OrderCosts
from routing.planning.search.insertion import construct
from routing.round import Proof, Round, Stop
from routing.share.wording.helper_sheet import helper_sheet
from routing.share.wording.sheet import round_sheet
from routing.travel.farm import farm_legs

JUNE = dt.date(2026, 6, 10)
CREW = "fern"
SEARCH = (
    "helper_place.js",
    "field_load.js",
    "field_days.js",
    "field_reach.js",
    "field_frame.js",
    "field_search.js",
    "field_beam.js",
    "field_answer.js",
)
"""What the page searches with."""
KINDS = ("fondant", "weekly-inspection", "supers-on", "supers-off", "heft", "fondant")


@dataclass(frozen=True)
class FieldDay:
    """A farm, its plan, and a moment of the day as both are told of it."""

    farm: Farm
    planned: Round
    moment: Moment
    given: dict[str, Any]
    """What the crew's page knows."""
    state: dict[str, Any]
    """What is ticked and typed on it."""
    start: int
    """Number of the stop as it is shown where the crew stands, -1 for base."""


USUAL: dict[str, Any] = {"suspect": 0.1, "hours": 0.25, "second": 0.4, "half": 0.3, "said": 0.4, "late": (0, 200)}
"""How often what is special is drawn, and how many minutes after its last work a crew asks."""

RARE: dict[str, Any] = {"suspect": 0.3, "hours": 0.6, "second": 0.8, "half": 0.95, "said": 0.9, "late": (60, 420)}
"""Breaks overdue, two spans of hours, suspect sites, and half-done sites while less is on board than was loaded."""


def field_day(seed: int, visits: tuple[int, int] = (6, 20), often: dict[str, Any] = USUAL) -> FieldDay | None:
    """Return a random day under way, None where nothing of its plan is left to be done."""
    dice = random.Random(f"field {seed}")
    farm = _farm(dice, dice.randint(*visits), often)
    planned = planned_by_insertion(farm)
    if planned is None:
        return None
    done = {job.id for stop in planned.itineraries[0].stops for job in stop.jobs}
    farm = farm.model_copy(update={"jobs": tuple(job for job in farm.jobs if job.id in done)})
    given = helper_sheet(planned, round_sheet(planned), 0, {}).given
    return None if given["field"] is None else _under_way(dice, farm, planned, given, often)


def planned_by_insertion(farm: Farm) -> Round | None:
    """Return a day of all that goes in, in a good order; None where nothing does."""
    legs = farm_legs(farm)
    days = build_instance(farm, legs, (JUNE,))
    may = frozenset(range(len(days.jobs))) - certain_reasons(days).keys()
    orders = construct(OrderCosts(days.problem), may)
    if not any(orders):
        return None
    proof = Proof(optimal=False, text="", weight_scale=days.weight_scale)
    return with_numbers(build_round(days, orders, (), proof), farm, legs)


def _farm(dice: random.Random, visits: int, often: dict[str, Any]) -> Farm:
    catalogue = load_catalogue()

    def somewhere() -> Place:
        return Place(latitude=52.3 + dice.uniform(-0.1, 0.1), longitude=-2.6 + dice.uniform(-0.15, 0.15))

    sites = tuple(
        Site(
            id=f"s{number}",
            name=f"Site {number}",
            place=somewhere(),
            hives=dice.randint(2, 9),
            walking_minutes=dice.choice([0, 0, 2.5]),
            last_of_day=dice.random() < often["suspect"],
            hours=_hours(dice, often),
            pace=dice.choice([1, 1, 0.9]),
        )
        for number in range(visits)
    )
    jobs = [_job(dice, number, site) for number, site in enumerate(sites, start=2)]
    jobs += [
        _job(dice, 100 + number, site).model_copy(update={"kind": "storm-check"})
        for number, site in enumerate(sites)
        if dice.random() < 0.1
    ]
    plain = [site for site in sites if not site.last_of_day]
    if dice.random() < 0.3 and len(plain) > 3:
        old, new = dice.sample(plain, 2)
        hives, rank = min(3, old.hives), dice.choice(list(Rank))
        jobs.append(Job(id="jobs.csv:90", site=old.id, kind="move-hives", hives=hives, to=new.id, rank=rank))
    short = dice.random() < 0.5
    crew = Crew(
        id=CREW,
        name="Fern",
        people=2,
        vehicle="van",
        earliest_start=dt.time(5),
        home_by=dt.time(2) if any(job.to for job in jobs) else dt.time(23),
        break_minutes=dice.choice([0, 20, 30]),
        break_after_hours=dice.choice([2, 4, 6]),
        trips_a_day=1 if dice.random() < 0.5 else 2,
    )
    van = Vehicle(id="van", name="Van", payload_kg=dice.choice([150, 300, 700, 1500]), space_litres=4000)
    return Farm(
        name=f"Farm {visits}",
        folder=Path("nowhere"),
        time_zone="Europe/London",
        base=Base(name="Yard", place=somewhere(), loading_minutes=15),
        sites=sites,
        jobs=tuple(jobs),
        job_kinds={
            name: kind.model_copy(update={"minutes_a_hive": kind.minutes_a_hive.model_copy(update={"value": 2.3})})
            if short
            else kind
            for name, kind in catalogue.job_kinds.items()
        },
        materials=catalogue.materials,
        vehicles={"van": van},
        crews=(crew,),
        rules=catalogue.rules,
    )


def _hours(dice: random.Random, often: dict[str, Any]) -> tuple[Hours, ...]:
    if dice.random() > often["hours"]:
        return ()
    opens = dice.randint(7, 13)
    first = Hours(opens=dt.time(opens), closes=dt.time(opens + dice.randint(1, 4), 30))
    return (first, Hours(opens=dt.time(19), closes=dt.time(21))) if dice.random() < often["second"] else (first,)


def _job(dice: random.Random, number: int, site: Site) -> Job:
    due = None if dice.random() < 0.6 else JUNE - dt.timedelta(days=dice.randint(0, 30))
    hives, rank = dice.randint(1, site.hives), dice.choice(list(Rank))
    return Job(id=f"jobs.csv:{number}", site=site.id, kind=dice.choice(KINDS), hives=hives, due_by=due, rank=rank)


def _under_way(
    dice: random.Random, farm: Farm, planned: Round, given: dict[str, Any], often: dict[str, Any]
) -> FieldDay | None:
    (day,) = planned.itineraries
    whole = [stop for stop in day.stops if stop.set_down is None and stop.load_again is None]
    made = dice.randrange(len(whole))
    ticked = [stop for number, stop in enumerate(whole) if number < made]
    last = ticked[-1] if ticked else None
    at = (last.finish if last else day.leave) + dt.timedelta(minutes=dice.randrange(*often["late"]))
    at = at.replace(second=0) + dt.timedelta(minutes=1)
    if at.date() != JUNE:
        return None
    state: dict[str, Any] = {
        "done": {}, "parts": {}, "used": {}, "loaded": {}, "stores": {}, "notes": {},
        "field": {"board": {}, "rested": "", "from": "", "at": "", "again": [], "here": None, "answer": None, "kept": None},
    }  # fmt: skip
    done: list[str] = []
    start = -1
    for stop in ticked:
        start = _tick(stop, given, state, done)
    moment = Moment(at=at.time(), here=BASE if last is None else given["stops"][start]["site"], planned=planned)
    rested = any(stop.rest is not None for stop in ticked)
    state["field"]["rested"] = "2026-06-10T10:00:00Z" if rested else ""
    half = [stop for stop in whole[made:] if len(stop.jobs) == 1 and stop.jobs[0].hives > 1 and not stop.jobs[0].to]
    if half and last is not None and dice.random() < often["half"]:
        job = half[-1].jobs[0]
        some = dice.randrange(1, job.hives)
        number = _number(given, job.id)
        state["parts"][number] = f"2026-06-10T00:30:00Z {some}"
        done.append(f"{half[-1].site}:{job.kind}={some}")
    moment = replace(moment, done=done, rested=rested)
    aboard = aboard_now(farm, CREW, moment).amounts
    less = sorted(name for name, amount in aboard.items() if amount)
    said = {name: aboard[name] * dice.choice([0.3, 0.6]) for name in dice.sample(less, len(less) and 1)}
    said = {name: int(amount * 1000) / 1000 for name, amount in said.items()} if dice.random() < often["said"] else {}
    return FieldDay(farm, planned, replace(moment, on_board=said), given, state, start)


def _number(given: dict[str, Any], id_: str) -> str:
    return next(str(job["number"]) for stop in given["stops"] for job in stop["jobs"] if job["id"] == id_)


def _tick(stop: Stop, given: dict[str, Any], state: dict[str, Any], done: list[str]) -> int:
    """Tick all of a stop, say so, and return the number of the stop as shown at which that leaves the crew."""
    numbers = {_number(given, job.id) for job in stop.jobs}
    when = f"{stop.finish.astimezone(dt.UTC):%Y-%m-%dT%H:%M:%SZ}"
    for number in numbers:
        state["done"][number] = when
    done += [f"{stop.site}:{job.kind}" for job in stop.jobs]
    return next(
        at for at, shown in enumerate(given["stops"]) if any(str(job["number"]) in numbers for job in shown["jobs"])
    )
