"""The commands about rounds that are written already, which need no farm."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from routing.cli.telling import console, told_plainly
from routing.share.exports.files import read_round
from routing.share.exports.schema import round_schema
from routing.share.wording.differences import print_difference

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def schema() -> None:
    """Print the JSON schema of a written round."""
    sys.stdout.write(round_schema())


@commands.command()
def compare(
    old: Annotated[Path, typer.Argument(help="A round.json.")], new: Annotated[Path, typer.Argument(help="Another.")]
) -> None:
    """Say what changed from one written round to another."""
    with told_plainly():
        print_difference(read_round(old), read_round(new), console())
