"""The commands that look at a farm folder: what is in it, and what the numbers of its jobs are."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from routing import stages
from routing.cli.farms import farm_of
from routing.cli.options import Folder
from routing.cli.telling import console, say, told_plainly
from routing.share import terminal

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def read(folder: Folder) -> None:
    """Read the farm folder and name every problem.

    Says what was understood, or one line for each problem: file, line, what is wrong, what to do.
    """
    with told_plainly():
        farm = farm_of(folder)
        hives = sum(site.hives for site in farm.sites)
        nucs = sum(site.nucs for site in farm.sites)
        say(
            f"Good: {len(farm.sites)} sites, {hives} hives, {nucs} nucs, {len(farm.jobs)} jobs, "
            f"{len(farm.crews)} crews, time zone {farm.time_zone}."
        )


@commands.command()
def kinds(
    folder: Annotated[Path | None, typer.Argument(help="A farm folder, to see its own numbers too.")] = None,
) -> None:
    """List the job kinds and their sources.

    Minutes, materials, light, warmth and people of each, with the source of every number.
    """
    with told_plainly():
        known = farm_of(folder).job_kinds if folder else stages.read.known_kinds()
        terminal.print_kinds(tuple(known.values()), console())
