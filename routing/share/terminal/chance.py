"""The chance that a day holds, and what was learned, on the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text


@dataclass(frozen=True)
class ChanceRow:
    """One stop, or home, in words; all texts plain."""

    mark: str
    name: str
    finish: str
    late_finish: str
    must_end: str
    chance: str


@dataclass(frozen=True)
class CrewChance:
    """One crew's day in words."""

    title: str
    chance: str
    rows: tuple[ChanceRow, ...]
    drops: tuple[str, ...]


@dataclass(frozen=True)
class LearnedRow:
    """One estimate in words."""

    what: str
    name: str
    factor: str
    band: str
    source: str


def print_chances(
    title: str, headline: str, crews: Sequence[CrewChance], notes: Sequence[str], console: Console
) -> None:
    """Print each crew's table, what to drop when behind, and what the chances rest on."""
    console.print(Text(title, style="bold"))
    console.print(Text(headline))
    for crew in crews:
        console.print()
        console.print(Text(f"{crew.title}: {crew.chance}", style="bold"))
        table = _table("No.", "Site", "Finish", "9 days in 10 by", "Must end", "In time")
        for row in crew.rows:
            cells = (row.mark, row.name, row.finish, row.late_finish, row.must_end, row.chance)
            table.add_row(*(Text(cell) for cell in cells))
        console.print(table)
        _bullets("If behind", crew.drops, console)
    _bullets("What this rests on", notes, console)


def print_learned(headline: str, rows: Sequence[LearnedRow], notes: Sequence[str], console: Console) -> None:
    """Print what was learned, a row each, and what was set aside."""
    console.print(Text(headline, style="bold"))
    if rows:
        table = _table("What", "Which", "Times the default", "4 chances in 5", "Source")
        for row in rows:
            table.add_row(*(Text(cell) for cell in (row.what, row.name, row.factor, row.band, row.source)))
        console.print(table)
    _bullets("Notes", notes, console)


def _table(*heads: str) -> Table:
    table = Table(box=SIMPLE_HEAD, padding=(0, 1, 0, 0), pad_edge=False, show_edge=False, header_style="bold")
    for head in heads:
        words = head in {"No.", "Site", "What", "Which", "Source"}
        table.add_column(head, overflow="fold", justify="left" if words else "right")
    return table


def _bullets(title: str, lines: Sequence[str], console: Console) -> None:
    if lines:
        console.print()
        console.print(Text(title, style="bold"))
    for line in lines:
        console.print(Padding(Text(f"- {line}"), (0, 0, 0, 2)))
