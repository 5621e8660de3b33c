"""The command that writes the season's calendar page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from routing import stages
from routing.cli.farms import farm_with_log
from routing.cli.options import Folder, On, Replace, date_of
from routing.cli.telling import tell_paths, told_plainly

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def season(
    folder: Folder,
    on: On = "today",
    out: Annotated[Path | None, typer.Option("--out", help="The file. Default: season.html in the folder.")] = None,
    replace: Replace = False,
) -> None:
    """Write a calendar page of the season.

    Sites by weeks with what is due, done and overdue, and plots of minutes and stores from the log.
    """
    with told_plainly():
        farm = farm_with_log(folder)
        path, option = (out, "--out") if out is not None else (folder / "season.html", "")
        tell_paths(stages.season_page.write_page(farm, date_of(on, farm), path, replace=replace, option=option))
