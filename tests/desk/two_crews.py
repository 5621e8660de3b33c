"""The example of four sites with a second crew, its day written as A B C D, and what is asked of its desk.

By its drives, 50 minutes a site: A B C D is 10 + 10 + 10 + 10 + 30 = 70 minutes of driving, home at 12:30; B A C D takes
25 + 10 + 25 + 10 + 30 = 100, home at 13:00, which is just in time; C B A D takes 20 + 10 + 10 + 35 + 30 = 105, home at 13:05; B C A D 125, home at 13:25.
"""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path
from typing import Any

from routing import stages
from routing.round import Round
from tests.conftest import HOLLIN_VALE
from tests.desk.served import Served

JUNE = dt.date(2026, 6, 10)
WHERE = {"on": JUNE.isoformat(), "days": 1}
SECOND = (
    '\n[[vehicle]]\nid = "truck"\nname = "Truck"\npayload_kg = 500\nspace_litres = 3000\n'
    '[[crew]]\nid = "two"\nname = "Two"\npeople = 1\nvehicle = "truck"\nearliest_start = "08:00"\nhome_by = "13:00"\n'
    "break_minutes = 0\n"
)
ONE, TWO = f"one|{JUNE.isoformat()}", f"two|{JUNE.isoformat()}"


def two_crews_farm(folder: Path) -> Path:
    """Return that farm, its round written."""
    shutil.copytree(HOLLIN_VALE.parent / "four-sites", folder, ignore=shutil.ignore_patterns("rounds"))
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    crew, kinds = text.index("[[crew]]"), text.index("[job_kind")
    (folder / "farm.toml").write_text(text[:kinds] + SECOND.lstrip() + "\n" + text[kinds:], encoding="utf-8")
    assert crew < kinds
    sites = [line.split(",") for line in (folder / "sites.csv").read_text(encoding="utf-8").splitlines()]
    named = [sites[0], *([row[0], row[0], *row[2:]] for row in sites[1:])]
    (folder / "sites.csv").write_text("\n".join(",".join(row) for row in named) + "\n", encoding="utf-8")
    farm = stages.read.farm_in(folder)
    own = stages.ask.try_order(farm, JUNE, "one", ["A", "B", "C", "D"])
    assert own.round is not None
    stages.write.write_plan(farm, own.round)
    return folder


def written(desk: Served) -> Round:
    found = stages.written.written_plan(desk.desk.farm(), JUNE)
    assert found is not None
    return found


def change(desk: Served, **fields: object) -> Any:
    """Change the days as the page does; `seen` is taken from the panel."""
    return desk.post("/plan/change", {**WHERE, "seen": seen(desk), **fields})


def seen(desk: Served) -> int:
    text = desk.get(f"/plan/panel?on={JUNE.isoformat()}").text
    return int(text.partition('data-seen="')[2].partition('"')[0])


def job(site: str) -> str:
    return f"jobs.csv:{'ABCD'.index(site) + 2}"
