"""A planned round on one screen: the answer, the stops, what to load, what is left out; `--full` tells all else."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from routing.round import ReasonCode, Round
from routing.share.safety.safe import plain_name
from routing.share.wording.sheet import Sheet, round_sheet
from routing.share.wording.sheet_crew import CrewSheet, job_words
from routing.share.wording.words import count

FIRST = 2
"""So many lines of the answer come before what it is beside another plan: what is done, when to leave."""

MOST_LEFT_OUT = 12
"""So many left-out visits have a line each; the rest are counted."""

_KEPT = ("Break", "Wait", "Last of the day")
"""How the details begin that are told on one screen, too."""

_ALWAYS_IN_FULL = "Stings"


def print_brief(round_: Round, console: Console, *, title: str = "", beside: Sequence[str] = ()) -> None:
    """Print the round on about one screen for a dozen stops.

    `title` stands in place of the round's own; `beside` is told in the answer, after when to leave.
    """
    sheet = round_sheet(round_)
    _line(console, title or f"{sheet.title}, {sheet.farm}", "bold")
    for line in (*sheet.answer[:FIRST], *beside, *sheet.answer[FIRST:]):
        _line(console, line)
    for text in sheet.chance:
        _line(console, text)
    _heads(console, sheet.faults, "Faults of the program")
    for crew in sheet.crews:
        _crew(console, crew)
    _left_out(console, round_)
    console.print()
    _line(console, sheet.proof_text)
    if sheet.even:
        _line(console, sheet.even)
    _heads(console, sheet.estimates, "What is estimated")
    _heads(console, sheet.warnings, "Warnings")
    _take_care(console, sheet)
    console.print()
    _line(console, "All else (notes, weights, reasons, what would help, cautions): add --full.")


def _crew(console: Console, crew: CrewSheet) -> None:
    console.print()
    _line(console, f"{crew.title} ({crew.who})", "bold")
    facts = {label: value for label, value in crew.facts if label in {"Load from", "Driving", "Least light left"}}
    _line(console, f"{'; '.join(f'{label} {value}' for label, value in facts.items())}.")
    _row(console, ("No.", "Site", "Drive", "Arrive", "Finish", "Light left"), bold=True)
    for stop in crew.stops:
        drive = f"est. {stop.drive}" if stop.drive_note else stop.drive
        _row(console, (stop.mark, stop.name, drive, stop.arrive, stop.finish, stop.light_left))
        kept = (line.removesuffix(".") for line in stop.details if line.startswith(_KEPT))
        _under(console, "; ".join((*stop.jobs, *kept)))
    drive = f"est. {crew.home_drive}" if crew.home_drive_note else crew.home_drive
    _row(console, ("", "Home", drive, crew.home, "", ""))
    for trip in crew.trips:
        amounts = [f"{line.name} {line.amount}{f' ({line.packs})' if line.packs else ''}" for line in trip.out]
        _line(console, f"{trip.title}: {', '.join(amounts) or 'nothing'}.")
    if crew.call_ins:
        calls = "; ".join(f"{time} {where}" for time, where in crew.call_ins)
        _line(console, f"Working alone, call by: {calls}.")


def _left_out(console: Console, round_: Round) -> None:
    due = [left for left in round_.left_out if left.reason is not ReasonCode.NOT_DUE]
    told = [left for left in due if left.reason is not ReasonCode.NOT_ASKED]
    unasked = dict.fromkeys(plain_name(left.name) for left in due if left.reason is ReasonCode.NOT_ASKED)
    if due:
        console.print()
        _line(console, "Left out", "bold")
    for left in told[:MOST_LEFT_OUT]:
        jobs = "; ".join(job_words(job) for job in left.jobs)
        _line(console, f"\N{MULTIPLICATION SIGN} {plain_name(left.name)}: {jobs}: {left.reason.value}.")
    if len(told) > MOST_LEFT_OUT:
        _line(console, f"and {len(told) - MOST_LEFT_OUT} more.")
    if unasked:
        # Whoever gave the order knows what it leaves out; musts among it stand in the answer.
        _line(console, f"\N{MULTIPLICATION SIGN} Not in your order: {', '.join(unasked)}.")
    later = sum(len(left.jobs) for left in round_.left_out if left.reason is ReasonCode.NOT_DUE)
    if later:
        _line(console, f"{count(later, 'job')} not due yet.")


def _take_care(console: Console, sheet: Sheet) -> None:
    """Print what to do about stings in full, and each other caution by its first words, once, with its stops."""
    full = [care for care in sheet.care if care.lead == _ALWAYS_IN_FULL]
    named: dict[str, str] = {}
    for care in sheet.care:
        if care not in full:
            # Of two cautions that begin alike the stops of the first would be told of both: so of neither.
            named[care.lead] = "" if care.lead in named or not care.where else f" ({care.where})"
    also = (f"Also: {'; '.join(f'{lead}{where}' for lead, where in named.items())}.",) if named else ()
    _heads(console, (*(care.words for care in full), *also), "Take care")


def _heads(console: Console, lines: tuple[str, ...], title: str) -> None:
    if lines:
        console.print()
        _line(console, title, "bold")
    for line in lines:
        console.print(Padding(Text(f"- {line}"), (0, 0, 0, 2), expand=False))


def _row(console: Console, cells: tuple[str, ...], *, bold: bool = False) -> None:
    grid = Table.grid(expand=True, padding=(0, 1, 0, 0))
    grid.add_column(width=4)
    grid.add_column(ratio=1, overflow="fold")
    for width in (11, 6, 6, 10):
        grid.add_column(width=width, justify="right")
    style = "bold" if bold else ""
    grid.add_row(*(Text(cell, style=style if number != 1 else "bold") for number, cell in enumerate(cells)))
    console.print(grid)


def _under(console: Console, text: str) -> None:
    console.print(Padding(Text(text), (0, 0, 0, 7), expand=False))


def _line(console: Console, text: str, style: str = "") -> None:
    console.print(Text(text, style=style))
