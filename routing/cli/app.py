"""The `outyard` command: parse, call the pipeline, print, choose the exit code; nothing else.

Exit codes: 0 done or yes, 1 no (`fit`, `try`), 2 something in the input must be put right, 3 a fault of the program
itself (see `__main__.py`).
Whatever is heavy is imported inside the command that needs it, so that `--help` stays quick.
"""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path
from typing import Annotated

import typer

from routing.cli.log import done
from routing.cli.options import (
    NO,
    YES,
    AsJson,
    Folder,
    Nicknames,
    On,
    Replace,
    SearchShown,
    Seconds,
    WithPrivate,
    console,
    date_of,
    farm_as_written,
    farm_of,
    farm_with_log,
    note_round,
    ready_roads,
    say,
    say_json,
    tell_paths,
    tell_removed,
    told_plainly,
)
from routing.cli.questions import compare, explain, replan, try_order, what_if
from routing.cli.season import due_app, feed, log_app
from routing.errors import AskedError

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
app.command()(done)


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(help="A folder that does not exist yet, or is empty.")],
    xlsx: Annotated[
        bool, typer.Option("--xlsx", help="Put the tables into one workbook, farm.xlsx, with drop-downs and notes.")
    ] = False,
    places: Annotated[
        Path | None,
        typer.Option("--from", help="Take the sites from a table of places (CSV or XLSX), GPX waypoints or GeoJSON."),
    ] = None,
    base: Annotated[str, typer.Option("--base", help="With --from: where the vehicle is loaded, as a place.")] = "",
    hives: Annotated[
        int | None, typer.Option("--hives", min=0, max=5000, help="With --from: hives where the file has no number.")
    ] = None,
) -> None:
    """Write a commented farm folder to start from."""
    with told_plainly():
        from routing.farm.new_farm import new_farm  # noqa: PLC0415

        ask = typer.prompt if sys.stdin.isatty() else None
        written, warnings = new_farm(folder, xlsx=xlsx, places=places, base=base, hives=hives, ask=ask)
        for warning in warnings:
            say(f"warning: {warning}", err=True)
        tell_paths(written)


@app.command()
def read(folder: Folder) -> None:
    """Read the farm folder and name every problem.

    Says what was understood, or one line for each problem: file, line, what is wrong, what to do.
    """
    with told_plainly():
        farm = farm_of(folder)
        hives = sum(site.hives for site in farm.sites)
        nucs = sum(site.nucs for site in farm.sites)
        say(
            f"Good: {len(farm.sites)} sites, {hives} hives, {nucs} nucs, {len(farm.jobs)} jobs, "
            f"{len(farm.crews)} crews, time zone {farm.time_zone}."
        )


@app.command()
def kinds(
    folder: Annotated[Path | None, typer.Argument(help="A farm folder, to see its own numbers too.")] = None,
) -> None:
    """List the job kinds and their sources.

    Minutes, materials, light, warmth and people of each, with the source of every number.
    """
    with told_plainly():
        from routing.farm.kinds import load_catalogue  # noqa: PLC0415
        from routing.share.terminal.kinds import print_kinds  # noqa: PLC0415

        known = farm_of(folder).job_kinds if folder else load_catalogue().job_kinds
        print_kinds(tuple(known.values()), console())


@app.command()
def light(folder: Folder, on: On = "tomorrow") -> None:
    """Print the working light at each site."""
    with told_plainly():
        farm = farm_of(folder)
        from routing.share.terminal.light import light_table  # noqa: PLC0415
        from routing.stages.day import light_rows  # noqa: PLC0415

        light_table(light_rows(farm, date_of(on, farm)), console())


@app.command()
def fit(folder: Folder, on: On = "tomorrow", as_json: AsJson = False) -> None:
    """Answer whether all is done before dark.

    Exit code 0 for yes, 1 for no. A no comes with a proof in words and the minutes that are missing.
    """
    with told_plainly():
        farm = farm_of(folder)
        from routing.stages import day as pipeline  # noqa: PLC0415

        ready_roads(farm)
        answer = pipeline.fit(farm, date_of(on, farm))
        if as_json:
            say_json(answer.model_dump_json(indent=1) + "\n")
        else:
            from routing.share.terminal.terminal import print_fit  # noqa: PLC0415

            print_fit(answer, console())
    raise typer.Exit(YES if answer.fits else NO)


@app.command()
def plan(
    folder: Folder,
    on: On = "tomorrow",
    days: Annotated[int, typer.Option("--days", min=1, max=31, help="How many days in a row to plan together.")] = 1,
    out: Annotated[
        Path | None, typer.Option("--out", help="Where to write the round. Default: rounds/DATE in the farm folder.")
    ] = None,
    as_json: AsJson = False,
    sure: Annotated[
        float | None, typer.Option("--sure", help="Plan so that the day holds with this chance: 0.5 to 0.99.")
    ] = None,
    with_private: WithPrivate = False,
    nicknames: Nicknames = False,
    turns: Annotated[bool, typer.Option("--turns", help="Print what to do where on each drive, too.")] = False,
    even: Annotated[
        bool, typer.Option("--even", help="Make the longest day as short as can be found for the same jobs.")
    ] = False,
    full: Annotated[
        bool, typer.Option("--full", help="Print everything: notes, weights, reasons, remedies, cautions.")
    ] = False,
    seconds: Seconds = None,
    replace: Replace = False,
) -> None:
    """Plan, check and write the round of a day or more.

    Prints it on one screen (all of it with --full) and writes it as JSON, Markdown, a page for print, a map, and a page
    for each crew's phone. Ctrl-C ends the search and keeps the best round until then; a second Ctrl-C writes nothing.
    """
    search = SearchShown(seconds)
    with told_plainly(), search.heeded():
        if sure is not None and (even or seconds is not None):
            raise AskedError(f"--sure and {'--even' if even else '--seconds'} do not go together: leave out one")
        farm = farm_of(folder) if sure is None else farm_with_log(folder)
        from routing.stages import day as pipeline  # noqa: PLC0415

        first = date_of(on, farm)
        dates = tuple(first + dt.timedelta(days=number) for number in range(days))
        name = first.isoformat() if days == 1 else f"{first.isoformat()} to {dates[-1].isoformat()}"
        place, option = (out, "--out") if out is not None else (folder / "rounds" / name, "")
        ground = pipeline.ground(farm, replace=replace)
        pipeline.may_be_planned_into(place, farm, dates, ground, option)
        ready_roads(farm)
        if sure is None:
            from routing.planning.day import Wish  # noqa: PLC0415

            with search.shown() as hear:
                planned = pipeline.plan(farm, *dates, wish=Wish(seconds, hear, even), keep_stopped=True)
        elif days == 1:
            from routing.stages.chance import sure_round  # noqa: PLC0415

            planned = sure_round(farm, first, sure)
        else:
            raise AskedError("--sure goes with one day: leave out --days")
        from routing.share.safety.private import share as shared_of  # noqa: PLC0415

        shared = shared_of(planned, farm, with_private=with_private, nicknames=nicknames)
        roads = pipeline.background(farm, planned)
        note_round(farm, planned, shared.round)
        filled = pipeline.write_round(planned, place, ground, shared, roads, private=with_private, option=option)
        tell_removed(filled)
        if planned.proof.stopped:
            typer.echo("Stopped: this is the best round found until then, checked and written.", err=True)
        if as_json:
            from routing.share.exports.files import round_json  # noqa: PLC0415

            say_json(round_json(planned))
            return
        from routing.share.terminal.terminal import print_round  # noqa: PLC0415
        from routing.share.wording.brief import print_brief  # noqa: PLC0415

        (print_round if full else print_brief)(planned, console())
        if turns:
            from routing.share.wording.turns import print_turns  # noqa: PLC0415

            print_turns(planned, console())
        typer.echo("Written:")
        tell_paths(filled.paths, "  ")


@app.command()
def roads(folder: Folder) -> None:
    """Build the farm's road map and say what it covers."""
    with told_plainly():
        farm = farm_as_written(folder)
        ready_roads(farm)
        from routing.stages import day as pipeline  # noqa: PLC0415

        for line in pipeline.road_report(farm):
            say(line)


@app.command()
def chance(folder: Folder, on: On = "tomorrow") -> None:
    """Print the chance that each visit, and the day, is done in time, and what to skip when behind."""
    with told_plainly():
        farm = ready_roads(farm_with_log(folder))
        from routing.stages.chance import print_chance  # noqa: PLC0415

        print_chance(farm, date_of(on, farm), console())


@app.command()
def learned(folder: Folder) -> None:
    """Print what past visits and drives teach about minutes, and how far each estimate leans on them."""
    with told_plainly():
        farm = farm_with_log(folder)
        from routing.stages.chance import print_lessons  # noqa: PLC0415

        print_lessons(farm, console())


weather = typer.Typer(help="Fetch a weather forecast, or show the one that plans are made with.", no_args_is_help=True)
app.add_typer(weather, name="weather")


@weather.command()
def fetch(folder: Folder) -> None:
    """Fetch the forecast for base and keep it in the farm folder. The only command that uses the network."""
    with told_plainly():
        from routing.weather.fetch import fetch_forecast  # noqa: PLC0415

        forecast = fetch_forecast(farm_as_written(folder), dt.datetime.now(dt.UTC))
        say(f"Kept: {len(forecast.spells)} hours from {forecast.source}.")


@weather.command()
def show(folder: Folder) -> None:
    """Print the forecast that plans are made with, day by day, and its age."""
    with told_plainly():
        from routing.weather.report import forecast_lines  # noqa: PLC0415

        for line in forecast_lines(farm_as_written(folder), dt.datetime.now(dt.UTC)):
            say(line)


@app.command()
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
        from routing.output.places import may_be_written  # noqa: PLC0415
        from routing.output.single import write_files  # noqa: PLC0415
        from routing.share.pages.season_page import season_page  # noqa: PLC0415
        from routing.stages import day as pipeline  # noqa: PLC0415
        from routing.stages.chance import as_recorded  # noqa: PLC0415
        from routing.stages.record import season_of  # noqa: PLC0415

        path, option = (out, "--out") if out is not None else (folder / "season.html", "")
        ground = pipeline.ground(farm, replace=replace)
        may_be_written(path, ground, option)
        page = season_page(season_of(farm, date_of(on, farm), as_recorded(farm)))
        tell_paths(write_files({path: page}, ground, options={path: option}))


@app.command()
def schema() -> None:
    """Print the JSON schema of a written round."""
    from routing.share.exports.schema import round_schema  # noqa: PLC0415

    sys.stdout.write(round_schema())


app.command("explain")(explain)
app.command("try")(try_order)
app.command("replan")(replan)
app.command("what-if")(what_if)
app.command("compare")(compare)


@app.command()
def share(
    folder: Folder,
    on: On = "tomorrow",
    saved: Annotated[
        Path | None, typer.Option("--round", help="A saved round.json to share, instead of planning --on a date.")
    ] = None,
    gpx: Annotated[
        Path | None, typer.Option("--gpx", help="Write places, route and track as GPX to this file.")
    ] = None,
    ical: Annotated[Path | None, typer.Option("--ical", help="Write the visits as a calendar to this file.")] = None,
    geojson: Annotated[Path | None, typer.Option("--geojson", help="Write the map as GeoJSON to this file.")] = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", help="Write a table for a spreadsheet, in your country's way, to this file.")
    ] = None,
    xlsx: Annotated[
        Path | None, typer.Option("--xlsx", help="Write the round as a workbook, a sheet a crew, to this file.")
    ] = None,
    lock: Annotated[
        bool, typer.Option("--lock", help="Write pages that open only with a passphrase, which is asked for.")
    ] = False,
    with_private: WithPrivate = False,
    nicknames: Nicknames = False,
    out: Annotated[
        Path | None, typer.Option("--out", help="Where to write pages. Default: rounds/DATE in the farm folder.")
    ] = None,
    only_locked: Annotated[
        bool, typer.Option("--only-locked", help="With --lock: remove pages there that open without a passphrase.")
    ] = False,
    replace: Replace = False,
) -> None:
    """Give a checked round away: positions leave the farm folder only in the files that are asked for here."""
    with told_plainly():
        from routing.cli.share import Wanted, share_round  # noqa: PLC0415

        farm = ready_roads(farm_of(folder))
        wanted = Wanted(
            {"gpx": gpx, "ical": ical, "geojson": geojson, "csv": csv, "xlsx": xlsx},
            lock=lock,
            with_private=with_private,
            nicknames=nicknames,
            out=out,
            only_locked=only_locked,
            replace=replace,
        )
        tell_paths(share_round(farm, saved or date_of(on, farm), wanted))
