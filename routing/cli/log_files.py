"""The commands of the log's files: export it, import one, mend a damaged one."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from routing import output, season
from routing.cli.farms import farm_of
from routing.cli.log_shared import CountsFrom, beginning, begun_words, has_log_in, today
from routing.cli.options import Folder, Replace
from routing.cli.telling import console, say, tell_paths, tell_set_aside, told_plainly
from routing.errors import AskedError
from routing.farm.settings import ways_in
from routing.farm.ways import ways_of
from routing.farm.year_words import EVENTS
from routing.share import terminal

commands = typer.Typer(rich_markup_mode=None)


@commands.command("export")
def export_csv(
    folder: Folder,
    out: Annotated[Path | None, typer.Option("--out", help="The file. Default: log.csv in the farm folder.")] = None,
    replace: Replace = False,
) -> None:
    """Write the log as a CSV file."""
    with told_plainly():
        has_log_in(folder)
        path, option = (out, "--out") if out is not None else (folder / "log.csv", "")
        ground = output.places.Ground(folder, replace=replace)
        record = season.log.Log.record_of(folder)
        tell_set_aside(record.set_aside)
        tell_paths(
            output.single.write_files(
                {path: season.csv_files.entries_csv(record.entries, ways_in(folder))}, ground, options={path: option}
            ),
            "Written: ",
        )


@commands.command("import")
def import_csv(
    folder: Folder,
    file: Annotated[Path, typer.Argument(help="A CSV file as export writes it.")],
    counts_from: CountsFrom = "",
) -> None:
    """Add the entries of a CSV file: all of them, or none where one has a fault. Known ones are passed over."""
    with told_plainly():
        farm = farm_of(folder)
        entries = season.csv_files.read_entries(file, ways_of(farm.time_zone), lambda warning: say(warning, err=True))
        strange = season.csv_files.unknown_names(
            entries, [site.id for site in farm.sites], [*farm.job_kinds, *EVENTS], farm.materials
        )
        if strange:
            say(f"warning: {strange}", err=True)
        oldest = min((entry.date for entry in entries), default=today(farm))
        begins = beginning(farm, counts_from, oldest)
        log = season.log.Log.open(folder)
        if begins is not None:
            log.begin(begins)
        new = log.add_all(entries)
        typer.echo(f"{new} new entries written, {len(entries) - new} were there already.")
        for line in begun_words(begins):
            say(line)


@commands.command("mend")
def mend_log(folder: Folder) -> None:
    """Write a clean log in the place of a damaged one, with all that can still be read. The old file is kept."""
    with told_plainly():
        if not has_log_in(folder):
            raise AskedError(f"{folder} has no log yet: there is nothing to mend")
        terminal.print_lines(
            season.mend.mended_lines(season.mend.mend(folder, dt.datetime.now(dt.UTC).date())), console()
        )
