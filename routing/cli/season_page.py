"""The command that writes the season's calendar page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from routing.cli.logged import farm_with_log
from routing.cli.options import Folder, On, Replace, date_of
from routing.cli.telling import tell_paths, told_plainly
from routing.output.places import may_be_written
from routing.output.single import write_files
from routing.share.pages.season_page import season_page
from routing.stages import write
from routing.stages.chance import as_recorded
from routing.stages.record import season_of

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
        ground = write.ground(farm, replace=replace)
        may_be_written(path, ground, option)
        page = season_page(season_of(farm, date_of(on, farm), as_recorded(farm)))
        tell_paths(write_files({path: page}, ground, options={path: option}))
