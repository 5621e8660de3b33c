"""The working light of each site as a table on the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

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
