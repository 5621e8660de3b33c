"""What a farmer asks in an evening, each command in a process of its own: seconds by the clock and of the processor.

    python -m tests.benchmarks.evening [--roads EXTRACT] [--only WORD ...] [--beside CHECKOUT] [--keep FOLDER]

An invented farm of 22 sites and 180 hives, two crews and some 78 jobs of every rank, on a real road extract where one is
given (an OpenStreetMap .pbf; OpenStreetMap contributors, ODbL) and in straight lines where none is. `--beside` names a
checkout of another version: each command is then run by both in turn, and the ratio printed. What is compiled is made
ready before anything is measured, and so is the road map; the first plan on a machine is `first`, measured apart.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks.run import machine

PLACES = (
    (47.244, 9.558), (47.151, 9.510), (47.063, 9.506), (47.114, 9.590), (47.209, 9.499), (47.180, 9.495),
    (47.234, 9.516), (47.119, 9.552), (47.126, 9.517), (47.220, 9.538), (47.122, 9.538), (47.131, 9.549),
    (47.062, 9.486), (47.127, 9.523), (47.166, 9.517), (47.075, 9.498), (47.117, 9.534), (47.250, 9.534),
    (47.153, 9.515), (47.247, 9.555), (47.157, 9.521), (47.077, 9.513),
)  # fmt: skip
"""Drawn at random, and kept where the extract that this was made for (Liechtenstein) has a road to stop on."""

HIVES, JOBS = 180, 78
SITES = len(PLACES)

KINDS = ("weekly-inspection", "supers-on", "storm-check", "heft", "entrance-blocks", "insulation", "mouse-guards")
RANKS = ("now", "must", "must", "want", "want", "want", "passing")
DATE, LOG_DATE = "2027-05-12", "2026-10-12"

FARM = """name = "Evening farm"
time_zone = "Europe/Zurich"
[base]
name = "Yard"
place = "47.1700, 9.5200"
loading_minutes = 20
{roads}
[[vehicle]]
id = "van"
name = "Van"
payload_kg = 700
space_litres = 4000
[[vehicle]]
id = "truck"
name = "Truck"
payload_kg = 1200
space_litres = 8000
[[crew]]
id = "one"
name = "One"
people = 1
vehicle = "van"
earliest_start = "07:00"
home_by = "18:00"
break_minutes = 20
break_after_hours = 6
[[crew]]
id = "two"
name = "Two"
people = 2
vehicle = "truck"
earliest_start = "07:30"
home_by = "17:30"
break_minutes = 30
break_after_hours = 6
"""


def write_farm(folder: Path, roads: Path | None, *, jobs: bool = True, seed: int = 21) -> None:
    """Write the farm; without `jobs` all its work comes from the year's rules and its log."""
    folder.mkdir(parents=True, exist_ok=True)
    dice = random.Random(seed)
    table = f'[roads]\nmap = "{roads}"\ncredit = "OpenStreetMap contributors, ODbL"\n' if roads else ""
    (folder / "farm.toml").write_text(FARM.format(roads=table), encoding="utf-8")
    hives = [HIVES // SITES + (number < HIVES % SITES) for number in range(SITES)]
    for _ in range(3 * SITES):
        giver, taker = dice.sample(range(SITES), 2)
        if hives[giver] > 3:
            hives[giver], hives[taker] = hives[giver] - 1, hives[taker] + 1
    sites, wanted = ["id,name,place,hives,hours"], ["site,kind,hives,rank,due_by,not_before"]
    pairs = [(site, kind) for site in range(SITES) for kind in KINDS]
    for number in range(SITES):
        place = "{:.3f}, {:.3f}".format(*PLACES[number])
        hours = "10:00-15:00" if dice.random() < 0.15 else ""
        sites.append(f's{number},Site {number},"{place}",{hives[number]},{hours}')
    for site, kind in sorted(dice.sample(pairs, JOBS)):
        due = f"2027-05-{dice.randint(6, 25):02d}" if dice.random() < 0.6 else ""
        wanted.append(f"s{site},{kind},,{dice.choice(RANKS)},{due},")
    (folder / "sites.csv").write_text("\n".join(sites) + "\n", encoding="utf-8")
    (folder / "jobs.csv").write_text("\n".join(wanted if jobs else wanted[:1]) + "\n", encoding="utf-8")


@dataclass(frozen=True)
class Asked:
    """One question of the evening."""

    name: str
    words: tuple[str, ...]
    farm: str = "farm"


def evening(folder: Path) -> tuple[Asked, ...]:
    """Return what is asked, in this order: what rests on a saved round comes after the plan that saves it."""
    on = ("--on", DATE)
    return (
        Asked("plan, a day", ("plan", "{farm}", *on)),
        Asked("explain", ("explain", "{farm}", "s3", *on)),
        Asked("chance", ("chance", "{farm}", *on)),
        Asked("try, the order of one crew", ("try", "{farm}", "--order", "s1,s2,s3,s4", "--crew", "one", *on)),
        Asked("what-if, two changes", ("what-if", "{farm}", "--home-by", "19:00", "--without", "s5", *on)),
        Asked("share, the date", ("share", "{farm}", *on, "--gpx", str(folder / "day.gpx"), "--replace")),
        Asked("plan, the same day again", ("plan", "{farm}", *on)),
        Asked("fit", ("fit", "{farm}", *on)),
        Asked("plan --days 3", ("plan", "{farm}", *on, "--days", "3")),
        Asked("plan --days 5", ("plan", "{farm}", *on, "--days", "5")),
        Asked("plan --days 3 --even", ("plan", "{farm}", *on, "--days", "3", "--even", "--out", "{farm}-even")),
        Asked("plan --sure 0.9", ("plan", "{farm}", *on, "--sure", "0.9", "--out", "{farm}-sure")),
        Asked("due, of a log", ("due", "{farm}", "--on", LOG_DATE), "logged"),
        Asked("plan, what a log makes due", ("plan", "{farm}", "--on", LOG_DATE), "logged"),
    )


def run(checkout: Path, words: Sequence[str], cache: Path, out: Path) -> tuple[float, float, int]:
    """Return the seconds by the clock and of the processor of a whole command, and its exit code."""
    env = os.environ | {"PYTHONPATH": str(checkout), "XDG_CACHE_HOME": str(cache), "NO_COLOR": "1"}
    begun = time.monotonic()
    with out.open("w", encoding="utf-8") as printed:
        child = subprocess.Popen(
            [sys.executable, "-m", "routing", *words], stdout=printed, stderr=subprocess.STDOUT, env=env, cwd=out.parent
        )
        _, status, used = os.wait4(child.pid, 0)
    return time.monotonic() - begun, used.ru_utime + used.ru_stime, os.waitstatus_to_exitcode(status)


def rows(checkouts: Sequence[Path], folder: Path, roads: Path | None, only: Sequence[str]) -> Iterator[str]:
    """Yield a row of the table for each question; every checkout has farms and a cache of its own."""
    homes = [folder / f"version{number}" for number in range(len(checkouts))]
    for checkout, home in zip(checkouts, homes, strict=True):
        write_farm(home / "farm", roads)
        write_farm(home / "logged", roads, jobs=False)
        begin = ("log", "begin", str(home / "logged"), "--counts-from", "2026-08-01")
        hefted = ("log", "add", str(home / "logged"), "--site", "all", "--kind", "heft", "--on", "2026-10-05")
        write_farm(home / "warm", roads)
        firsts: tuple[tuple[str, ...], ...] = (
            begin,
            (*hefted, "--stores-kg", "9"),
            ("plan", str(home / "warm"), "--on", DATE),
        )
        for first in firsts:
            _, _, code = run(checkout, first, home / "cache", home / "out.txt")
            if code:
                sys.exit((home / "out.txt").read_text(encoding="utf-8"))
    for asked in evening(folder):
        if only and not any(word in asked.name for word in only):
            continue
        told: list[float] = []
        for number, (checkout, home) in enumerate(zip(checkouts, homes, strict=True)):
            words = [word.format(farm=home / asked.farm) for word in asked.words]
            out = home / f"{asked.name.replace(' ', '-')}.txt"
            clock, processor, code = run(checkout, words, home / "cache", out)
            told += [clock, processor]
            if code not in {0, 1}:
                sys.exit(f"{asked.name}, version {number}: {out.read_text(encoding='utf-8')}")
        cells = [f"{value:.1f}" for value in told]
        if len(checkouts) > 1:
            cells.append(f"{told[2] / told[0]:.2f}")
        yield f"| {asked.name} | {' | '.join(cells)} |"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--roads", type=Path, default=None)
    parser.add_argument("--only", nargs="*", default=[])
    parser.add_argument("--beside", type=Path, default=None, help="a checkout of another version, run before this one")
    parser.add_argument("--keep", type=Path, default=None, help="a folder that the farms and outputs are left in")
    asked = parser.parse_args()
    here = Path(__file__).parents[2]
    checkouts = [here] if asked.beside is None else [asked.beside.resolve(), here]
    folder = asked.keep.resolve() if asked.keep else Path(tempfile.mkdtemp())
    print(f"Python {sys.version.split()[0]}; {machine()}; {time.strftime('%Y-%m-%d')}\n")
    each = ["clock s", "processor s"]
    heads = each if len(checkouts) == 1 else [f"{what} {when}" for when in ("before", "after") for what in each]
    heads += ["clock, after by before"] * (len(checkouts) > 1)
    print(f"| command | {' | '.join(heads)} |\n|{' --- |' * (len(heads) + 1)}")
    try:
        for row in rows(checkouts, folder, asked.roads.resolve() if asked.roads else None, asked.only):
            print(row, flush=True)
    finally:
        if asked.keep is None:
            shutil.rmtree(folder)


if __name__ == "__main__":
    main()
