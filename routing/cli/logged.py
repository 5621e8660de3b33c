"""The farm's own records beside the farm: its log read with it, and a round that goes out written down."""

from __future__ import annotations

from pathlib import Path

from routing.cli.farms import farm_as_written
from routing.cli.telling import say, tell_set_aside
from routing.errors import WriteError
from routing.farm.models import Farm
from routing.round import Round
from routing.season.log import Log
from routing.stages.chance import as_recorded
from routing.stages.reports import remember_round


def taught(farm: Farm) -> Farm:
    """Return the farm with the minutes that its record teaches; rows that the log sets aside are told."""
    tell_log(farm.folder)
    return as_recorded(farm)


def farm_with_log(folder: Path) -> Farm:
    """Return the farm as it is written, for what reads the log itself; rows that the log sets aside are told."""
    farm = farm_as_written(folder)
    tell_log(folder)
    return farm


def note_round(farm: Farm, round_: Round, shown: Round) -> None:
    """Write down that a round goes out as its pages show it; where that cannot be, say what it means and go on."""
    try:
        remember_round(farm, round_, shown)
    except WriteError as error:
        say(f"warning: {error}", err=True)


def tell_log(folder: Path) -> None:
    """Tell on standard error which rows of the folder's log are set aside. Raises LogError."""
    if (folder / "log.sqlite").exists():
        tell_set_aside(Log.record_of(folder).set_aside)
