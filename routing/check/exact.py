"""Exact numbers and instants: the check's own arithmetic, with no rounding that is not written down.

Numbers of the farm are read as the decimals that people wrote, so 0.1 is one tenth and not the nearest binary fraction.
Instants are whole seconds since 1970 in universal time, so that a change of clocks inside a day adds nothing.
"""

from __future__ import annotations

import datetime as dt
import math
from fractions import Fraction
from functools import lru_cache
from zoneinfo import ZoneInfo

MILLION = 1_000_000
EPOCH = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)


@lru_cache(maxsize=4096)  # a farm has few numbers, each asked for by the hundred: a fifth of the time
def exact(number: float) -> Fraction:
    """Return the decimal number as it is written, as a fraction."""
    return Fraction(repr(float(number)))


def whole_seconds(minutes: Fraction) -> int:
    """Return minutes in seconds, rounded to a millionth of a second and then up to a whole one."""
    return math.ceil(Fraction(round(minutes * 60 * MILLION), MILLION))


def shows(shown: float, value: Fraction) -> bool:
    """Whether `shown` is `value` rounded to 3 decimals; a value half-way may be rounded either way."""
    if not math.isfinite(shown):
        return False
    decimal = exact(shown)
    return (decimal * 1000).denominator == 1 and abs(decimal - value) <= Fraction(1, 2000)


def decimals(value: Fraction) -> str:
    """Return the value to 3 decimals for a sentence, such as `12.500`."""
    return f"{float(value):.3f}"


def instant(moment: dt.datetime) -> int:
    """Return the whole seconds since 1970 of a zone-aware moment, parts of a second dropped."""
    return (moment.astimezone(dt.UTC) - EPOCH) // dt.timedelta(seconds=1)


def local_instant(date: dt.date, time: dt.time, zone: ZoneInfo) -> int:
    """Return the instant at which the clocks of a zone show this time; the first of two in autumn."""
    return instant(dt.datetime.combine(date, time.replace(tzinfo=None), tzinfo=zone))


def clock(second: int, zone: ZoneInfo) -> str:
    """Return an instant in local time for a sentence, such as `2025-12-03 08:15:00`."""
    moment = EPOCH + dt.timedelta(seconds=second)
    return moment.astimezone(zone).strftime("%Y-%m-%d %H:%M:%S")
