"""The commands of the log: write down what was done, read it again, undo, export and import."""

from __future__ import annotations

import datetime as dt
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated
from zoneinfo import ZoneInfo

import typer

from routing.cli.options import (
    AsJson,
    Folder,
    Replace,
    amount_of,
    clock_of,
    console,
    date_of,
    farm_of,
    say,
    say_json,
    tell_paths,
    tell_set_aside,
    told_plainly,
)
from routing.errors import AskedError
from routing.farm.faults import quoted

if TYPE_CHECKING:
    from routing.farm.models import Farm

log_app = typer.Typer(
    help="Write down what was done, where, how long it took and what was seen; read it again.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

Site = Annotated[str, typer.Option("--site", help="A site of sites.csv by its id or name, or all.")]
CountsFrom = Annotated[
    str,
    typer.Option(
        "--counts-from",
        help="For the first entry: from when the log is complete, YYYY-MM-DD or today. What was due before that and is "
        "not in it is not known, and not planned. Asked for where a terminal can answer; else the day of the entry.",
    ),
]
Day = Annotated[str, typer.Option("--on", help="The date it was done: YYYY-MM-DD or today, in the farm's time zone.")]


@log_app.command()
def add(
    folder: Folder,
    site: Site,
    kind: Annotated[str, typer.Option("--kind", help="A job kind by its id or name, or an event: storm.")],
    on: Day = "today",
    counts_from: CountsFrom = "",
    time: Annotated[str, typer.Option("--time", help="When it was finished: 14:30.")] = "",
    minutes: Annotated[float | None, typer.Option("--minutes", help="Minutes on site for this job.")] = None,
    crew: Annotated[str, typer.Option("--crew", help="Who did it.")] = "",
    people: Annotated[int | None, typer.Option("--people", help="How many people.")] = None,
    hives: Annotated[int | None, typer.Option("--hives", help="How many hives.")] = None,
    partly: Annotated[bool, typer.Option("--partly", help="Begun but not finished: it stays due.")] = False,
    used: Annotated[list[str] | None, typer.Option("--used", help="What was used, in units: fondant=12.5")] = None,
    seen: Annotated[
        list[str] | None, typer.Option("--seen", help="What was seen, with the number of colonies: queen-cells=2")
    ] = None,
    stores_kg: Annotated[float | None, typer.Option("--stores-kg", help="Stores of an average colony, kg.")] = None,
    queen_cells: Annotated[int | None, typer.Option("--queen-cells", help="How many queen cells.")] = None,
    note: Annotated[str, typer.Option("--note", help="Anything else.")] = "",
    product: Annotated[str, typer.Option("--product", help="Medicine: the product.")] = "",
    batch: Annotated[str, typer.Option("--batch", help="Medicine: the batch.")] = "",
    dose: Annotated[str, typer.Option("--dose", help="Medicine: the dose, as on the label.")] = "",
    amount: Annotated[str, typer.Option("--amount", help="Medicine: how much in all.")] = "",
    withdrawal_days: Annotated[
        int | None, typer.Option("--withdrawal-days", help="Medicine: honey withdrawal.")
    ] = None,
    days_in: Annotated[
        int | None, typer.Option("--days-in", help="Medicine: days the label says strips stay in.")
    ] = None,
    colonies: Annotated[str, typer.Option("--colonies", help="Medicine: which colonies.")] = "",
    given_by: Annotated[str, typer.Option("--given-by", help="Medicine: who gave it.")] = "",
    bought_on: Annotated[str, typer.Option("--bought-on", help="Medicine: date of purchase.")] = "",
    supplier: Annotated[str, typer.Option("--supplier", help="Medicine: who sold it.")] = "",
    disposed_on: Annotated[str, typer.Option("--disposed-on", help="Medicine: date of disposal.")] = "",
    disposal: Annotated[str, typer.Option("--disposal", help="Medicine: how the rest was disposed of.")] = "",
) -> None:
    """Write down one job that was done, or an event such as a storm."""
    medicine: dict[str, object] = {
        "product": product,
        "batch": batch,
        "dose": dose,
        "amount": amount,
        "withdrawal_days": withdrawal_days,
        "days_in": days_in,
        "colonies": colonies,
        "given_by": given_by,
        "bought_on": bought_on,
        "supplier": supplier,
        "disposed_on": disposed_on,
        "disposal": disposal,
    }
    with told_plainly():
        farm = farm_of(folder)
        for key, option in (("bought_on", "--bought-on"), ("disposed_on", "--disposed-on")):
            medicine[key] = date_of(str(medicine[key]), farm, option) if medicine[key] else None
        from routing.season.checked import entry_cautions, new_entries  # noqa: PLC0415
        from routing.season.csv_files import seen_of  # noqa: PLC0415
        from routing.season.log import Log  # noqa: PLC0415
        from routing.share.terminal.season_terminal import entry_line, print_lines  # noqa: PLC0415

        given = {
            **_plainly(seen_of, seen or []),
            "date": date_of(on, farm),
            "time": clock_of(time, "--time") if time else None,
            "kind": kind,
            "minutes": minutes,
            "crew": crew,
            "people": people,
            "hives": hives,
            "partly": partly,
            "materials": _amounts(used or []),
            "stores_kg": stores_kg,
            "queen_cells": queen_cells,
            "note": note,
            "medicine": medicine if any(value not in {"", None} for value in medicine.values()) else None,
        }
        entries = new_entries(farm, _today(farm), site, given)
        begins = _begins(farm, counts_from, entries[0].date if entries else _today(farm))
        log = Log.open(folder)
        if begins is not None:
            log.begin(begins)
        log.add_all(entries)
        print_lines((f"Written: {entry_line(entry)}" for entry in entries), console())
        print_lines(entry_cautions(farm, entries), console())
        print_lines(_begun_words(begins), console())


@log_app.command()
def begin(
    folder: Folder,
    counts_from: Annotated[str, typer.Option("--counts-from", help="From when the log is complete: YYYY-MM-DD.")],
) -> None:
    """Say from when the log is complete: what was due since and is not in it counts as not done."""
    with told_plainly():
        farm = farm_of(folder)
        from routing.season.log import Log  # noqa: PLC0415
        from routing.share.terminal.season_terminal import print_lines  # noqa: PLC0415

        begins = date_of(counts_from, farm, "--counts-from")
        Log.open(folder).begin(begins)
        print_lines(_begun_words(begins), console())


@log_app.command("list")
def list_entries(
    folder: Folder,
    site: Annotated[str, typer.Option("--site", help="Only this site.")] = "",
    undone: Annotated[bool, typer.Option("--undone", help="Only what was undone.")] = False,
) -> None:
    """Print the log, oldest first."""
    with told_plainly():
        from routing.farm.naming import site_named  # noqa: PLC0415
        from routing.season.entries import Record  # noqa: PLC0415
        from routing.season.log import Log  # noqa: PLC0415
        from routing.share.terminal.season_terminal import entry_line, print_lines, print_log  # noqa: PLC0415

        log = Log.open(folder) if has_log_in(folder) else None
        record = log.record() if log else Record()
        if not site:  # reading the farm tells it
            tell_set_aside(record.set_aside)
        entries = (log.undone() if log else ()) if undone else record.entries
        named = site_named(farm_of(folder), site) if site else ""
        print_log([entry for entry in entries if named in {"", entry.site}], console())
        cancelled = [] if undone else [gone for gone in record.cancellations if named in {"", gone.site}]
        print_lines((entry_line(gone) for gone in cancelled), console())


@log_app.command()
def undo(folder: Folder) -> None:
    """Undo what the last command wrote, all of it. It is marked, not erased."""
    with told_plainly():
        from routing.season.log import Log  # noqa: PLC0415
        from routing.share.terminal.season_terminal import entry_line, print_lines  # noqa: PLC0415

        if not has_log_in(folder):
            raise AskedError(f"{folder} has no log yet: there is nothing to undo")
        print_lines((f"Undone: {entry_line(gone)}" for gone in Log.open(folder).undo()), console())


@log_app.command("export")
def export_csv(
    folder: Folder,
    out: Annotated[Path | None, typer.Option("--out", help="The file. Default: log.csv in the farm folder.")] = None,
    replace: Replace = False,
) -> None:
    """Write the log as a CSV file."""
    with told_plainly():
        from routing.output.places import Ground  # noqa: PLC0415
        from routing.output.single import write_files  # noqa: PLC0415
        from routing.season.csv_files import entries_csv  # noqa: PLC0415
        from routing.season.log import Log  # noqa: PLC0415

        has_log_in(folder)
        path, option = (out, "--out") if out is not None else (folder / "log.csv", "")
        ground = Ground(folder, replace=replace)
        record = Log.record_of(folder)
        tell_set_aside(record.set_aside)
        tell_paths(write_files({path: entries_csv(record.entries)}, ground, options={path: option}), "Written: ")


@log_app.command("import")
def import_csv(
    folder: Folder,
    file: Annotated[Path, typer.Argument(help="A CSV file as export writes it.")],
    counts_from: CountsFrom = "",
) -> None:
    """Add the entries of a CSV file: all of them, or none where one has a fault. Known ones are passed over."""
    with told_plainly():
        farm = farm_of(folder)
        from routing.farm.ways import ways_of  # noqa: PLC0415
        from routing.farm.year_words import EVENTS  # noqa: PLC0415
        from routing.season.csv_files import read_entries, unknown_names  # noqa: PLC0415
        from routing.season.log import Log  # noqa: PLC0415

        entries = read_entries(file, ways_of(farm.time_zone))
        strange = unknown_names(entries, [site.id for site in farm.sites], [*farm.job_kinds, *EVENTS], farm.materials)
        if strange:
            say(f"warning: {strange}", err=True)
        oldest = min((entry.date for entry in entries), default=_today(farm))
        begins = _begins(farm, counts_from, oldest)
        log = Log.open(folder)
        if begins is not None:
            log.begin(begins)
        new = log.add_all(entries)
        typer.echo(f"{new} new entries written, {len(entries) - new} were there already.")
        for line in _begun_words(begins):
            say(line)


@log_app.command()
def erase(
    folder: Folder,
    before: Annotated[str, typer.Option("--before", help="Erase what is older than this date: YYYY-MM-DD.")],
) -> None:
    """Erase old entries for good. Records of medicines younger than five years are refused: the law asks for them."""
    with told_plainly():
        farm = farm_of(folder)
        from routing.season.log import Log  # noqa: PLC0415

        if not has_log_in(folder):
            raise AskedError(f"{folder} has no log yet: there is nothing to erase")
        typer.echo(f"{Log.open(folder).erase_before(date_of(before, farm))} entries erased.")


@log_app.command("mend")
def mend_log(folder: Folder) -> None:
    """Write a clean log in the place of a damaged one, with all that can still be read. The old file is kept."""
    with told_plainly():
        from routing.season.mend import mend, mended_lines  # noqa: PLC0415
        from routing.share.terminal.season_terminal import print_lines  # noqa: PLC0415

        if not has_log_in(folder):
            raise AskedError(f"{folder} has no log yet: there is nothing to mend")
        print_lines(mended_lines(mend(folder, dt.datetime.now(dt.UTC).date())), console())


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
        from routing.share.report.done_file import read_done_file  # noqa: PLC0415
        from routing.share.report.done_words import print_done, unknown_to  # noqa: PLC0415
        from routing.share.report.named_again import named_again  # noqa: PLC0415

        report = named_again(farm, read_done_file(file))
        from routing.stages.reports import as_reported, closes_nothing, log_report, taken  # noqa: PLC0415

        report = taken(farm, report, file.name, saved)
        if into_log and report.date > _today(farm):
            raise AskedError(f"{report.date} is still to come: the log holds what was done")
        reported = as_reported(farm, report)
        for warning in unknown_to(reported, report, file.name):
            say(f"warning: {warning}", err=True)
        if as_json:
            say_json(report.model_dump_json(indent=1) + "\n")
        else:
            print_done(report, reported, console())
        if into_log:
            typer.echo(f"Written to the log: {log_report(farm, report)} new", err=as_json)
            for line in closes_nothing(farm, report):
                say(line, err=as_json)


def _begins(farm: Farm, counts_from: str, usual: dt.date) -> dt.date | None:
    """Return from when a log that is begun now counts, None where it is there already. Raises AskedError."""
    if has_log_in(farm.folder):
        if counts_from:
            raise AskedError("the log is there already: change its beginning with outyard log begin")
        return None
    if not counts_from and _answers():
        asking = "This begins the log. From when is it complete? What was due before is not known"
        counts_from = typer.prompt(asking, default=usual.isoformat())
    return date_of(counts_from, farm, "--counts-from") if counts_from else usual


def _answers() -> bool:
    """Return whether somebody can be asked."""
    return sys.stdin.isatty()


def _begun_words(begins: dt.date | None) -> tuple[str, ...]:
    from routing.words import day_words  # noqa: PLC0415

    if begins is None:
        return ()
    told = (
        f"The log counts from {day_words(begins)}: what was due since then and is not in it is not done; whether what "
        "was due before was done is not known. Another day: outyard log begin FOLDER --counts-from DATE"
    )
    return (told,)


def _plainly[Given, Value](parse: Callable[[Given], Value], given: Given) -> Value:
    """Return what a parser makes of an option, its fault told as one line. Raises AskedError."""
    from routing.farm.values import UnfitError  # noqa: PLC0415

    try:
        return parse(given)
    except UnfitError as error:
        raise AskedError(f"--seen: {error}; write queen-cells=2") from error


def has_log_in(folder: Path) -> bool:
    """Return whether the folder has a log. Raises AskedError where there is no such folder."""
    if not os.path.isdir(folder):  # noqa: PTH112 - never raises, unlike Path.is_dir
        raise AskedError(f"there is no folder {quoted(str(folder), longest=1000)}")
    from routing.season.database import FILE  # noqa: PLC0415

    return os.path.exists(folder / FILE)  # noqa: PTH110 - likewise


def _today(farm: Farm) -> dt.date:
    return dt.datetime.now(ZoneInfo(farm.time_zone)).date()


def _amounts(used: Sequence[str]) -> dict[str, float]:
    """Return the amounts in `fondant=12.5`. Raises AskedError."""
    amounts: dict[str, float] = {}
    for word in used:
        material, amount = amount_of(word, "--used")
        if material in amounts:
            raise AskedError(f"--used {quoted(word)}: {quoted(material)} is given twice; write it once")
        amounts[material] = amount
    return amounts
