"""What the commands of the log share: whether there is one, from when it counts, and their options."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated
from zoneinfo import ZoneInfo

import typer

from routing.cli.options import date_of
from routing.errors import AskedError
from routing.farm.faults import quoted
from routing.farm.on_disk import is_folder
from routing.season.log_file import has_log
from routing.share.wording.log_lines import counts_from_words

if TYPE_CHECKING:
    from routing.farm.models import Farm

Site = Annotated[str, typer.Option("--site", help="A site by its id or name, or all.")]
CountsFrom = Annotated[
    str,
    typer.Option(
        "--counts-from",
        help="For the first entry: from when the log is complete, YYYY-MM-DD or today. What was due before that and is "
        "not in it is not known, and not planned. Asked for where a terminal can answer; else the day of the entry.",
    ),
]
Day = Annotated[str, typer.Option("--on", help="The date it was done: YYYY-MM-DD or today, in the farm's time zone.")]


def beginning(farm: Farm, counts_from: str, usual: dt.date) -> dt.date | None:
    """Return from when a log that is begun now counts, None where it is there already. Raises AskedError."""
    if has_log_in(farm.folder):
        if counts_from:
            raise AskedError("the log is there already: change its beginning with outyard log begin")
        return None
    if not counts_from and _answers():
        asking = "This begins the log. From when is it complete? What was due before is not known"
        counts_from = typer.prompt(asking, default=usual.isoformat())
    return date_of(counts_from, farm, "--counts-from") if counts_from else usual


def _answers() -> bool:
    """Return whether somebody can be asked."""
    return sys.stdin.isatty()


def begun_words(begins: dt.date | None) -> tuple[str, ...]:
    """Return what is said of a log that begins now, nothing where it was there already."""
    if begins is None:
        return ()
    return (f"{counts_from_words(begins)} Another day: outyard log begin FOLDER --counts-from DATE",)


def has_log_in(folder: Path) -> bool:
    """Return whether the folder has a log. Raises AskedError where there is no such folder."""
    if not is_folder(folder):
        raise AskedError(f"there is no folder {quoted(str(folder), longest=1000)}")
    return has_log(folder)


def today(farm: Farm) -> dt.date:
    """Return the date of now in the farm's time zone."""
    return dt.datetime.now(ZoneInfo(farm.time_zone)).date()
