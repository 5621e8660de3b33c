"""The commands that lean on the record: the chance that a day holds, and what past visits teach."""

from __future__ import annotations

import typer

from routing import stages
from routing.cli import chance_words
from routing.cli.farms import farm_of, farm_with_log
from routing.cli.options import Folder, On, date_of
from routing.cli.road_bar import ready_roads
from routing.cli.search_shown import SearchShown
from routing.cli.telling import console, tell_again, told_plainly
from routing.share import terminal

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def chance(folder: Folder, on: On = "tomorrow") -> None:
    """Print the chance that each visit, and the day, is done in time, and what to skip when behind."""
    with told_plainly():
        farm = ready_roads(farm_of(folder))
        date = date_of(on, farm)
        with SearchShown(None).shown() as hear:
            found = stages.ask.chance(farm, date, stages.plan.Wish(progress=hear))
        tell_again(again=found.again)
        terminal.print_chances(*chance_words.of_chance(date, found), console())


@commands.command()
def learned(folder: Folder) -> None:
    """Print what past visits and drives teach about minutes, and how far each estimate leans on them."""
    with told_plainly():
        farm = farm_with_log(folder)
        terminal.print_learned(*chance_words.of_lessons(farm, stages.read.lessons_of(farm)), console())
