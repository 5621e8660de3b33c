"""How quick the desk is: an order of one's own timed and checked anew, and other requests while a plan is sought.

    python -m tests.benchmarks.desk

A change moves one stop within its day; it is timed, and checked where it keeps every rule. The check of the whole round
stands beside it. Latency is of a small page, idle and beside a search of 80 sites, in turn.
"""

from __future__ import annotations

import datetime as dt
import platform
import random
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from itertools import count
from pathlib import Path

from routing import stages
from routing.desk.planner import Planner
from routing.farm.models import Farm
from routing.planning.model.build_instance import build_instance
from routing.stages.own_days import GivenDay, OwnDays
from tests.conftest import HOLLIN_VALE
from tests.desk.served import served

DATE = dt.date(2026, 6, 10)
CHANGES, REQUESTS = 60, 200


def p95(seconds: Sequence[float]) -> float:
    """Return the 95th of a hundred, in milliseconds."""
    return 1000 * statistics.quantiles(seconds, n=20)[-1]


def great_farm(folder: Path, sites: int, crews: int) -> Farm:
    """Write a farm of so many sites and crews, a job each, and return it."""
    dice = random.Random(7)
    vehicles = "".join(
        f'[[vehicle]]\nid = "v{n}"\npayload_kg = 900\nspace_litres = 6000\n[[crew]]\nid = "c{n}"\npeople = 1\n'
        f'vehicle = "v{n}"\nearliest_start = "06:30"\nhome_by = "23:30"\n'
        for n in range(crews)
    )
    base = 'name = "Great"\n[base]\nname = "Yard"\nplace = "52.2, -2.9"\nloading_minutes = 20\n'
    (folder / "farm.toml").write_text(base + vehicles, encoding="utf-8")
    rows = (
        f's{n},"{52.2 + dice.uniform(-0.3, 0.3):.4f}, {-2.9 + dice.uniform(-0.5, 0.5):.4f}",2' for n in range(sites)
    )
    (folder / "sites.csv").write_text("id,place,hives\n" + "\n".join(rows) + "\n", encoding="utf-8")
    jobs = (f"s{n},storm-check,{dice.choice(['must', 'want'])}" for n in range(sites))
    (folder / "jobs.csv").write_text("site,kind,rank\n" + "\n".join(jobs) + "\n", encoding="utf-8")
    return stages.read.farm_in(folder)


def dealt(own: OwnDays, stops: int) -> tuple[GivenDay, ...]:
    """Return all jobs dealt to all crews, at most so many stops each, sites near each other by turns of the wheel."""
    jobs = [job.id for job in own.days.instance.jobs]
    crews = list(own.crew_days)
    return tuple(
        GivenDay(*day, tuple((job,) for job in jobs[number :: len(crews)][:stops])) for number, day in enumerate(crews)
    )


def changed(days: Sequence[GivenDay], dice: random.Random) -> tuple[GivenDay, ...]:
    """Return the days with one stop moved to another place."""
    found = list(days)
    at = dice.choice([number for number, day in enumerate(found) if day.stops])
    stops = list(found[at].stops)
    stops.insert(dice.randrange(len(stops)), stops.pop(dice.randrange(len(stops))))
    found[at] = GivenDay(found[at].crew, found[at].date, tuple(stops))
    return tuple(found)


def told_of_retiming(name: str, own: OwnDays, days: tuple[GivenDay, ...]) -> str:
    """Return a row: what each change of a day takes to be timed and checked, and of what is whole, the check anew."""
    dice, tried, whole = random.Random(1), [], []
    own.tried(days)
    for _ in range(CHANGES):
        days = changed(days, dice)
        begun = time.perf_counter()
        found = own.tried(days)
        tried.append(time.perf_counter() - begun)
        begun = time.perf_counter()
        own.broken(found.round)
        whole.append(time.perf_counter() - begun)
    stops = sum(len(day.stops) for day in days)
    return f"| {name} | {stops} | {p95(tried):.0f} | {1000 * max(tried):.0f} | {p95(whole):.0f} |"


def asked(ask: Callable[[], object], until: Callable[[int], bool]) -> Iterator[float]:
    """Yield what each request takes."""
    for number in count():
        if not until(number):
            return
        begun = time.perf_counter()
        ask()
        yield time.perf_counter() - begun
        time.sleep(0.02)


def latency(folder: Path, farm: Farm) -> Iterator[str]:
    """Yield the latency of requests, idle and beside a search."""
    with tempfile.TemporaryDirectory() as keep, served(folder, Path(keep)) as desk:
        planner = Planner()
        desk.desk.planners[desk.desk.mark] = planner

        def small() -> object:
            return desk.get("/static/desk.css")

        list(asked(small, lambda number: number < 20))
        idle = list(asked(small, lambda number: number < REQUESTS))
        planner.plan(farm, (DATE,), 30, even=False)
        run = planner.runs.run
        assert run is not None
        beside = list(asked(small, lambda number: number < REQUESTS and run.standing.running))
        yield f"| a small file | idle | {p95(idle):.0f} | {1000 * max(idle):.0f} |"
        yield f"| a small file | beside a search ({len(beside)} requests) | {p95(beside):.0f} | {1000 * max(beside):.0f} |"
        run.drop()


def lines() -> Iterator[str]:
    """Yield the tables, a line each."""
    yield f"{platform.platform()}, CPython {platform.python_version()}"
    yield "| days | stops | a change p95 ms | max ms | the whole check p95 ms |"
    example = stages.read.farm_in(HOLLIN_VALE)
    december = dt.date(2026, 12, 10)
    farm, legs = stages.plan.prepared(example, december)
    own = OwnDays(farm, legs, stages.own_days.GivenDays(build_instance(farm, legs, (december,))))
    yield told_of_retiming("Hollin Vale, roads", own, dealt(own, 20))
    with tempfile.TemporaryDirectory() as folder:
        for sites, crews in ((20, 1), (80, 8)):
            great = great_farm(Path(folder), sites, crews)
            farm, legs = stages.plan.prepared(great, DATE)
            own = OwnDays(farm, legs, stages.own_days.GivenDays(build_instance(farm, legs, (DATE,))))
            yield told_of_retiming(f"{sites} sites, {crews} crews", own, dealt(own, 20))
        yield "| request | while | p95 ms | max ms |"
        yield from latency(Path(folder), great)


if __name__ == "__main__":
    for line in lines():
        print(line, flush=True)
