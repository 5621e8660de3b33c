"""The round as a workbook that prints well: the answer, a sheet for each crew and day, and what is left out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from routing.farm.book_out import A4, LONGEST_TEXT, book_bytes
from routing.round import Round
from routing.share.wording.sheet import Sheet, round_sheet
from routing.share.wording.sheet_crew import CrewSheet, TripSheet
from routing.share.wording.visits import NO_LINES, PrivateLines, Visit, round_visits

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

Line = tuple[str, ...]
LONGEST_TITLE = 31
"""Characters of a sheet's name. Source: the programs that read workbooks."""
NOT_IN_A_TITLE = str.maketrans(dict.fromkeys("[]:*?/\\'", " "))
STOPS = ("No.", "Site", "Drive", "Arrive", "Start", "Finish", "Light left", "Jobs", "Notes")
LOADED = ("Material", "Amount", "Packs", "Weight", "Space")
LEFT = ("Site", "Jobs", "Reason", "Why", "What would save it")
CREW_WIDTHS = (17, 22, 10, 8, 8, 8, 11, 38, 58)
CALLS_COLUMN = 7
"""The calls stand beside the load, so that a day of nine stops is one page."""
LEFT_WIDTHS = (24, 40, 16, 50, 50)
ANSWER_WIDTH = 68
"""Fits a page upright, also where the usual letters are missing and wider ones stand in (85 was cut there)."""
LETTERS_A_WIDTH = 1.0
"""Letters a unit of width, with room for words that do not break. Measured by eye on printed pages."""
LINE_POINTS, TALLEST_POINTS = 15, 409
"""Height of a line in the usual letters, and of the tallest row that there may be."""
LYING_PAGE_INCHES = (10.3, 6.5)
"""Width and height of what is printed on an A4 page on its side, inside the usual margins."""
INCHES_A_WIDTH = 7.4 / 96
SHRUNK_AT_MOST = 0.75
"""A sheet a little too long for its pages is printed smaller, so that no page holds a few lines alone."""


def round_workbook(round_: Round, private: PrivateLines = NO_LINES) -> bytes:
    """Return the round as an .xlsx workbook; every cell is text as on the sheet, and nothing is calculated."""
    sheet = round_sheet(round_)
    visits = round_visits(round_, private)

    def build(book: Workbook) -> None:
        pen = _Pen(book)
        titles: set[str] = set()
        _answer(pen, pen.sheet(_title("Round", titles), (ANSWER_WIDTH,), landscape=False), sheet)
        for crew, itinerary in zip(sheet.crews, round_.itineraries, strict=True):
            of_crew = [visit for visit in visits if visit.itinerary is itinerary]
            page = pen.sheet(_title(f"{crew.letter} {crew.name} {itinerary.date}".strip(), titles), CREW_WIDTHS)
            _crew(pen, page, crew, of_crew, sheet)
            page.fit()
        left_out = pen.sheet(_title("Left out", titles), LEFT_WIDTHS)
        _left_out(pen, left_out, sheet)
        left_out.fit()

    return book_bytes(build)


@dataclass
class _Page:
    """One sheet and the row that is written next."""

    sheet: Worksheet
    widths: Sequence[int]
    row: int = 0
    column: int = 0
    points: int = 0

    def lines(self, cells: Sequence[str]) -> int:
        """Return how many lines the fullest cell takes, counted by the width of usual letters."""
        at_most = [
            sum(max(1, math.ceil(len(line) / (LETTERS_A_WIDTH * width))) for line in text.split("\n"))
            for text, width in zip(cells, self.widths[self.column :], strict=False)
        ]
        return max(at_most, default=1)

    def skip(self) -> None:
        """Leave a row empty."""
        self.row += 1
        self.points += LINE_POINTS

    def fit(self) -> None:
        """Print a sheet on its side as wide as a page, on as few pages as it can be read on."""
        width, height = LYING_PAGE_INCHES
        scale = min(1.0, width / (sum(self.widths) * INCHES_A_WIDTH))
        self.sheet.fit_to_pages(1, max(1, math.ceil(scale * SHRUNK_AT_MOST * self.points / 72 / height)))


class _Pen:
    """Writes rows of text in the formats of one workbook."""

    def __init__(self, book: Workbook) -> None:
        self._book = book
        plain = {"text_wrap": True, "valign": "top", "num_format": "@"}
        self.text: Format = book.add_format(plain)
        self.cell: Format = book.add_format({**plain, "border": 1})
        self.title: Format = book.add_format({"bold": True, "font_size": 14, "num_format": "@"})
        self.strong: Format = book.add_format({"bold": True, "num_format": "@"})
        self.header: Format = book.add_format({**plain, "bold": True, "border": 1, "bg_color": "#E8E8E8"})

    def sheet(self, title: str, widths: Sequence[int], *, landscape: bool = True) -> _Page:
        sheet = self._book.add_worksheet(title)
        sheet.set_paper(A4)
        if landscape:
            sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.set_footer("&L&A&RPage &P of &N")
        for at, width in enumerate(widths):
            sheet.set_column(at, at, width)
        return _Page(sheet, widths)

    def row(self, page: _Page, cells: Sequence[str], look: Format) -> None:
        for at, text in enumerate(cells, page.column):
            page.sheet.write_string(page.row, at, text[:LONGEST_TEXT], look)
        lines = page.lines(cells) if look in (self.text, self.cell, self.header) else 1
        points = min(lines * LINE_POINTS, TALLEST_POINTS)
        if lines > 1:
            page.sheet.set_row(page.row, points)
        page.row += 1
        page.points += points

    def table(self, page: _Page, title: str, header: Sequence[str], rows: Sequence[Line]) -> None:
        """Write a titled table and a blank row after it; nothing where it has no row."""
        if not rows:
            return
        self.row(page, (title,), self.strong)
        self.row(page, header, self.header)
        for line in rows:
            self.row(page, line, self.cell)
        page.skip()


def _title(words: str, taken: set[str]) -> str:
    """Return a sheet's name that no other has, whatever crews are called."""
    base = " ".join(words.translate(NOT_IN_A_TITLE).split())[:LONGEST_TITLE].strip() or "Crew"
    if base.casefold() == "history":  # no sheet may be called so
        base = "History of a crew"
    name, number = base, 1
    while name.casefold() in taken:
        number += 1
        end = f" {number}"
        name = f"{base[: LONGEST_TITLE - len(end)].strip()}{end}"
    taken.add(name.casefold())
    return name


def _answer(pen: _Pen, page: _Page, sheet: Sheet) -> None:
    pen.row(page, (sheet.title,), pen.title)
    pen.row(page, (sheet.farm,), pen.strong)
    page.skip()
    for title, lines in _parts(sheet):
        if lines:
            if title:
                pen.row(page, (title,), pen.strong)
            for line in lines:
                pen.row(page, (line,), pen.text)
            page.skip()


def _parts(sheet: Sheet) -> Iterator[tuple[str, Sequence[str]]]:
    yield "", (*sheet.answer, sheet.visits, *filter(None, (sheet.even,)), *sheet.chance)
    yield "Faults of the program", sheet.faults
    yield "Warnings", sheet.warnings
    yield "Take care", sheet.cautions
    yield "Estimates", sheet.estimates
    yield sheet.proof, (sheet.proof_text,)
    yield "Notes", sheet.footnotes


def _crew(pen: _Pen, page: _Page, crew: CrewSheet, visits: Sequence[Visit], sheet: Sheet) -> None:
    pen.row(page, (crew.title,), pen.title)
    pen.row(page, (crew.under,), pen.strong)
    for fact in crew.facts:
        pen.row(page, fact, pen.text)
    page.skip()
    stops = [_stop(visit) for visit in visits]
    drive = " ".join(filter(None, (crew.home_drive, crew.home_drive_note)))
    home = ("", f"Home: {sheet.base}", drive, crew.home, *[""] * (len(STOPS) - 4))
    pen.table(page, "Itinerary", STOPS, [*stops, home])
    beside = replace(page, column=CALLS_COLUMN)
    for trip in crew.trips:
        _load(pen, page, trip)
    pen.table(beside, "Working alone, call by", ("By", "Where"), crew.call_ins)
    page.row, page.points = max(page.row, beside.row), max(page.points, beside.points)


def _stop(visit: Visit) -> Line:
    stop = visit.sheet
    drive = " ".join(filter(None, (stop.drive, stop.drive_note)))
    notes = "\n".join((*stop.details, *visit.private))
    jobs = "\n".join(stop.jobs)
    return (stop.mark, stop.name, drive, stop.arrive, stop.start, stop.finish, stop.light_left, jobs, notes)


def _load(pen: _Pen, page: _Page, trip: TripSheet) -> None:
    for title, lines in ((trip.title, trip.out), (trip.back_title, trip.back)):
        rows = [(line.name, line.amount, line.packs, line.weight, line.space) for line in lines]
        pen.table(page, title, LOADED, rows)
    for text in trip.fullest:
        pen.row(page, (text,), pen.strong)
    if trip.fullest:
        page.skip()


def _left_out(pen: _Pen, page: _Page, sheet: Sheet) -> None:
    rows = [
        (left.name, "\n".join(left.jobs), left.reason, f"{left.text} ({left.standing})", "\n".join(left.remedies))
        for left in sheet.left_out
    ]
    pen.table(page, "Left out", LEFT, rows)
    if not rows:
        pen.row(page, ("Nothing is left out.",), pen.text)
