"""Where the header of a table stands, and which rows below it are notes."""

from __future__ import annotations

from collections.abc import Callable, Sequence

LOOKED_AT = 20
"""The header is looked for in so many rows that are not blank."""
FEWEST = 2
"""A row with so many column names is a header below titles; where there is none the first row is."""


def header_of(rows: Sequence[tuple[int, list[str]]], named: Callable[[str], str | None]) -> tuple[int, list[str]]:
    """Return which row is the header, and its cells; a name merged over two rows is taken from the row above."""
    known = [sum(named(cell) is not None for cell in cells if cell) for _, cells in rows[:LOOKED_AT]]
    most = max(known)
    at = known.index(most) if most >= FEWEST else 0
    header = list(rows[at][1])
    if at and rows[at][0] - rows[at - 1][0] == 1:
        above = rows[at - 1][1]
        header += [""] * (len(above) - len(header))
        here = {named(cell) for cell in header if cell}
        for place, cell in enumerate(above):
            name = named(cell) if cell else None
            if not header[place] and name is not None and name not in here:
                header[place] = cell
    while header and not header[-1]:
        header.pop()
    return at, header


def is_note(cells: Sequence[str], names: Sequence[str | None], fewest: int) -> bool:
    """Return whether a row is a single text of several words where a row of the table needs `fewest` cells.

    A single word may be the name of a site, and the rest of its row forgotten: that is no note.
    """
    filled = [cell for cell in cells if cell]
    return len(filled) == 1 and fewest > 1 and len(names) > 1 and len(filled[0].split()) > 1
