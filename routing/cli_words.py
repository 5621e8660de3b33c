"""What every command shares: its arguments, the farm, the date, and how faults are told."""

from __future__ import annotations

import datetime as dt
import io
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routing.errors import AskedError, CheckFailed, FarmError, OutyardError

if TYPE_CHECKING:
    from rich.console import Console

    from routing.farm.models import Farm

YES, NO, BAD_INPUT, OUR_FAULT = 0, 1, 2, 3
"""The exit codes."""

Folder = Annotated[
    Path, typer.Argument(help="The farm folder: farm.toml, sites.csv, and jobs.csv and drives.csv if any.")
]
On = Annotated[str, typer.Option("--on", help="The date: YYYY-MM-DD, today or tomorrow, in the farm's time zone.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]


def farm_of(folder: Path) -> Farm:
    """Return the farm of a folder, its warnings told on stderr. Raises FarmError."""
    from routing.farm.folder import read_farm  # noqa: PLC0415

    farm = read_farm(folder)
    for warning in farm.warnings:
        typer.echo(f"warning: {warning}", err=True)
    return farm


def date_of(text: str, farm: Farm) -> dt.date:
    """Return the date that `--on` says, in the farm's time zone. Raises AskedError."""
    from zoneinfo import ZoneInfo  # noqa: PLC0415

    today = dt.datetime.now(ZoneInfo(farm.time_zone)).date()
    words = {"today": today, "tomorrow": today + dt.timedelta(days=1)}
    if text in words:
        return words[text]
    try:
        date = dt.date.fromisoformat(text)
    except ValueError:
        date = dt.date.min
    if not dt.date(1900, 1, 1) <= date <= dt.date(2199, 12, 31):
        raise AskedError(f'--on "{text}" is not a date; write YYYY-MM-DD (1900 to 2199), today or tomorrow')
    return date


def console_out() -> Console:
    """Return the console on stdout, on which no name can stop a print."""
    from rich.console import Console  # noqa: PLC0415

    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a name must never stop a print on an old terminal
    return Console(highlight=False)


@contextmanager
def told_plainly() -> Iterator[None]:
    """Turn what went wrong into one line each on stderr and the fitting exit code."""
    try:
        yield
    except FarmError as error:
        for fault in error.faults:
            typer.echo(f"{'warning: ' if fault.warning else ''}{fault}", err=True)
        raise typer.Exit(BAD_INPUT) from None
    except CheckFailed as error:
        typer.echo(f"{error}\nThis is a fault of the program, not of your folder; nothing was written.", err=True)
        raise typer.Exit(OUR_FAULT) from None
    except OutyardError as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(BAD_INPUT) from None
