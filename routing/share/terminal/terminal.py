"""The round and the before-dark answer on the terminal: no colour, 80 columns are enough, and it reads well piped.

Texts go in as `rich.text.Text`, so square brackets and emoji codes in a name are only characters.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from routing.round import FitAnswer, Round
from routing.share.safety.safe import plain_text
from routing.share.terminal.day_line_text import day_line_lines
from routing.share.wording.beside import listed
from routing.share.wording.brief import FIRST
from routing.share.wording.day_line import day_line
from routing.share.wording.sheet import Sheet, round_sheet
from routing.share.wording.sheet_crew import CrewSheet, LoadLine
from routing.share.wording.sheet_left_out import LeftOutSheet
from routing.share.wording.words import date_words

_MARK_WIDTH = 4

MOST_BROKEN = 6
"""So many things that an order breaks are told on one screen."""


def print_round(round_: Round, console: Console, *, title: str = "", beside: Sequence[str] = ()) -> None:
    """Print itineraries, load lists, what is left out, proof, estimates and cautions to `console`.

    `title` stands in place of the round's own; `beside` is told in the answer, after when to leave.
    """
    sheet = round_sheet(round_)
    _line(console, title or f"{sheet.title}, {sheet.farm}", "bold")
    for line in (*sheet.answer[:FIRST], *beside, *sheet.answer[FIRST:]):
        _line(console, line)
    console.print()
    _line(console, f"From {sheet.origin}. {sheet.visits}")
    if sheet.even:
        _line(console, sheet.even)
    for text in sheet.chance:
        _line(console, text)
    for index, crew in enumerate(sheet.crews):
        _print_crew(console, crew, day_line_lines(day_line(round_, index, crew)))
    if sheet.left_out:
        _heading(console, "Left out")
        for left in sheet.left_out:
            _print_left_out(console, left)
    _heading(console, sheet.proof)
    _line(console, sheet.proof_text)
    _print_end(console, sheet)


def print_fit(answer: FitAnswer, console: Console) -> None:
    """Print the answer to "all done before dark?" with its proof, and the order where everything fits."""
    word = "YES" if answer.fits else "NO"
    question = "is everything done before dark?"
    _line(console, f"{date_words(answer.date)}: {question} {word}.", "bold")
    for text in answer.lines:
        if not text.startswith("No: "):  # said above
            _line(console, plain_text(text))
    _line(console, f"How this is known: {answer.proof.value}.")
    if answer.round is None:
        return
    sheet = round_sheet(answer.round)
    for crew in sheet.crews:
        _heading(console, crew.title)
        order = [f"{stop.mark} {stop.name} ({stop.finish}, {stop.light})" for stop in crew.stops]
        _bullets(console, [crew.leave, *order, f"Home {crew.home}"])
    for title, lines in (("Faults of the program", sheet.faults), ("What is estimated", sheet.estimates)):
        if lines:
            _heading(console, title)
            _bullets(console, lines)


def print_broken(title: str, lines: Sequence[str], console: Console, *, full: bool) -> None:
    """Print why an order breaks the rules, the first few lines and the last, a list in it an item a line."""
    _line(console, title, "bold")
    *why, last = lines
    shown = why if full else why[:MOST_BROKEN]
    _bullets(console, [plain_text(text) for text in shown])
    if len(why) > len(shown):
        _line(console, f"and {len(why) - len(shown)} more: add --full.")
    for text in listed(last):
        _line(console, text)


def _print_crew(console: Console, crew: CrewSheet, day: Sequence[str]) -> None:
    _heading(console, crew.title)
    _line(console, crew.under)
    for label, value in crew.facts:
        _line(console, f"{label}: {value}")
    console.print()
    for text in day:
        _line(console, text)
    _print_itinerary(console, crew)
    for trip in crew.trips:
        _print_load(console, trip.title, trip.out)
        _print_load(console, trip.back_title, trip.back)
        _bullets(console, trip.fullest)
        if trip is not crew.trips[-1]:
            console.print()
    if crew.call_ins:
        _heading(console, "Working alone: call by")
        _bullets(console, [f"{time}  {where}" for time, where in crew.call_ins])


def _print_itinerary(console: Console, crew: CrewSheet) -> None:
    console.print()
    heads = ("No.", "Site", "Drive", "Arrive", "Start", "Finish", "Light left", "Load left")
    _row(console, [Text(head, style="bold") for head in heads])
    for stop in crew.stops:
        times = (_drive(stop.drive, stop.drive_note), stop.arrive, stop.start, stop.finish, stop.light_left)
        cells = [Text(stop.mark, style="bold"), Text(stop.name, style="bold")]
        _row(console, [*cells, *(Text(time) for time in times), Text(stop.on_board)])
        for line in (*stop.jobs, *stop.details):
            console.print(Padding(Text(line), (0, 0, 0, _MARK_WIDTH + 3)))
    home = ("", "Home", _drive(crew.home_drive, crew.home_drive_note), crew.home)
    _row(console, [Text(cell, style="bold" if cell == "Home" else "") for cell in home])
    console.print()


def _row(console: Console, cells: list[Text]) -> None:
    """Print one line of the itinerary; a grid for each line keeps the columns and frees the lines between them."""
    grid = Table.grid(expand=True, padding=(0, 1, 0, 0))
    grid.add_column(width=_MARK_WIDTH)
    grid.add_column(ratio=1, overflow="fold")
    for width in (11, 8, 8, 8, 7, 9):
        grid.add_column(width=width, justify="right")
    grid.add_row(*cells)
    console.print(grid)


def _drive(words: str, note: str) -> str:
    return f"est. {words}" if note else words


def _print_load(console: Console, title: str, lines: tuple[LoadLine, ...]) -> None:
    if not lines:
        return
    table = Table(box=SIMPLE_HEAD, padding=(0, 2, 0, 0), pad_edge=False, show_edge=False, header_style="bold")
    table.add_column(title, overflow="fold")
    for heading in ("Amount", "Packs", "Weight", "Space"):
        table.add_column(heading, justify="right", overflow="fold")
    for line in lines:
        table.add_row(*(Text(cell) for cell in (line.name, line.amount, line.packs, line.weight, line.space)))
    console.print(table)
    console.print()


def _print_left_out(console: Console, left: LeftOutSheet) -> None:
    _line(console, f"\N{MULTIPLICATION SIGN} {left.name}: {left.reason} ({left.standing})", "bold")
    _bullets(console, left.jobs)
    lines = [left.text, left.cheapest]
    lines += left.remedies
    for line in lines:
        if line:
            console.print(Padding(Text(line), (0, 0, 0, 4)))


def _print_end(console: Console, sheet: Sheet) -> None:
    for title, lines in sheet.end:
        if lines:
            _heading(console, title)
            _bullets(console, lines)


def _heading(console: Console, text: str) -> None:
    console.print()
    _line(console, text, "bold")


def _line(console: Console, text: str, style: str = "") -> None:
    console.print(Text(text, style=style))


def _bullets(console: Console, lines: Iterable[str]) -> None:
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=3, justify="right")
    grid.add_column(overflow="fold")
    for line in lines:
        grid.add_row(Text("-"), Text(line))
    console.print(grid)
