"""The farm that a command is asked about, read from its folder, with what there is to be said of its files told."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from routing import stages
from routing.cli.telling import say, tell_set_aside

if TYPE_CHECKING:
    from routing.farm.models import Farm


def farm_of(folder: Path) -> Farm:
    """Return the farm with its forecast and the minutes that its record teaches, warnings told. Raises FarmError."""
    return stages.read.taught(farm_with_log(folder))


def farm_with_log(folder: Path) -> Farm:
    """Return the farm as it is written, for what reads the log itself; rows that the log sets aside are told."""
    farm = farm_as_written(folder)
    tell_set_aside(stages.read.set_aside(folder))
    return farm


def farm_as_written(folder: Path) -> Farm:
    """Return the farm as it is written, with its forecast, its warnings told on standard error. Raises FarmError."""
    farm = stages.read.as_written(folder)
    for warning in farm.warnings:
        say(f"warning: {warning}", err=True)
    return farm
