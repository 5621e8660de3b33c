"""From a cell of an OpenDocument sheet to the text that the parsers of CSV cells read, as `workbook_cells` does.

Source: OpenDocument 1.3 part 3, 19.367 to 19.389 (values of cells), 6.1.2 (white space), 18.2 (times as durations).
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping

from routing.farm.workbook_cells import moment_text, number_text

OFFICE = "urn:oasis:names:tc:opendocument:xmlns:office:1.0"
TABLE = "urn:oasis:names:tc:opendocument:xmlns:table:1.0"
LATER = "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"
NUMBERS = frozenset({"float", "percentage", "currency"})
LONGEST_WRITTEN = 60
_DURATION = re.compile(r"PT(?:([0-9]{1,6})H)?(?:([0-9]{1,6})M)?(?:([0-9]{1,6})(?:[.,][0-9]{0,12})?S)?")
_LEADING_NOUGHTS = re.compile(r"0[0-9]{1,20}")
_ERRORS = re.compile(r"Err:[0-9]{3}|#[A-Z0-9/!?]{2,12}")


def value_text(told: Mapping[str, str], shown: str | None) -> str:
    """Return what a cell holds; `told` are its attributes, `shown` the text in it, None where there is none."""
    kind = told.get(f"{OFFICE} value-type", "")
    if kind in NUMBERS:
        return _number(told.get(f"{OFFICE} value", ""), shown or "")
    if kind == "boolean":
        return "yes" if told.get(f"{OFFICE} boolean-value") == "true" else "no"
    if kind == "date":
        return _date(told.get(f"{OFFICE} date-value", ""))
    if kind == "time":
        return _time(told.get(f"{OFFICE} time-value", ""))
    return (told.get(f"{OFFICE} string-value") or shown or "").strip()


def error_of(told: Mapping[str, str], shown: str | None) -> str | None:
    """Return the error that a formula shows, an empty text where it holds no value, None where it holds one."""
    if f"{TABLE} formula" not in told:
        return None
    text = (shown or "").strip()
    if told.get(f"{LATER} value-type") == "error" or _ERRORS.fullmatch(text):
        return text
    return "" if shown is None and f"{OFFICE} value-type" not in told else None


def _number(written: str, shown: str) -> str:
    """Return a number; one that is shown with leading noughts, such as a code, keeps them."""
    try:
        value = float(written[:LONGEST_WRITTEN])
    except ValueError:
        return written[:LONGEST_WRITTEN]
    code = shown.strip()
    if _LEADING_NOUGHTS.fullmatch(code) and value == int(code):
        return code
    return number_text(value)


def _date(written: str) -> str:
    try:
        return moment_text(dt.datetime.fromisoformat(written[:LONGEST_WRITTEN]))
    except ValueError:
        return written[:LONGEST_WRITTEN]


def _time(written: str) -> str:
    found = _DURATION.fullmatch(written[:LONGEST_WRITTEN])
    if found is None:
        return written[:LONGEST_WRITTEN]
    hours, minutes, seconds = (int(part or 0) for part in found.groups())
    return moment_text(dt.timedelta(hours=hours, minutes=minutes, seconds=seconds))
