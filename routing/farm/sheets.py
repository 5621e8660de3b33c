"""Workbooks and their sheets as rows of text, whatever form they were read from, and what is told of any sheet."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from routing.farm.faults import Faults, plain, quoted

MOST_ROWS, MOST_COLUMNS = 25_000, 200
"""Cells beyond are named and not read; a table of a farm stays below both."""
MOST_NAMED = 12
"""So many hidden rows are named one by one."""


@dataclass(frozen=True)
class Sheet:
    """One sheet as rows of text. `file` names the file and the sheet as faults do: `farm.xlsx, Jobs`."""

    file: str
    path_name: str
    rows: Sequence[tuple[int, list[str]]] = ()
    """The number of each row that is not blank, and its cells."""
    whole: bool = True
    """False where some of it could not be read."""
    part: str = ""
    """The name of its part in the workbook; empty where that is not a part of its own."""


@dataclass(frozen=True)
class Book:
    """The sheets of a workbook; `whole` is False where it could not be opened."""

    path: Path
    titles: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """The sheets' names as written, by the names that are compared; sheets of charts are not in it."""
    whole: bool = True
    _read: Callable[[str], Sheet] | None = None

    @property
    def every_title(self) -> tuple[str, ...]:
        """The names of all sheets as written."""
        return tuple(title for titles in self.titles.values() for title in titles)

    def sheet(self, name: str) -> Sheet | None:
        """Return the first sheet of a plain name, read now, or None where there is none."""
        return self._read(self.titles[name][0]) if self._read and name in self.titles else None


def by_plain_name(titles: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """Return the names of sheets by the names that are compared, in the order in which they stand."""
    found: dict[str, tuple[str, ...]] = {}
    for title in titles:
        found[plain(title)] = (*found.get(plain(title), ()), title)
    return found


def sheet_file(path: Path, title: str) -> str:
    """Return what faults call a sheet: `farm.xlsx, Jobs`."""
    return f"{path.name}, {quoted(title)[1:-1]}"


def column_letters(number: int) -> str:
    """Return A for 1 and AA for 27."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def tell_hidden(hidden: Sequence[int], file: str, faults: Faults) -> None:
    """Note a warning that names the rows of a sheet that are hidden and read all the same."""
    if hidden:
        named = ", ".join(map(str, hidden[:MOST_NAMED]))
        more = f" and {len(hidden) - MOST_NAMED} more" if len(hidden) > MOST_NAMED else ""
        word = "row is" if len(hidden) == 1 else "rows are"
        faults.warn(file, 0, f"hidden {word} read like any other: {named}{more}", "delete what is not meant")


def tell_beyond(farthest: tuple[int, int], file: str, faults: Faults) -> None:
    """Note a fault where the last row or the last column with a cell is beyond what is read."""
    row, column = farthest
    if row > MOST_ROWS:
        what = f"has a cell in row {row:,}, and rows after {MOST_ROWS:,} are not read"
        faults.add(file, 0, what, "delete what stands below the table")
    if column > MOST_COLUMNS:
        far, last = column_letters(column), column_letters(MOST_COLUMNS)
        what = f"has a cell in column {far}, and columns after {last} are not read"
        faults.add(file, 0, what, "delete what stands beside the table")


def tell_no_value(file: str, row: int, column: int, faults: Faults, shown: str = "") -> None:
    """Note a fault at a formula that has no value, or the error `shown` for one."""
    if shown:
        what, fix = f"is an error of a formula: {quoted(shown)}", "mend the formula, or write the value"
    else:
        what, fix = "is a formula without a value", "open it in a spreadsheet and save it, or write the value"
    faults.add_unread(file, row, what, fix, f"{column_letters(column)}{row}")
