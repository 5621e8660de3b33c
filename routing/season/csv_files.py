"""The log as CSV: one row for each entry, for a spreadsheet, another program or a copy.

A file begins with a byte order mark, so that spreadsheets take it for UTF-8. Whatever a spreadsheet would take for a
formula has an apostrophe put before it, which is taken away again on the way in. In a country that writes decimal
commas numbers have them, and semicolons stand between the cells; dates are the same everywhere, as ISO 8601 has them.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from pydantic import ValidationError

from routing.errors import FarmError
from routing.farm.faults import Faults, one_of, quoted
from routing.farm.formulas import guarded, unguarded
from routing.farm.tables import Cells, Columns, Table
from routing.farm.unfit import UnfitError
from routing.farm.values import dates, number, text_up_to, whole, yes_or_no
from routing.farm.ways import ANY, Ways
from routing.farm.written_forms import time_written
from routing.season.entries import Entry, Medicine
from routing.season.stored import COLUMNS

MEDICINE = tuple(f"medicine_{name}" for name in Medicine.model_fields)
ALL = (*COLUMNS, "seen", "materials", *MEDICINE)
"""The columns, in the order in which they are written."""
BYTE_ORDER_MARK = "\ufeff"
LONGEST = 10_000
THREE_DECIMALS = re.compile(r"[0-9]+\.[0-9]{3}")
SECONDS = 2
"""So many colons stand in a time with seconds."""


def _time(text: str) -> dt.time:
    """Return a time of day, with seconds where they are written."""
    minutes, seconds = (text, "") if text.count(":") != SECONDS else text.rsplit(":", 1)
    if seconds and not re.fullmatch(r"[0-5]\d", seconds, re.ASCII):
        raise UnfitError("is not a time: write 07:30")
    return time_written(minutes).replace(second=int(seconds or 0))


DATES = ("date", "medicine_bought_on", "medicine_disposed_on")
_text = text_up_to(LONGEST, many_lines=True)


def _parsers(ways: Ways) -> dict[str, Callable[[str], object]]:
    """Return how each column that is no plain text is read by the ways of a country."""
    return {
        "time": _time,
        "minutes": number(0, 2880, ways),
        "people": whole(1, 20, ways),
        "hives": whole(0, 5000, ways),
        "partly": yes_or_no,
        "stores_kg": number(0, 100, ways),
        "queen_cells": whole(0, 10_000, ways),
        "medicine_withdrawal_days": whole(0, 3650, ways),
        "medicine_days_in": whole(1, 365, ways),
        "materials": lambda text: _materials(text, ways),
        **dict.fromkeys(DATES, dates(ways)),
    }


def entries_csv(entries: Iterable[Entry], ways: Ways = ANY) -> str:
    """Return the entries as CSV text, with a byte order mark and rows that end as RFC 4180 asks."""
    out = io.StringIO(newline="")
    comma = ways.decimal == ","
    writer = csv.writer(out, delimiter=";" if comma else ",")
    writer.writerow(ALL)
    for entry in entries:
        writer.writerow([_cell(entry, column, comma=comma) for column in ALL])
    return BYTE_ORDER_MARK + out.getvalue()


def read_entries(path: Path, ways: Ways = ANY, tell: Callable[[str], None] | None = None) -> tuple[Entry, ...]:
    """Return the entries of a CSV file, read by the ways of a country. Raises FarmError with every fault at once.

    Where commas stand between the cells a point is the sign before decimals, whatever the country. `tell` hears of
    what is read but probably not meant, and of what is passed over.
    """
    faults = Faults()
    entries = []
    table = Table(path, Columns(known=ALL, required=("date", "site", "kind")), faults)
    parsers = _parsers(replace(ways, decimal=".") if table.delimiter == "," else ways)
    for row in table:
        entry = _entry(Cells(row, faults), parsers)
        if entry is not None:
            entries.append(entry)
    if faults.stopping:
        raise FarmError(faults.in_order((path.name,)))
    if tell is not None:
        for warning in faults.in_order((path.name,)):
            tell(f"warning: {warning}")
    return tuple(entries)


def seen_words(entry: Entry) -> str:
    """Return what was seen, `queen-cells=2 lid-off`, with the number of colonies where it is known."""
    return " ".join(f"{word}={entry.seen_in[word]}" if word in entry.seen_in else word for word in entry.seen)


def seen_of(words: Iterable[str]) -> dict[str, object]:
    """Return the fields of an entry from words such as `queen-cells=2`. Raises UnfitError for a number that is none."""
    seen: dict[str, int | None] = {}
    for word in words:
        what, sign, hives = word.partition("=")
        seen[what.strip()] = whole(1, 5000)(hives.strip()) if sign else None
    return {"seen": tuple(seen), "seen_in": {what: hives for what, hives in seen.items() if hives is not None}}


def _cell(entry: Entry, column: str, *, comma: bool) -> str:
    if column == "seen":
        return seen_words(entry)
    if column == "materials":
        return guarded(
            "; ".join(
                f"{_number(amount, comma=comma)} {material}" for material, amount in sorted(entry.materials.items())
            )
        )
    if column in MEDICINE:
        told = getattr(entry.medicine, column.removeprefix("medicine_")) if entry.medicine else None
        return _shown(told, comma=comma)
    return _shown(getattr(entry, column), comma=comma)


def _shown(value: object, *, comma: bool) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.time):
        return value.isoformat("seconds" if value.second else "minutes")
    if isinstance(value, float):
        return _number(value, comma=comma)
    return "" if value is None else guarded(str(value))


def _number(value: float, *, comma: bool) -> str:
    """Return a number in digits alone: one with an exponent is not read again.

    With a comma three decimals get a fourth, since 1,125 may be a thousand and more.
    """
    written = f"{Decimal(repr(value)):f}"
    if not comma:
        return written
    return (written + "0" if THREE_DECIMALS.fullmatch(written) else written).replace(".", ",")


def _entry(cells: Cells, parsers: Mapping[str, Callable[[str], object]]) -> Entry | None:
    """Return the entry of a row, or None with faults noted."""
    given: dict[str, object] = {}
    medicine: dict[str, object] = {}
    for column in ALL:
        value = None if column == "seen" else cells.take(column, parsers.get(column, _plain_text), None)
        if value is None:
            continue
        into = medicine if column in MEDICINE else given
        into[column.removeprefix("medicine_")] = value
    nothing: dict[str, object] = {}
    given |= cells.take("seen", _seen, nothing)
    for needed in ("date", "site", "kind"):
        if not cells.raw(needed):
            cells.fault(f"{needed} is missing")
    if not cells.ok:
        return None
    try:
        return Entry.model_validate({**given, "medicine": medicine or None})
    except ValidationError as error:
        for problem in error.errors():
            where = " ".join(str(part) for part in problem["loc"])
            cells.fault(f"{where}: {quoted(problem['msg'])[1:-1]}")
        return None


def _plain_text(text: str) -> str:
    return _text(unguarded(text))


def _seen(text: str) -> dict[str, object]:
    return seen_of(text.split())


def _materials(text: str, ways: Ways) -> dict[str, float]:
    """Return the amounts in `2.5 fondant; 4 strip`."""
    found: dict[str, float] = {}
    for part in filter(None, (part.strip() for part in unguarded(text).split(";"))):
        amount, _, material = part.partition(" ")
        if not material:
            raise UnfitError("is not made of amounts and materials: write 2.5 fondant; 4 strip")
        found[material.strip()] = found.get(material.strip(), 0.0) + _amount(amount, ways)
    return found


def _amount(text: str, ways: Ways) -> float:
    try:
        return number(0, 1_000_000, ways)(text)
    except UnfitError as error:
        raise UnfitError(f"has an amount, {quoted(text)}, that {error}") from error


def unknown_names(
    entries: Iterable[Entry], sites: Iterable[str], kinds: Iterable[str], materials: Iterable[str]
) -> str:
    """Return what the entries name that the farm does not have, in one sentence, or an empty text."""
    entries = tuple(entries)
    asked = (
        ("site", {entry.site for entry in entries}, set(sites)),
        ("kind", {entry.kind for entry in entries}, set(kinds)),
        ("material", {name for entry in entries for name in entry.materials}, set(materials)),
    )
    parts = [f"{word} {one_of(sorted(found - known))}" for word, found, known in asked if found - known]
    return "not in the farm: " + "; ".join(parts).replace("one of ", "") if parts else ""
