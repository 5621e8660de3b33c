"""What the browser sends, read field by field: a fault is one line for the reader, and nothing is taken on trust."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass

from routing.errors import AskedError

LONGEST = 2000
FIRST, LAST = dt.date(1900, 1, 1), dt.date(2199, 12, 31)


@dataclass(frozen=True)
class Given:
    """The fields of one request."""

    fields: Mapping[str, object]

    def text(self, name: str, longest: int = LONGEST) -> str:
        """Return a text without blanks around it, empty where there is none. Raises AskedError."""
        value = self.fields.get(name)
        if value is None:
            return ""
        if not isinstance(value, str) or len(value) > longest or "\0" in value or not _whole(value):
            raise AskedError(f"{name}: this is no text of at most {longest} characters; write it anew")
        return value.strip()

    def texts(self, name: str, most: int) -> tuple[str, ...]:
        """Return texts without blanks around them, none where there are none. Raises AskedError."""
        values = self.fields.get(name) or []
        if not isinstance(values, list) or len(values) > most:
            raise AskedError(f"{name}: this is no list of at most {most} texts; load the page again")
        return tuple(Given({name: value}).text(name) for value in values)

    def flag(self, name: str) -> bool:
        """Return whether something is ticked."""
        return self.fields.get(name) is True

    def date(self, name: str) -> dt.date | None:
        """Return a date written YYYY-MM-DD, None where there is none. Raises AskedError."""
        text = self.text(name, 100)
        if not text:
            return None
        try:
            date = dt.date.fromisoformat(text)
        except ValueError:
            date = dt.date.min
        if not FIRST <= date <= LAST:
            raise AskedError(f"{name}: this is not a date; write YYYY-MM-DD, 1900 to 2199")
        return date

    def number(self, name: str, least: float, most: float) -> float | None:
        """Return a number within limits, None where there is none. Raises AskedError."""
        value = self.fields.get(name)
        if value is None or value == "":
            return None
        if isinstance(value, str):
            try:
                value = float(value.strip().replace(",", "."))
            except ValueError:
                value = math.nan
        if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= most:
            raise AskedError(f"{name}: this is not a number from {least:g} to {most:g}; write it anew")
        return value

    def whole(self, name: str, least: int, most: int) -> int | None:
        """Return a whole number within limits, None where there is none. Raises AskedError."""
        value = self.number(name, least, most)
        if value is None:
            return None
        if value != int(value):
            raise AskedError(f"{name}: this is not a whole number; write it anew")
        return int(value)


def _whole(text: str) -> bool:
    """Return whether a text holds no half of a character."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True
