"""The `outyard` command: parse, call the pipeline, print, choose the exit code; nothing else.

Exit codes: 0 done or yes, 1 no (`fit`), 2 something in the input must be put right, 3 a fault of the program itself.
Whatever is heavy is imported inside the command that needs it, so that `--help` stays quick.
"""

from __future__ import annotations

import datetime as dt
import io
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routing.errors import AskedError, CheckFailed, FarmError, OutyardError

if TYPE_CHECKING:
    from rich.console import Console

    from routing.farm.models import Farm

YES, NO, BAD_INPUT, OUR_FAULT = 0, 1, 2, 3

app = typer.Typer(
    name="outyard",
    help="Plan the round of a bee farmer's out-apiaries: which sites, in which order, what goes on the van, "
    "and whether it is all done before dark.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

Folder = Annotated[Path, typer.Argument(help="The farm folder: farm.toml, sites.csv, jobs.csv, and drives.csv if any.")]
On = Annotated[str, typer.Option("--on", help="The date: YYYY-MM-DD, today or tomorrow, in the farm's time zone.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]


@app.command()
def new(folder: Annotated[Path, typer.Argument(help="A folder that does not exist yet, or is empty.")]) -> None:
    """Write a commented example farm folder to start from."""
    with _told_plainly():
        from routing.farm.starter import write_starter  # noqa: PLC0415

        for path in write_starter(folder):
            typer.echo(path)


@app.command()
def read(folder: Folder) -> None:
    """Read the farm folder and say what was understood, or every problem at once."""
    with _told_plainly():
        farm = _farm(folder)
        hives = sum(site.hives for site in farm.sites)
        nucs = sum(site.nucs for site in farm.sites)
        typer.echo(
            f"Good: {len(farm.sites)} sites, {hives} hives, {nucs} nucs, {len(farm.jobs)} jobs, "
            f"{len(farm.crews)} crews, time zone {farm.time_zone}."
        )


@app.command()
def kinds(
    folder: Annotated[Path | None, typer.Argument(help="A farm folder, to see its own numbers too.")] = None,
) -> None:
    """List the job kinds with their minutes, needs and the source of every number."""
    with _told_plainly():
        from routing.farm.kinds import load_catalogue  # noqa: PLC0415
        from routing.share.kinds import print_kinds  # noqa: PLC0415

        known = _farm(folder).job_kinds if folder else load_catalogue().job_kinds
        print_kinds(tuple(known.values()), _console())


@app.command()
def light(folder: Folder, on: On = "tomorrow") -> None:
    """Print when there is light to work in at each site."""
    with _told_plainly():
        farm = _farm(folder)
        from routing.pipeline import light_rows  # noqa: PLC0415
        from routing.share.light import light_table  # noqa: PLC0415

        light_table(light_rows(farm, _date(on, farm)), _console())


@app.command()
def fit(folder: Folder, on: On = "tomorrow", as_json: AsJson = False) -> None:
    """Answer: is everything due done before dark? Exit code 0 for yes, 1 for no."""
    with _told_plainly():
        farm = _farm(folder)
        from routing import pipeline  # noqa: PLC0415

        _ready_roads(farm)
        answer = pipeline.fit(farm, _date(on, farm))
        if as_json:
            sys.stdout.write(answer.model_dump_json(indent=1) + "\n")
        else:
            from routing.share.terminal import print_fit  # noqa: PLC0415

            print_fit(answer, _console())
    raise typer.Exit(YES if answer.fits else NO)


@app.command()
def plan(
    folder: Folder,
    on: On = "tomorrow",
    out: Annotated[
        Path | None, typer.Option("--out", help="Where to write the round. Default: rounds/DATE in the farm folder.")
    ] = None,
    as_json: AsJson = False,
    turns: Annotated[bool, typer.Option("--turns", help="Print what to do where on each drive, too.")] = False,
) -> None:
    """Plan the round of one date, check it, print it and write it as JSON, Markdown, a page for print and a map."""
    with _told_plainly():
        farm = _farm(folder)
        from routing import pipeline  # noqa: PLC0415

        _ready_roads(farm)
        date = _date(on, farm)
        planned = pipeline.plan(farm, date)
        files = pipeline.write_round(
            planned, out or folder / "rounds" / date.isoformat(), pipeline.background(farm, planned)
        )
        if as_json:
            from routing.share.files import round_json  # noqa: PLC0415

            sys.stdout.write(round_json(planned))
            return
        from routing.share.terminal import print_round  # noqa: PLC0415

        print_round(planned, _console())
        if turns:
            from routing.share.turns import print_turns  # noqa: PLC0415

            print_turns(planned, _console())
        typer.echo("Written:")
        for path in files:
            typer.echo(f"  {path}")


@app.command()
def roads(folder: Folder) -> None:
    """Build the road map that farm.toml names, where it is not built yet, and say what it covers."""
    with _told_plainly():
        farm = _farm(folder)
        _ready_roads(farm)
        from routing import pipeline  # noqa: PLC0415

        for line in pipeline.road_report(farm):
            typer.echo(line)


@app.command()
def schema() -> None:
    """Print the JSON schema of a written round."""
    from routing.share.schema import round_schema  # noqa: PLC0415

    sys.stdout.write(round_schema())


def _farm(folder: Path) -> Farm:
    from routing.farm.folder import read_farm  # noqa: PLC0415

    farm = read_farm(folder)
    for warning in farm.warnings:
        typer.echo(f"warning: {warning}", err=True)
    return farm


def _ready_roads(farm: Farm) -> None:
    """Build the farm's road map where it must be, with a progress bar on stderr."""
    if farm.road_map is None:
        return
    from rich.console import Console  # noqa: PLC0415
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn  # noqa: PLC0415

    from routing import pipeline  # noqa: PLC0415

    columns = (TextColumn("{task.description}", markup=False), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        bar = shown.add_task("Road map", total=1.0, visible=False)
        pipeline.ready_roads(
            farm, lambda words, share: shown.update(bar, description=words, completed=share, visible=True)
        )


def _date(text: str, farm: Farm) -> dt.date:
    from zoneinfo import ZoneInfo  # noqa: PLC0415

    today = dt.datetime.now(ZoneInfo(farm.time_zone)).date()
    words = {"today": today, "tomorrow": today + dt.timedelta(days=1)}
    if text in words:
        return words[text]
    try:
        date = dt.date.fromisoformat(text)
    except ValueError:
        date = dt.date.min
    if not dt.date(1900, 1, 1) <= date <= dt.date(2199, 12, 31):
        raise AskedError(f'--on "{text}" is not a date; write YYYY-MM-DD (1900 to 2199), today or tomorrow')
    return date


def _console() -> Console:
    from rich.console import Console  # noqa: PLC0415

    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a name must never stop a print on an old terminal
    return Console(highlight=False)


@contextmanager
def _told_plainly() -> Iterator[None]:
    """Turn what went wrong into one line each on stderr and the fitting exit code."""
    try:
        yield
    except FarmError as error:
        for fault in error.faults:
            typer.echo(f"{'warning: ' if fault.warning else ''}{fault}", err=True)
        raise typer.Exit(BAD_INPUT) from None
    except CheckFailed as error:
        typer.echo(f"{error}\nThis is a fault of the program, not of your folder; nothing was written.", err=True)
        raise typer.Exit(OUR_FAULT) from None
    except OutyardError as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(BAD_INPUT) from None
