"""The folder of a farm of twenty sites, drawn from a seed."""

from __future__ import annotations

import random
from pathlib import Path

SITES = 20
KINDS = ("fondant", "insulation", "mouse-guards", "woodpecker-netting", "storm-check")


def write_farm(folder: Path, seed: int, *, hives: int, spread: float, jobs: int, hours: float) -> None:
    """Write a farm of 20 sites within `spread` degrees of the base, `jobs` kinds a site, a share with own hours."""
    dice = random.Random(seed)
    (folder / "farm.toml").write_text(
        'name = "Measured farm"\n[base]\nname = "Yard"\nplace = "52.2000, -2.9000"\nloading_minutes = 20\n'
        '[[vehicle]]\nid = "van"\nname = "Van"\npayload_kg = 900\nspace_litres = 6000\n'
        '[[crew]]\nid = "one"\nname = "One"\npeople = 1\nvehicle = "van"\nearliest_start = "06:30"\nhome_by = "19:00"\n'
        "break_minutes = 20\nbreak_after_hours = 6\n",
        encoding="utf-8",
    )
    sites = ["id,name,place,hives,hours"]
    wanted = ["site,kind,hives,rank"]
    for number in range(SITES):
        place = f"{52.2 + dice.uniform(-spread, spread):.4f}, {-2.9 + dice.uniform(-spread, spread) * 1.6:.4f}"
        own = "10:00-15:00" if dice.random() < hours else ""
        sites.append(f's{number},Site {number},"{place}",{dice.randint(max(1, hives - 3), hives + 3)},{own}')
        wanted += [f"s{number},{kind},,{dice.choice(['must', 'want'])}" for kind in dice.sample(KINDS, jobs)]
    (folder / "sites.csv").write_text("\n".join(sites) + "\n", encoding="utf-8")
    (folder / "jobs.csv").write_text("\n".join(wanted) + "\n", encoding="utf-8")
