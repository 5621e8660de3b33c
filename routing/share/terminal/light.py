"""The working light of each site as a table on the terminal."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from routing.daylight.sun import sun_day
from routing.daylight.windows import working_light
from routing.farm.models import Farm, LightNeed
from routing.share.safety.safe import plain_name, plain_text

_NONE = "none"
_HEADINGS = ("Civil dawn", "Sunrise", "Work from", "Work until", "Sunset", "Civil dusk", "Working light")


@dataclass(frozen=True)
class LightRow:
    """One site on one date, in words; None where the sun does not do it that day."""

    site: str
    civil_dawn: str | None
    sunrise: str | None
    work_from: str | None
    work_until: str | None
    sunset: str | None
    civil_dusk: str | None
    working_light: str | None
    """How long, such as `6 h 12`."""


def light_rows(farm: Farm, date: dt.date) -> tuple[LightRow, ...]:
    """Return the sun and the working light of every site on one date, in words, local time."""
    zone = ZoneInfo(farm.time_zone)

    def clock(moment: dt.datetime | None) -> str | None:
        return None if moment is None else f"{moment.astimezone(zone):%H:%M}"

    rows = []
    for site in farm.sites:
        sun = sun_day(site.place, date, zone)
        work = working_light(site.place, date, zone, LightNeed.DAYLIGHT, farm.rules)
        span = (
            None
            if work is None
            else int((work.closes.astimezone(dt.UTC) - work.opens.astimezone(dt.UTC)).total_seconds())
        )
        rows.append(
            LightRow(
                site=site.name,
                civil_dawn=clock(sun.civil_dawn),
                sunrise=clock(sun.sunrise),
                work_from=clock(work.opens) if work else None,
                work_until=clock(work.closes) if work else None,
                sunset=clock(sun.sunset),
                civil_dusk=clock(sun.civil_dusk),
                working_light=None if span is None else f"{span // 3600} h {span % 3600 // 60:02d}",
            )
        )
    return tuple(rows)


def light_table(rows: Sequence[LightRow], console: Console) -> None:
    """Print one line a site: dawn, sunrise, work from, work until, sunset, dusk, hours of working light."""
    table = Table(box=SIMPLE_HEAD, padding=(0, 1, 0, 0), pad_edge=False, expand=True, header_style="bold")
    table.add_column("Site", overflow="fold", ratio=1)
    for heading in _HEADINGS:
        table.add_column(heading, justify="right", min_width=5, max_width=7)
    for row in rows:
        cells = (
            *(row.civil_dawn, row.sunrise, row.work_from, row.work_until),
            *(row.sunset, row.civil_dusk, row.working_light),
        )
        shown = (_NONE if cell is None else plain_text(cell, 40) for cell in cells)
        table.add_row(Text(plain_name(row.site)), *(Text(cell) for cell in shown))
    console.print(table)
