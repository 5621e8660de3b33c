"""An open due date of one rule at one site, and several that were missed as one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Open:
    """An open due date of one rule at one site."""

    opens: dt.date
    """The earliest day on which it makes sense."""
    due: dt.date
    ends: dt.date | None
    """The last day on which it makes sense, None where it always does."""
    closes_on: dt.date
    """Cancelling it closes the due dates up to here."""
    why: str
    hives: int
    """So many are left to do."""
    known: bool = True
    """False where the log begins in its season and such work was never logged since: it may well be done."""
    missed: bool = False
    """Whether its season is over; then it is the oldest of those that were missed."""
    now: bool = False
    """Whether a colony's life hangs on it within days, whatever the rank of its rule."""
    helpings: int = 1
    """Of a feed: how many times what its job kind takes for a hive."""


def together(missed: Sequence[Open]) -> tuple[Open, ...]:
    """Return the oldest that was missed; cancelling it closes the others too. What is not known is no miss."""
    known = [found for found in missed if found.known]
    if not known:
        return ()
    oldest, newest = known[0], known[-1]
    why = oldest.why if len(known) == 1 else f"{oldest.why}, and in {len(known) - 1} of the seasons since"
    return (Open(oldest.opens, oldest.due, oldest.ends, newest.closes_on, why, oldest.hives, known=True, missed=True),)
