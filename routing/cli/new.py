"""The command that begins a farm folder."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from routing.cli.telling import tell_paths, told_plainly
from routing.farm.starter import write_starter

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def new(folder: Annotated[Path, typer.Argument(help="A folder that does not exist yet, or is empty.")]) -> None:
    """Write a commented farm folder to start from."""
    with told_plainly():
        tell_paths(write_starter(folder))
