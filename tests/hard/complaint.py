"""What is false in an answer, one line each."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Complaint:
    """One false sentence or number."""

    sort: str
    """A few words by which alike complaints are counted."""
    text: str
    soft: bool = False
    """True as it is read, or excepted by the footnote, yet worth a look."""

    def __str__(self) -> str:
        return f"{self.sort}: {self.text}"


DURATION = r"(?:(\d+) h (\d\d)|(\d+) min)"


def minutes_in(pattern: str, text: str) -> int | None:
    """Return the minutes of the duration that stands where the pattern has `{}`, None where it is not found."""
    found = re.search(pattern.replace("{}", DURATION), text)
    if found is None:
        return None
    hours, minutes, alone = found.groups()[:3]
    return int(alone) if alone else int(hours) * 60 + int(minutes)


def clock(seconds: int, zone: dt.tzinfo) -> str:
    """Return an instant as local time."""
    return f"{dt.datetime.fromtimestamp(seconds, tz=zone):%H:%M:%S}"


def span(seconds: int) -> str:
    """Return seconds as hours, minutes and seconds."""
    return f"{seconds // 3600}:{seconds // 60 % 60:02}:{seconds % 60:02}"
