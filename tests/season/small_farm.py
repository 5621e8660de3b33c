"""A farm of three sites with the rules of the year as they come, and short ways to write entries."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.season.due import Asked, DueItem, due_items
from routing.season.entries import Cancellation, Entry, Record

FARM_TOML = """\
time_zone = "Europe/London"
[base]
place = "52.0, -2.7"
[[vehicle]]
id = "van"
payload_kg = 900
space_litres = 6000
[[crew]]
id = "ash"
people = 2
vehicle = "van"
earliest_start = "07:00"
home_by = "20:00"
"""
SITES_CSV = (
    "id,name,place,hives\nash,Ash Bank,52.02 -2.72,10\nbeck,Beck Side,52.04 -2.66,8\ncote,Cote End,51.98 -2.75,12\n"
)


def write_farm(folder: Path, more: str = "", jobs: str | None = None, sites: str = SITES_CSV) -> Path:
    (folder / "farm.toml").write_text(FARM_TOML + more)
    (folder / "sites.csv").write_text(sites)
    if jobs is not None:
        (folder / "jobs.csv").write_text(jobs)
    return folder


def make_farm(folder: Path, more: str = "", jobs: str | None = None, sites: str = SITES_CSV) -> Farm:
    return read_farm(write_farm(folder, more, jobs, sites))


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def done(site: str, kind: str, date: str, **more: object) -> Entry:
    return Entry.model_validate({"site": site, "kind": kind, "date": date, **more})


def cancel(item: DueItem, date: dt.date) -> Cancellation:
    return Cancellation(
        rule=item.rule, site=item.site, due=item.due, closes_on=item.closes_on, date=date, why="not wanted"
    )


def items(farm: Farm, entries: tuple[Entry, ...], on: str, *cancelled: Cancellation) -> dict[tuple[str, str], DueItem]:
    """Return what is listed, by rule and site."""
    asked = Asked(farm, Record(entries=entries, cancellations=cancelled), day(on))
    return {(item.rule, item.site): item for item in due_items(asked)}
