"""The commands that ask about a plan without another one being written: explain one site, and what if."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

import typer

from routing import stages
from routing.cli.farms import farm_of
from routing.cli.options import Folder, On, Seconds, clock_of, date_of
from routing.cli.road_bar import ready_roads
from routing.cli.search_shown import SearchShown
from routing.cli.telling import console, tell_again, told_plainly
from routing.errors import AskedError
from routing.share import terminal

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def explain(
    folder: Folder, site: Annotated[str, typer.Argument(help="A site, by its id or name.")], on: On = "tomorrow"
) -> None:
    """Say when one site is visited, or why not and what would save it."""
    with told_plainly():
        farm = ready_roads(farm_of(folder))
        with SearchShown(None).shown() as hear:
            found = stages.ask.explain(farm, date_of(on, farm), site, stages.plan.Wish(progress=hear))
        tell_again(again=found.again)
        terminal.print_site(found.round, found.site, console())


@commands.command()
def what_if(
    folder: Folder,
    on: On = "tomorrow",
    start: Annotated[str | None, typer.Option("--start", help="Loading may begin at, HH:MM.")] = None,
    home_by: Annotated[str | None, typer.Option("--home-by", help="Back at base by, HH:MM.")] = None,
    people: Annotated[
        int | None, typer.Option("--people", max=20, help="So many more people in each crew, e.g. 1.")
    ] = None,
    vehicle: Annotated[str | None, typer.Option("--vehicle", help="Another vehicle for the first crew.")] = None,
    trips: Annotated[
        int | None,
        typer.Option("--trips", min=1, max=6, help="How often each crew may leave base; 1: never back to load again."),
    ] = None,
    without: Annotated[
        list[str] | None, typer.Option("--without", help="Leave out this site; may be repeated.")
    ] = None,
    seconds: Seconds = None,
) -> None:
    """Plan with something changed, and compare.

    Each change alone, then all together, beside the day as it is. The folder is not changed. With --seconds, each of
    these is sought for so long.
    """
    with told_plainly():
        farm = ready_roads(farm_of(folder))
        asked = stages.ask.Changes(
            start=_time(start, "--start"),
            home_by=_time(home_by, "--home-by"),
            people=people,
            vehicle=vehicle,
            trips=trips,
            without=tuple(dict.fromkeys(without or ())),
        )
        if not any(asked.alone()):
            raise AskedError("say what to change: --start, --home-by, --people, --vehicle, --trips or --without")
        with SearchShown(seconds).shown() as hear:
            found = stages.ask.compared(farm, date_of(on, farm), asked, stages.plan.Wish(seconds, hear))
        tell_again(again=found.again)
        rows = found.rows
        terminal.print_table(rows, console())
        terminal.print_difference(rows[0][1], rows[-1][1], console())


def _time(text: str | None, option: str) -> dt.time | None:
    return None if text is None else clock_of(text, option)
