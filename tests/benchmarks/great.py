"""Measure great farms in processes of their own; `python -m tests.benchmarks.great 200 1000 5000` prints one table.

A farm has so many sites with one job each within 90 km of base, one crew and no road map. Times of the processor stand
beside those of the clock, because others share the machine; memory is the most that the process had at once.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.run import machine

KINDS = (
    "fondant",
    "insulation",
    "mouse-guards",
    "woodpecker-netting",
    "storm-check",
    "weekly-inspection",
    "syrup",
)
SPREAD = 0.8
"""Degrees of latitude that the sites lie from base at the most, each way."""

GATED = 0.1
"""Share of the sites with opening hours."""

DATED = 0.5
"""Share of the jobs with a due date within the month."""


def write_farm(folder: Path, count: int, seed: int = 1, jobs: int = 1, spread: float = SPREAD) -> None:
    """Write a farm of so many sites with so many jobs each."""
    dice = random.Random(seed)
    (folder / "farm.toml").write_text(
        'name = "Great farm"\n[base]\nname = "Yard"\nplace = "52.2000, -2.9000"\nloading_minutes = 20\n'
        '[[vehicle]]\nid = "van"\nname = "Van"\npayload_kg = 900\nspace_litres = 6000\n'
        '[[crew]]\nid = "one"\nname = "One"\npeople = 1\nvehicle = "van"\nearliest_start = "06:30"\nhome_by = "19:00"\n'
        "break_minutes = 20\nbreak_after_hours = 6\n",
        encoding="utf-8",
    )
    sites, wanted = ["id,name,place,hives,hours"], ["site,kind,hives,rank,due_by"]
    for number in range(count):
        place = f"{52.2 + dice.uniform(-spread, spread):.4f}, {-2.9 + dice.uniform(-spread, spread) * 1.6:.4f}"
        hours = "10:00-15:00" if dice.random() < GATED else ""
        sites.append(f's{number},Site {number},"{place}",{dice.randint(2, 12)},{hours}')
        for kind in dice.sample(KINDS, jobs):
            due = f"2027-05-{dice.randint(1, 28):02d}" if dice.random() < DATED else ""
            wanted.append(f"s{number},{kind},,{dice.choice(['must', 'want', 'want', 'passing'])},{due}")
    (folder / "sites.csv").write_text("\n".join(sites) + "\n", encoding="utf-8")
    (folder / "jobs.csv").write_text("\n".join(wanted) + "\n", encoding="utf-8")


def measured(command: str, folder: Path) -> tuple[float, float, float]:
    """Return the seconds by the clock and of the processor, and the most gigabytes, of a whole process."""
    out = ["--out", str(folder / "out")] if command == "plan" else []
    begun = time.monotonic()
    child = subprocess.Popen(
        [str(Path(sys.executable).with_name("outyard")), command, str(folder), "--on", "2027-05-12", *out],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    _, _, used = os.wait4(child.pid, 0)
    return time.monotonic() - begun, used.ru_utime + used.ru_stime, used.ru_maxrss / 1e6


def main(sizes: list[str]) -> None:
    """Print one row for each size and command."""
    print(f"Python {sys.version.split()[0]}; {machine()}; {time.strftime('%Y-%m-%d')}\n")
    print("| sites | jobs | command | clock s | processor s | GB |\n| --- | --- | --- | --- | --- | --- |")
    for size in sizes or ["200", "1000", "5000"]:
        count, _, each = size.partition("x")
        jobs = int(each or 1)
        with tempfile.TemporaryDirectory() as name:
            write_farm(Path(name), int(count), jobs=jobs, spread=SPREAD if jobs == 1 else 0.12)
            for command in ("fit", "plan"):
                clock, processor, memory = measured(command, Path(name))
                row = (count, int(count) * jobs, command, f"{clock:.1f}", f"{processor:.1f}", f"{memory:.2f}")
                print("|", " | ".join(map(str, row)), "|", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
