"""A farm of a base and one invented site, planned by the product itself, for checks against published values.

Its crew takes no break, so that what is checked is what is published.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.round import Round
from routing.stages import plan as plan_stage

MIDSUMMER = dt.date(2026, 6, 19)
FARM_TOML = """\
time_zone = "{zone}"
[base]
place = "{base}"
loading_minutes = 0
[[vehicle]]
id = "van"
payload_kg = 100000
space_litres = 1000000
[[crew]]
id = "ash"
people = 1
vehicle = "van"
earliest_start = "{starts}"
home_by = "{home_by}"
break_minutes = 0
{more}
"""


def farm_with(
    folder: Path,
    jobs: Sequence[tuple[str, int]],
    *,
    zone: str = "Europe/London",
    base: str = "52.0, -2.7",
    starts: str = "00:05",
    home_by: str = "23:55",
    more: str = "",
    walking_minutes: float = 0,
    drive_minutes: float = 10,
) -> Farm:
    """Return a farm with one site, `drive_minutes` from its base, and these jobs there: kind and hives."""
    hives = max(number for _, number in jobs)
    latitude, longitude = (float(part) for part in base.split(","))
    place = f"{latitude + 0.05:.6f} {longitude:.6f}"
    (folder / "farm.toml").write_text(
        FARM_TOML.format(zone=zone, base=base, starts=starts, home_by=home_by, more=more), encoding="utf-8"
    )
    (folder / "sites.csv").write_text(
        f"id,place,hives,walking_minutes\nsite,{place},{hives},{walking_minutes:g}\n", encoding="utf-8"
    )
    (folder / "jobs.csv").write_text(
        "site,kind,hives,rank\n" + "".join(f"site,{kind},{number},must\n" for kind, number in jobs), encoding="utf-8"
    )
    (folder / "drives.csv").write_text(f"from,to,minutes\nbase,site,{drive_minutes:g}\n", encoding="utf-8")
    return read_farm(folder)


def planned(farm: Farm, date: dt.date = MIDSUMMER) -> Round:
    """Return the checked round of a date."""
    return plan_stage.plan(farm, date)


def on_site_seconds(folder: Path, kinds: Sequence[str], hives: int) -> int:
    """Return for how long one person is at a site for these jobs in one visit, as the product plans it."""
    round_ = planned(farm_with(folder, [(kind, hives) for kind in kinds]))
    ((stop,),) = (itinerary.stops for itinerary in round_.itineraries)
    return stop.on_site_seconds
