"""The commands about a day that is not planned yet: its light, whether all fits before dark, the roads to drive."""

from __future__ import annotations

import typer

from routing import stages
from routing.cli.farms import farm_as_written, farm_of
from routing.cli.options import AsJson, Folder, On, date_of
from routing.cli.road_bar import ready_roads
from routing.cli.search_shown import SearchShown
from routing.cli.telling import NO, YES, console, say, say_json, told_plainly
from routing.share import terminal

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def light(folder: Folder, on: On = "tomorrow") -> None:
    """Print the working light at each site."""
    with told_plainly():
        farm = farm_of(folder)
        terminal.light_table(terminal.light_rows(farm, date_of(on, farm)), console())


@commands.command()
def fit(folder: Folder, on: On = "tomorrow", as_json: AsJson = False) -> None:
    """Answer whether all is done before dark.

    Exit code 0 for yes, 1 for no. A no comes with a proof in words and the minutes that are missing.
    """
    with told_plainly():
        farm = farm_of(folder)
        ready_roads(farm)
        with SearchShown(None).shown():
            answer = stages.ask.fit(farm, date_of(on, farm))
        if as_json:
            say_json(answer.model_dump_json(indent=1) + "\n")
        else:
            terminal.print_fit(answer, console())
    raise typer.Exit(YES if answer.fits else NO)


@commands.command()
def roads(folder: Folder) -> None:
    """Build the farm's road map and say what it covers."""
    with told_plainly():
        farm = farm_as_written(folder)
        ready_roads(farm)
        for line in stages.plan.road_report(farm):
            say(line)
