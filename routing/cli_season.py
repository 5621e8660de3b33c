"""The commands of the season's memory: `log`, `due` and `feed`."""

from __future__ import annotations

import datetime as dt
import json
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated
from zoneinfo import ZoneInfo

import typer
from typer.core import TyperGroup

from routing.command_parts import AsJson, Folder, On, console, date_of, farm_of, told_plainly
from routing.errors import AskedError

if TYPE_CHECKING:
    from routing.farm.models import Farm
    from routing.season.due import Asked


NO_LOG = (
    "There is no log yet, and jobs.csv has rows: outyard plan takes those alone, and nothing of this list, until something "
    "is logged."
)


class _ListFirst(TyperGroup):
    """A group whose first command, `list`, need not be named: `outyard due FOLDER`."""

    def parse_args(self, ctx: typer.Context, args: list[str]) -> list[str]:  # type: ignore[override]
        if args and args[0] not in {*self.commands, "--help"}:
            args = ["list", *args]
        return super().parse_args(ctx, args)


log_app = typer.Typer(
    help="Write down what was done, where, how long it took and what was seen; read it again.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
due_app = typer.Typer(
    help="List what is due, overdue and coming (outyard due FOLDER), or cancel a due date by name.",
    cls=_ListFirst,
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
Weeks = Annotated[int, typer.Option("--weeks", min=1, max=52, help="How many weeks to look ahead.")]


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
    medicine = {
        "product": product,
        "batch": batch,
        "dose": dose,
        "amount": amount,
        "withdrawal_days": withdrawal_days,
        "days_in": days_in,
        "colonies": colonies,
        "given_by": given_by,
        "bought_on": bought_on or None,
        "supplier": supplier,
        "disposed_on": disposed_on or None,
        "disposal": disposal,
    }
    with told_plainly():
        farm = farm_of(folder)
        from routing.season.checked import entry_cautions, new_entries  # noqa: PLC0415
        from routing.season.csv_files import seen_of  # noqa: PLC0415
        from routing.season.log import Log  # noqa: PLC0415
        from routing.share.season_terminal import entry_line, print_lines  # noqa: PLC0415

        given = {
            **_plainly(seen_of, seen or []),
            "date": date_of(on, farm),
            "time": time or None,
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
        from routing.share.season_terminal import print_lines  # noqa: PLC0415

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
        from routing.share.season_terminal import entry_line, print_lines, print_log  # noqa: PLC0415

        log = Log.open(folder) if _has_log(folder) else None
        record = log.record() if log else Record()
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
        from routing.share.season_terminal import entry_line, print_lines  # noqa: PLC0415

        if not _has_log(folder):
            raise AskedError(f"{folder} has no log yet: there is nothing to undo")
        print_lines((f"Undone: {entry_line(gone)}" for gone in Log.open(folder).undo()), console())


@log_app.command("export")
def export_csv(
    folder: Folder,
    out: Annotated[Path | None, typer.Option("--out", help="The file. Default: log.csv in the farm folder.")] = None,
) -> None:
    """Write the log as a CSV file."""
    with told_plainly():
        from routing.season.csv_files import entries_csv  # noqa: PLC0415
        from routing.season.log import Log  # noqa: PLC0415
        from routing.share.files import write_all  # noqa: PLC0415

        path = out or folder / "log.csv"
        for written in write_all({path.name: entries_csv(Log.record_of(folder).entries)}, path.parent):
            typer.echo(f"Written: {written}")


@log_app.command("import")
def import_csv(
    folder: Folder,
    file: Annotated[Path, typer.Argument(help="A CSV file as export writes it.")],
    counts_from: CountsFrom = "",
) -> None:
    """Add the entries of a CSV file: all of them, or none where one has a fault. Known ones are passed over."""
    with told_plainly():
        farm = farm_of(folder)
        from routing.farm.year_words import EVENTS  # noqa: PLC0415
        from routing.season.csv_files import read_entries, unknown_names  # noqa: PLC0415
        from routing.season.log import Log  # noqa: PLC0415

        entries = read_entries(file)
        strange = unknown_names(entries, [site.id for site in farm.sites], [*farm.job_kinds, *EVENTS], farm.materials)
        if strange:
            typer.echo(f"warning: {strange}", err=True)
        oldest = min((entry.date for entry in entries), default=_today(farm))
        begins = _begins(farm, counts_from, oldest)
        log = Log.open(folder)
        if begins is not None:
            log.begin(begins)
        new = log.add_all(entries)
        typer.echo(f"{new} new entries written, {len(entries) - new} were there already.")
        for line in _begun_words(begins):
            typer.echo(line)


@log_app.command()
def erase(
    folder: Folder,
    before: Annotated[str, typer.Option("--before", help="Erase what is older than this date: YYYY-MM-DD.")],
) -> None:
    """Erase old entries for good. Records of medicines younger than five years are refused: the law asks for them."""
    with told_plainly():
        farm = farm_of(folder)
        from routing.season.log import Log  # noqa: PLC0415

        if not _has_log(folder):
            raise AskedError(f"{folder} has no log yet: there is nothing to erase")
        typer.echo(f"{Log.open(folder).erase_before(date_of(before, farm))} entries erased.")


@due_app.command("list")
def list_due(folder: Folder, on: On = "today", as_json: AsJson = False) -> None:
    """List what is overdue, due and coming at each site, worst first, and what could be done in passing."""
    with told_plainly():
        farm = farm_of(folder)
        from routing.season.checked import suspects  # noqa: PLC0415
        from routing.season.due import due_items  # noqa: PLC0415
        from routing.share.season_terminal import print_due, print_lines  # noqa: PLC0415

        asked = _asked(farm, date_of(on, farm))
        items = due_items(asked)
        if as_json:
            _print_json([asdict(item) for item in items])
        else:
            rows = [str(told) for told in asked.farm.warnings if told not in farm.warnings]
            print_due(items, farm, asked.on, suspects(asked.record, asked.on), console(), rows)
            if farm.jobs and not _has_log(folder):
                print_lines((NO_LOG,), console())


@due_app.command("cancel")
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
        from routing.season.checked import cancelled  # noqa: PLC0415
        from routing.season.due import due_items  # noqa: PLC0415
        from routing.season.log import Log  # noqa: PLC0415
        from routing.share.season_terminal import entry_line, print_lines  # noqa: PLC0415

        asked = _asked(farm, date_of(on, farm))
        gone = cancelled(farm, due_items(asked), rule, site, asked.on, why)
        Log.open(folder).cancel(gone)
        print_lines((entry_line(one) for one in gone), console())


def feed(folder: Folder, on: On = "today", weeks: Weeks = 6, as_json: AsJson = False) -> None:
    """Say how long each site's stores last, when it must be fed next, and what to order for the next weeks."""
    with told_plainly():
        farm = farm_of(folder)
        from routing.season.outlook import feed_outlook  # noqa: PLC0415
        from routing.season.shopping import shopping_list  # noqa: PLC0415
        from routing.share.season_terminal import print_feed  # noqa: PLC0415

        asked = _asked(farm, date_of(on, farm))
        feeds, shopping = feed_outlook(asked, weeks), shopping_list(asked, weeks)
        if as_json:
            _print_json({"sites": [asdict(one) for one in feeds], "shopping": [asdict(one) for one in shopping]})
        else:
            print_feed(feeds, shopping, farm, asked.on, weeks, console())


def _asked(farm: Farm, on: dt.date) -> Asked:
    from routing import pipeline  # noqa: PLC0415

    return pipeline.asked(farm, on)


def _begins(farm: Farm, counts_from: str, usual: dt.date) -> dt.date | None:
    """Return from when a log that is begun now counts, None where it is there already. Raises AskedError."""
    if _has_log(farm.folder):
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
    return (
        f"The log counts from {day_words(begins)}: what was due since then and is not in it is not done; whether what "
        "was due before was done is not known. Another day: outyard log begin FOLDER --counts-from DATE",
    )


def _plainly[Given, Value](parse: Callable[[Given], Value], given: Given) -> Value:
    """Return what a parser makes of an option, its fault told as one line. Raises AskedError."""
    from routing.farm.values import UnfitError  # noqa: PLC0415

    try:
        return parse(given)
    except UnfitError as error:
        raise AskedError(f"--seen: {error}; write queen-cells=2") from error


def _has_log(folder: Path) -> bool:
    """Return whether the folder has a log. Raises AskedError where there is no such folder."""
    if not folder.is_dir():
        raise AskedError(f"there is no folder {folder}")
    from routing.season.database import FILE  # noqa: PLC0415

    return (folder / FILE).exists()


def _today(farm: Farm) -> dt.date:
    return dt.datetime.now(ZoneInfo(farm.time_zone)).date()


def _amounts(used: Sequence[str]) -> dict[str, str]:
    """Return the amounts in `fondant=12.5`. Raises AskedError."""
    amounts = {}
    for word in used:
        material, sign, amount = word.partition("=")
        if not sign or material in amounts:
            raise AskedError(f'--used "{word}" is not a material and an amount, once each: write fondant=12.5')
        amounts[material.strip()] = amount.strip().replace(",", ".")
    return amounts


def _print_json(value: object) -> None:
    sys.stdout.write(json.dumps(value, indent=1, default=str, ensure_ascii=False) + "\n")
