"""The commands of what is due: the list of it, a due date that is cancelled, and what must be fed."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Annotated

import typer

from routing import stages
from routing.cli.farms import farm_of
from routing.cli.log_shared import Day, Site
from routing.cli.options import AsJson, Folder, On, date_of
from routing.cli.telling import console, say_json, told_plainly
from routing.season.log_file import has_log
from routing.share import terminal
from routing.share.wording.due import NO_LOG

commands = typer.Typer(rich_markup_mode=None)

Weeks = Annotated[int, typer.Option("--weeks", min=1, max=52, help="How many weeks to look ahead.")]


@commands.command("list")
def list_due(folder: Folder, on: On = "today", as_json: AsJson = False) -> None:
    """List what is overdue, due and coming at each site, worst first, and what could be done in passing."""
    with told_plainly():
        farm = farm_of(folder)
        found = stages.due.due(farm, date_of(on, farm))
        if as_json:
            _print_json([asdict(item) for item in found.items])
        else:
            rows = [str(told) for told in found.told]
            terminal.print_due(found.items, farm, found.asked.on, found.suspects, console(), rows)
            if farm.jobs and not has_log(folder):
                terminal.print_lines((NO_LOG.format(jobs=farm.tables.jobs),), console())


@commands.command("cancel")
def cancel_due(
    folder: Folder,
    rule: Annotated[str, typer.Option("--rule", help="The rule's name, as due lists it in square brackets.")],
    site: Site,
    why: Annotated[str, typer.Option("--why", help="The reason, kept with it.")],
    on: Day = "today",
) -> None:
    """Cancel a due date by name; the next one of the rule still comes. Undo it with outyard log undo."""
    with told_plainly():
        farm = farm_of(folder)
        gone = stages.due.cancel(farm, date_of(on, farm), rule, site, why)
        terminal.print_lines((terminal.entry_line(one) for one in gone), console())


@commands.command()
def feed(folder: Folder, on: On = "today", weeks: Weeks = 6, as_json: AsJson = False) -> None:
    """Say how long each site's stores last, when it must be fed next, and what to order for the next weeks."""
    with told_plainly():
        farm = farm_of(folder)
        date = date_of(on, farm)
        feeds, shopping = stages.due.feed(farm, date, weeks)
        if as_json:
            _print_json({"sites": [asdict(one) for one in feeds], "shopping": [asdict(one) for one in shopping]})
        else:
            terminal.print_feed(feeds, shopping, farm, date, weeks, console())


def _print_json(value: object) -> None:
    say_json(json.dumps(value, indent=1, default=str, ensure_ascii=False) + "\n")
