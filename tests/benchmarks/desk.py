"""How quick the desk is: an order of one's own timed and checked anew, and other requests while a plan is sought.

    python -m tests.benchmarks.desk

A change moves one stop within its day; it is timed, and checked where it keeps every rule. The check of the whole round
stands beside it. Latency is of a small page, of a small change and of a whole view, idle and beside a search of 80 sites, in turn. The first page is
that of a process begun for it; the same Python that does nothing, and one that reads the farm alone, stand beside.
"""

from __future__ import annotations

import csv
import datetime as dt
import http.client
import os
import platform
import random
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import count
from pathlib import Path

from routing import stages
from routing.desk.planner import Planner
from routing.desk.runs import Run
from routing.farm.models import Farm
from routing.planning.model.build_instance import build_instance
from routing.stages.own_days import GivenDay, OwnDays
from tests.conftest import HOLLIN_VALE
from tests.desk.served import Reply, served

DATE = dt.date(2026, 6, 10)
CHANGES, REQUESTS = 60, 200
STARTS, ROWS = 7, 500
READS = "import sys; from pathlib import Path; from routing import stages; stages.read.farm_in(Path(sys.argv[1]))"


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


def first_page(folder: Path, keep: str) -> float:
    """Return what it takes from the command to the first page of a farm, in a new process."""
    command = [sys.executable, "-m", "routing", "open", str(folder), "--no-browser"]
    env = {**os.environ, "XDG_STATE_HOME": keep, "PYTHONUNBUFFERED": "1"}
    begun = time.perf_counter()
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=env) as running:
        assert running.stdout is not None
        address = running.stdout.readline().split()[-1]
        host, way = address.split("/")[2], "/" + address.split("/", 3)[3]
        connection = http.client.HTTPConnection(host, timeout=60)
        connection.request("GET", way)
        entered = connection.getresponse()
        entered.read()
        cookie = (entered.getheader("set-cookie") or "").partition(";")[0]
        connection.request("GET", "/tomorrow", headers={"cookie": cookie, "sec-fetch-site": "same-origin"})
        shown = connection.getresponse()
        shown.read()
        seconds = time.perf_counter() - begun
        connection.close()
        running.send_signal(signal.SIGINT)
        running.communicate()
    assert shown.status == 200, shown.status
    return seconds


def ran(*arguments: str) -> float:
    """Return what a new Python takes for some code."""
    begun = time.perf_counter()
    subprocess.run([sys.executable, "-c", *arguments], check=True)
    return time.perf_counter() - begun


def starts() -> Iterator[str]:
    """Yield rows of what it takes to the first page, in turn with a Python that does less."""
    rows: dict[str, list[float]] = {}
    with tempfile.TemporaryDirectory() as keep:
        for _ in range(STARTS):
            rows.setdefault("Python alone", []).append(ran("pass"))
            rows.setdefault("the farm read", []).append(ran(READS, str(HOLLIN_VALE)))
            rows.setdefault("the first page", []).append(first_page(HOLLIN_VALE, keep))
    alone = statistics.median(rows["Python alone"])
    for name, seconds in rows.items():
        middle = statistics.median(seconds)
        yield f"| {name} | {1000 * middle:.0f} | {1000 * min(seconds):.0f} | {middle / alone:.1f} |"


def table_of(rows: int) -> Iterator[str]:
    """Yield what a table of so many rows takes to be given, and to have a cell changed, judged and written."""
    with tempfile.TemporaryDirectory() as keep:
        folder = Path(keep) / "farm"
        folder.mkdir()
        great_farm(folder, rows, 1)
        with served(folder, Path(keep)) as desk:
            given = [_timed(lambda: desk.get("/tables/sites?private=no")) for _ in range(9)]
            yield f"| {rows} rows given | {1000 * statistics.median(given):.0f} | {1000 * max(given):.0f} |"
            changed_in = []
            for number in range(9):
                with (folder / "sites.csv").open(encoding="utf-8", newline="") as file:
                    line = 2 + next(n for n, row in enumerate(csv.DictReader(file)) if row["id"] == f"s{number}")
                fields = {"name": "sites", "private": False, "cells": [[line, "hives", str(3 + number)]], "added": []}
                fields |= {"base": desk.desk.edits.table("sites").digest, "dropped": []}
                changed_in.append(_timed(partial(desk.post, "/tables/change", fields)))
            yield f"| a cell of {rows} rows | {1000 * statistics.median(changed_in):.0f} | {1000 * max(changed_in):.0f} |"


def _timed(do: Callable[[], Reply]) -> float:
    begun = time.perf_counter()
    reply = do()
    assert reply.status == 200, reply.text
    return time.perf_counter() - begun


def _beside(run: Run, number: int) -> bool:
    return number < REQUESTS and run.standing.running


def latency(folder: Path, farm: Farm) -> Iterator[str]:
    """Yield the latency of requests, idle and beside a search."""
    with tempfile.TemporaryDirectory() as keep, served(folder, Path(keep)) as desk:
        planner = Planner()
        desk.desk.planners[desk.desk.mark] = planner
        requests = {"a small file": "/static/desk.css", "the view of jobs": "/jobs", "the sites": "/tables/sites"}
        for path in requests.values():
            list(asked(partial(desk.get, path), lambda number: number < 20))
        idle = {
            name: list(asked(partial(desk.get, path), lambda number: number < REQUESTS))
            for name, path in requests.items()
        }
        for name, path in requests.items():
            planner.plan(farm, (DATE,), 60, even=False)
            run = planner.runs.run
            assert run is not None
            beside = list(
                asked(
                    partial(desk.get, path),
                    partial(_beside, run),
                )
            )
            run.drop()
            yield f"| {name} | idle | {p95(idle[name]):.0f} | {1000 * max(idle[name]):.0f} |"
            yield f"| {name} | beside a search ({len(beside)} requests) | {p95(beside):.0f} | {1000 * max(beside):.0f} |"


def lines() -> Iterator[str]:
    """Yield the tables, a line each."""
    yield f"{platform.platform()}, CPython {platform.python_version()}, load {os.getloadavg()[0]:.1f} of {os.cpu_count()}"
    yield "| begun | median ms | best ms | of Python alone |"
    yield from starts()
    yield "| table | median ms | max ms |"
    yield from table_of(ROWS)
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
