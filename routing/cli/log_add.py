"""The command that writes down what was done."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from routing import season, stages
from routing.cli.farms import farm_of
from routing.cli.log_shared import CountsFrom, Day, Site, beginning, begun_words, today
from routing.cli.options import Folder, amount_of, clock_of, date_of
from routing.cli.telling import console, told_plainly
from routing.errors import AskedError
from routing.farm.faults import quoted
from routing.farm.unfit import UnfitError
from routing.share import terminal

if TYPE_CHECKING:
    from routing.farm.models import Farm

Used = Annotated[list[str] | None, typer.Option("--used", help="What was used, in units: fondant=12.5")]
Seen = Annotated[
    list[str] | None, typer.Option("--seen", help="What was seen, with the number of colonies: queen-cells=2")
]
StoresKg = Annotated[float | None, typer.Option("--stores-kg", help="Stores of an average colony, kg.")]
QueenCells = Annotated[int | None, typer.Option("--queen-cells", help="How many queen cells.")]
Withdrawal = Annotated[int | None, typer.Option("--withdrawal-days", help="Medicine: honey withdrawal.")]
DaysIn = Annotated[int | None, typer.Option("--days-in", help="Medicine: days the label says strips stay in.")]
Disposal = Annotated[str, typer.Option("--disposal", help="Medicine: how the rest was disposed of.")]

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
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
    used: Used = None,
    seen: Seen = None,
    stores_kg: StoresKg = None,
    queen_cells: QueenCells = None,
    note: Annotated[str, typer.Option("--note", help="Anything else.")] = "",
    product: Annotated[str, typer.Option("--product", help="Medicine: the product.")] = "",
    batch: Annotated[str, typer.Option("--batch", help="Medicine: the batch.")] = "",
    dose: Annotated[str, typer.Option("--dose", help="Medicine: the dose, as on the label.")] = "",
    amount: Annotated[str, typer.Option("--amount", help="Medicine: how much in all.")] = "",
    withdrawal_days: Withdrawal = None,
    days_in: DaysIn = None,
    colonies: Annotated[str, typer.Option("--colonies", help="Medicine: which colonies.")] = "",
    given_by: Annotated[str, typer.Option("--given-by", help="Medicine: who gave it.")] = "",
    bought_on: Annotated[str, typer.Option("--bought-on", help="Medicine: date of purchase.")] = "",
    supplier: Annotated[str, typer.Option("--supplier", help="Medicine: who sold it.")] = "",
    disposed_on: Annotated[str, typer.Option("--disposed-on", help="Medicine: date of disposal.")] = "",
    disposal: Disposal = "",
) -> None:
    """Write down one job that was done, or an event such as a storm."""
    given = {"kind": kind, "minutes": minutes, "crew": crew, "people": people, "hives": hives, "partly": partly}
    told = {"stores_kg": stores_kg, "queen_cells": queen_cells, "note": note}
    what = {"product": product, "batch": batch, "dose": dose, "amount": amount}
    how = {"withdrawal_days": withdrawal_days, "days_in": days_in, "colonies": colonies, "given_by": given_by}
    stock = {"bought_on": bought_on, "supplier": supplier, "disposed_on": disposed_on, "disposal": disposal}
    with told_plainly():
        farm = farm_of(folder)
        entered = {
            "medicine": _medicine(farm, {**what, **how, **stock}),
            **_plainly(season.csv_files.seen_of, seen or []),
            "date": date_of(on, farm),
            "time": clock_of(time, "--time") if time else None,
            "materials": _amounts(used or []),
        }
        _write_down(farm, site, {**entered, **given, **told}, counts_from)


def _write_down(farm: Farm, site: str, given: Mapping[str, object], counts_from: str) -> None:
    """Write the entries into the log, which begins with them where there is none, and tell them."""
    entries = stages.record.new_entries(farm, site, given)
    begins = beginning(farm, counts_from, entries[0].date if entries else today(farm))
    cautions = stages.record.write_down(farm, entries, begins)
    terminal.print_lines((f"Written: {terminal.entry_line(entry)}" for entry in entries), console())
    terminal.print_lines(cautions, console())
    terminal.print_lines(begun_words(begins), console())


def _medicine(farm: Farm, given: Mapping[str, object]) -> dict[str, object] | None:
    """Return what was said of a medicine, its dates read; None where nothing was. Raises AskedError."""
    dates = {
        key: date_of(str(given[key]), farm, option) if given[key] else None
        for key, option in (("bought_on", "--bought-on"), ("disposed_on", "--disposed-on"))
    }
    medicine = {**given, **dates}
    return medicine if any(value not in {"", None} for value in medicine.values()) else None


def _plainly[Given, Value](parse: Callable[[Given], Value], given: Given) -> Value:
    """Return what a parser makes of an option, its fault told as one line. Raises AskedError."""
    try:
        return parse(given)
    except UnfitError as error:
        raise AskedError(f"--seen: {error}; write queen-cells=2") from error


def _amounts(used: Sequence[str]) -> dict[str, float]:
    """Return the amounts in `fondant=12.5`. Raises AskedError."""
    amounts: dict[str, float] = {}
    for word in used:
        material, amount = amount_of(word, "--used")
        if material in amounts:
            raise AskedError(f"--used {quoted(word)}: {quoted(material)} is given twice; write it once")
        amounts[material] = amount
    return amounts
