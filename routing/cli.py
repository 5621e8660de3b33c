"""The `outyard` command: parse, call the pipeline, print, choose the exit code; nothing else.

Exit codes: 0 done or yes, 1 no (`fit`), 2 something in the input must be put right, 3 a fault of the program itself.
Whatever is heavy is imported inside the command that needs it, so that `--help` stays quick.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from routing.cli_season import due_app, feed, log_app
from routing.cli_words import NO, YES, AsJson, Folder, On
from routing.cli_words import console_out as _console
from routing.cli_words import date_of as _date
from routing.cli_words import farm_of as _farm
from routing.cli_words import told_plainly as _told_plainly

app = typer.Typer(
    name="outyard",
    help="Plan the round of a bee farmer's out-apiaries: which sites, in which order, what goes on the van, "
    "and whether it is all done before dark.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

app.add_typer(log_app, name="log")
app.add_typer(due_app, name="due")
app.command()(feed)


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
) -> None:
    """Plan the round of one date, check it, print it and write it as JSON, Markdown, a page for print and a map."""
    with _told_plainly():
        farm = _farm(folder)
        from routing import pipeline  # noqa: PLC0415

        date = _date(on, farm)
        planned = pipeline.plan(farm, date)
        files = pipeline.write_round(planned, out or folder / "rounds" / date.isoformat())
        if as_json:
            from routing.share.files import round_json  # noqa: PLC0415

            sys.stdout.write(round_json(planned))
            return
        from routing.share.terminal import print_round  # noqa: PLC0415

        print_round(planned, _console())
        typer.echo("Written:")
        for path in files:
            typer.echo(f"  {path}")


@app.command()
def schema() -> None:
    """Print the JSON schema of a written round."""
    from routing.share.schema import round_schema  # noqa: PLC0415

    sys.stdout.write(round_schema())
