"""The commands about rounds that are written already, which need no farm."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from routing.cli.telling import console, told_plainly
from routing.share import exports, terminal

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def schema() -> None:
    """Print the JSON schema of a written round."""
    sys.stdout.write(exports.round_schema())


@commands.command()
def compare(
    old: Annotated[Path, typer.Argument(help="A round.json.")], new: Annotated[Path, typer.Argument(help="Another.")]
) -> None:
    """Say what changed from one written round to another."""
    with told_plainly():
        terminal.print_difference(exports.read_round(old), exports.read_round(new), console())
