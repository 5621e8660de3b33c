"""The commands of a log that is there: from when it counts, read it again, undo, erase."""

from __future__ import annotations

from typing import Annotated

import typer

from routing import season, stages
from routing.cli.farms import farm_of
from routing.cli.log_shared import begun_words, has_log_in
from routing.cli.options import Folder, date_of
from routing.cli.telling import console, tell_set_aside, told_plainly
from routing.errors import AskedError
from routing.share import terminal

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def begin(
    folder: Folder,
    counts_from: Annotated[str, typer.Option("--counts-from", help="From when the log is complete: YYYY-MM-DD.")],
) -> None:
    """Say from when the log is complete: what was due since and is not in it counts as not done."""
    with told_plainly():
        farm = farm_of(folder)
        begins = date_of(counts_from, farm, "--counts-from")
        season.log.Log.open(folder).begin(begins)
        terminal.print_lines(begun_words(begins), console())


@commands.command("list")
def list_entries(
    folder: Folder,
    site: Annotated[str, typer.Option("--site", help="Only this site.")] = "",
    undone: Annotated[bool, typer.Option("--undone", help="Only what was undone.")] = False,
) -> None:
    """Print the log, oldest first."""
    with told_plainly():
        log = season.log.Log.open(folder) if has_log_in(folder) else None
        record = log.record() if log else season.entries.Record()
        if not site:  # reading the farm tells it
            tell_set_aside(record.set_aside)
        entries = (log.undone() if log else ()) if undone else record.entries
        named = stages.read.site_in(farm_of(folder), site) if site else ""
        terminal.print_log([entry for entry in entries if named in {"", entry.site}], console())
        cancelled = [] if undone else [gone for gone in record.cancellations if named in {"", gone.site}]
        terminal.print_lines((terminal.entry_line(gone) for gone in cancelled), console())


@commands.command()
def undo(folder: Folder) -> None:
    """Undo what the last command wrote, all of it. It is marked, not erased."""
    with told_plainly():
        if not has_log_in(folder):
            raise AskedError(f"{folder} has no log yet: there is nothing to undo")
        terminal.print_lines(
            (f"Undone: {terminal.entry_line(gone)}" for gone in season.log.Log.open(folder).undo()), console()
        )


@commands.command()
def erase(
    folder: Folder,
    before: Annotated[str, typer.Option("--before", help="Erase what is older than this date: YYYY-MM-DD.")],
) -> None:
    """Erase old entries for good. Records of medicines younger than five years are refused: the law asks for them."""
    with told_plainly():
        farm = farm_of(folder)
        if not has_log_in(folder):
            raise AskedError(f"{folder} has no log yet: there is nothing to erase")
        typer.echo(f"{season.log.Log.open(folder).erase_before(date_of(before, farm))} entries erased.")
