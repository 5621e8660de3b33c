"""What the commands share: arguments, and the dates, times and amounts that options give."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated
from zoneinfo import ZoneInfo

import typer

from routing.errors import AskedError
from routing.farm.faults import quoted
from routing.farm.unfit import DoubtfulError, UnfitError
from routing.farm.values import number
from routing.farm.ways import ways_of
from routing.farm.written_forms import date_written, time_written

if TYPE_CHECKING:
    from routing.farm.models import Farm

MOST_UNITS = 1_000_000.0
"""More of a material than this is taken for a slip of the finger."""

Folder = Annotated[Path, typer.Argument(help="The farm folder: farm.toml, and sites.csv or the tables in a workbook.")]
On = Annotated[
    str, typer.Option("--on", help="The date, as in the farm's files, or today or tomorrow, in the farm's time zone.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]
WithPrivate = Annotated[
    bool, typer.Option("--with-private", help="Put gate codes, phones and private notes into the crews' pages.")
]
LONGEST_SEARCH_SECONDS = 24 * 3600
Seconds = Annotated[
    int | None,
    typer.Option(
        "--seconds",
        min=1,
        max=LONGEST_SEARCH_SECONDS,
        help="Search for so long by the clock; the answer then depends on the computer.",
    ),
]
Replace = Annotated[
    bool,
    typer.Option("--replace", help="Replace files in the way too that outyard did not write or you changed since."),
]
Nicknames = Annotated[bool, typer.Option("--nicknames", help="Call the sites Site A, Site B in the crews' pages.")]
Full = Annotated[bool, typer.Option("--full", help="Print everything: notes, weights, reasons, remedies, cautions.")]


def date_of(text: str, farm: Farm, option: str = "--on") -> dt.date:
    """Return the date that was asked for, or that an option of another name gives. Raises AskedError."""
    today = dt.datetime.now(ZoneInfo(farm.time_zone)).date()
    words = {"today": today, "tomorrow": today + dt.timedelta(days=1)}
    if text in words:
        return words[text]
    try:
        date = dt.date.fromisoformat(text)
    except ValueError:
        date = _date_in_words(text, farm, option)
    if not dt.date(1900, 1, 1) <= date <= dt.date(2199, 12, 31):
        raise AskedError(f"{option} {quoted(text)} is not a date; write YYYY-MM-DD (1900 to 2199), today or tomorrow")
    return date


def _date_in_words(text: str, farm: Farm, option: str) -> dt.date:
    """Return a date in the forms of the farm's country, the least date where it is none. Raises AskedError in doubt."""
    try:
        return date_written(text, ways_of(farm.time_zone))
    except DoubtfulError as error:
        raise AskedError(f"{option} {quoted(text)} {error}") from None
    except UnfitError:
        return dt.date.min


def clock_of(text: str, option: str) -> dt.time:
    """Return the time of day that an option gives, in the farm's time zone. Raises AskedError."""
    try:
        return time_written(text)
    except UnfitError:
        raise AskedError(f"{option} {quoted(text)} is not a time of day; write HH:MM, 00:00 to 23:59") from None


def amount_of(text: str, option: str) -> tuple[str, float]:
    """Return the material and how much of it that an option such as `fondant=12.5` gives. Raises AskedError."""
    material, sign, amount = text.partition("=")
    if not sign or not material.strip():
        raise AskedError(f"{option} {quoted(text)} is not a material and an amount: write fondant=12.5")
    try:
        return material.strip(), number(0, MOST_UNITS)(amount.strip())
    except UnfitError as error:
        raise AskedError(f"{option} {quoted(text)}: the amount {error}; write fondant=12.5") from None
