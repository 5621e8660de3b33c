"""One site of a round on the terminal: when it is visited, or why not and what would save it."""

from __future__ import annotations

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from routing.round import Round
from routing.share.wording.sheet import round_sheet


def print_site(planned: Round, site: str, console: Console) -> None:
    """Print every stop at the site and every job of it that is left out; one line where it has no job at all."""
    sheet = round_sheet(planned)
    told = False
    for day, crew in zip(planned.itineraries, sheet.crews, strict=True):
        for stop, shown in zip(day.stops, crew.stops, strict=True):
            if stop.site == site:
                told = True
                _line(console, f"{shown.name}: stop {shown.mark} of {crew.name}, {crew.date}", bold=True)
                _line(console, f"  arrive {shown.arrive}, start {shown.start}, finish {shown.finish}")
                _line(console, f"  {shown.light_left} of light left")
                for line in (*shown.jobs, *shown.details):
                    _line(console, f"  {line}")
    for left, words in zip(planned.left_out, sheet.left_out, strict=True):
        if left.site == site or any(job.to == site for job in left.jobs):
            told = True
            _line(console, f"{words.name}: left out, {words.reason} ({words.standing})", bold=True)
            for line in (*words.jobs, words.text, words.cheapest):
                _line(console, f"  {line}")
            for remedy in words.remedies:
                _line(console, f"  {remedy}")
    if not told:
        _line(console, "No job is wanted at this site.")


def _line(console: Console, text: str, *, bold: bool = False) -> None:
    told = text.strip()
    if told:
        style = "bold" if bold else ""
        console.print(Padding(Text(told, style=style), (0, 0, 0, len(text) - len(text.lstrip())), expand=False))
