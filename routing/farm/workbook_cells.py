"""From what a workbook's cell holds to the text that the parsers of CSV cells read.

A date becomes 2026-12-10, a time of day 08:30, a truth yes or no, and a number its 15 digits, which are all that
spreadsheets keep (IEEE 754 double), with a decimal point.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from decimal import Decimal
from typing import TYPE_CHECKING

from routing.farm.written_forms import Exact

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell, MergedCell

DIGITS = 15
_ZEROS = re.compile(r"0{2,20}")
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")


def cell_text(cell: Cell | MergedCell) -> str:
    """Return what a cell holds as text; empty where it holds nothing."""
    value = cell.value
    if isinstance(value, str):
        return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), value).strip()
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return number_text(value, str(getattr(cell, "number_format", "")))
    return moment_text(value)


def number_text(value: float, shown_as: str = "") -> str:
    """Return a number; one that is shown with leading zeros, such as a code, keeps them."""
    if not math.isfinite(value):
        return str(value)
    plain = f"{Decimal(f'{value:.{DIGITS}g}'):f}"
    written = plain.rstrip("0").rstrip(".") if "." in plain else plain
    if _ZEROS.fullmatch(shown_as) and written.isdigit():
        return written.zfill(len(shown_as))
    return Exact("0" if written == "-0" else written)


def moment_text(value: object) -> str:
    """Return a date, a time of day, both or a length of time; anything else as it is."""
    if isinstance(value, dt.datetime):
        midnight = value.time() == dt.time(0)
        return value.date().isoformat() if midnight else f"{value:%Y-%m-%d %H:%M}"
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, dt.time):
        return f"{value:%H:%M}"
    if isinstance(value, dt.timedelta):
        minutes = round(value.total_seconds() / 60)
        return f"{minutes // 60:02}:{minutes % 60:02}"
    return str(value)
