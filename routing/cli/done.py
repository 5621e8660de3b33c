"""The command that reads what a helper sends back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from routing import stages
from routing.cli.farms import farm_of
from routing.cli.log_shared import today
from routing.cli.options import AsJson, Folder
from routing.cli.telling import console, say, say_json, told_plainly
from routing.errors import AskedError
from routing.share import terminal

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def done(
    folder: Folder,
    file: Annotated[Path, typer.Argument(help="The report that a helper sent back, or - to read it from the input.")],
    as_json: AsJson = False,
    into_log: Annotated[bool, typer.Option("--log", help="Write what was done into the farm's log too.")] = False,
    saved: Annotated[
        Path | None,
        typer.Option(
            "--round", help="The round.json that it is of, where the farm folder does not remember that round."
        ),
    ] = None,
) -> None:
    """Read a helper's report of a round that this farm wrote, and say what was done."""
    with told_plainly():
        farm = farm_of(folder)
        found = stages.reports.read_report(farm, file, saved)
        report = found.report
        if into_log and report.date > today(farm):
            raise AskedError(f"{report.date} is still to come: the log holds what was done")
        for warning in found.warnings:
            say(f"warning: {warning}", err=True)
        if as_json:
            say_json(report.model_dump_json(indent=1) + "\n")
        else:
            terminal.print_done(report, found.farm, console())
        if into_log:
            typer.echo(f"Written to the log: {stages.reports.log_report(farm, report)} new", err=as_json)
            for line in stages.reports.closes_nothing(farm, report):
                say(line, err=as_json)
