"""How durations, distances, weights and clock times are worded, the same in every output.

Everything is rounded to what a person can use, and always to the safe side:

- a time to act by (load from, leave, call in, home by, work until) loses its seconds: acting then is never too late;
- a time that is reached (arrive, start, finish, home, work from) is rounded up to the minute: never better than true;
- work at a stop is shown no later than the minute in which its window closes, so that no finish stands after its end;
- light left is the shown end of the window less the shown finish: it adds up on paper and is never better than true;
- durations of drives and work and weights on board are rounded up; limits are rounded down;
- the time away is the shown coming home less the shown leaving, and the driving of a day the sum of its shown drives.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable
from zoneinfo import ZoneInfo

from routing.plain_words import count, date_words, duration, minutes_words, people_words

__all__ = [
    "amount_words",
    "clock",
    "count",
    "date_words",
    "distance",
    "duration",
    "light_left",
    "light_left_minutes",
    "limit",
    "minute_at_stop",
    "minute_by",
    "minute_reached",
    "minutes_words",
    "number",
    "on_board",
    "people_words",
    "short_date",
    "shown_away_seconds",
    "shown_driving",
]

METRES_PER_MILE = 1609.344
"""Source: international yard and pound agreement of 1959 (exact)."""

_MINUTE = dt.timedelta(minutes=1)


def distance(metres: int, units: str) -> str:
    """Return `metres` in `units` (`miles` or `km`) with one decimal and the unit."""
    if units == "km":
        return f"{metres / 1000:.1f} km"
    return f"{metres / METRES_PER_MILE:.1f} miles"


def number(value: float) -> str:
    """Return a number with at most three decimals and no trailing zeros."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def on_board(amount: float, unit: str) -> str:
    """Return a load rounded up to a tenth, with its unit."""
    return f"{number(math.ceil(round(amount * 10, 6)) / 10)} {unit}"


def limit(amount: float, unit: str) -> str:
    """Return a limit rounded down to a tenth, with its unit."""
    return f"{number(math.floor(round(amount * 10, 6)) / 10)} {unit}"


def amount_words(amount: float, unit: str) -> str:
    """Return `12.5 kg`, `1 piece` or `40 pieces`; seconds become a duration."""
    if unit == "seconds":
        return duration(math.ceil(amount))
    singular = unit.removesuffix("s") if amount == 1 and unit in {"pieces", "litres", "people"} else unit
    return f"{number(amount)} {singular}"


def minute_by(moment: dt.datetime) -> dt.datetime:
    """Return the whole minute at or before a zone-aware `moment`, in UTC: for a time to act by."""
    return moment.astimezone(dt.UTC).replace(second=0, microsecond=0)


def minute_reached(moment: dt.datetime) -> dt.datetime:
    """Return the whole minute at or after a zone-aware `moment`, in UTC: for a time that is reached."""
    early = minute_by(moment)
    # Compared in UTC: in the hour that comes twice, no local time ever equals one of another zone.
    return early if early == moment.astimezone(dt.UTC) else early + _MINUTE


def minute_at_stop(moment: dt.datetime, window_closes: dt.datetime) -> dt.datetime:
    """Return `minute_reached`, but never a minute after the one in which the window closes, in UTC."""
    return min(minute_reached(moment), max(minute_by(window_closes), minute_by(moment)))


def light_left_minutes(finish: dt.datetime, window_closes: dt.datetime) -> int:
    """Return the whole minutes between the finish and the end of the window as both are shown; never below zero."""
    left = minute_by(window_closes) - minute_at_stop(finish, window_closes)
    return max(0, left // _MINUTE)


def light_left(finish: dt.datetime, window_closes: dt.datetime) -> str:
    """Return `1 h 12 of light left`."""
    return f"{minutes_words(light_left_minutes(finish, window_closes))} of light left"


def clock(minute: dt.datetime, date: dt.date, zone: ZoneInfo) -> str:
    """Return `HH:MM` in `zone`, with `+1` (or `-1`) when it lies on another day than `date`.

    In the hour that comes twice when the clocks go back, the zone's short name tells the two apart.
    """
    local = minute.astimezone(zone)
    text = f"{local:%H:%M}"
    if local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset():
        text += f" {local:%Z}"
    days = (local.date() - date).days
    return f"{text} {days:+d}" if days else text


def shown_away_seconds(leave: dt.datetime, home: dt.datetime) -> int:
    """Return the time away as both ends are shown: whole minutes, in seconds."""
    return max(0, int((minute_reached(home) - minute_by(leave)).total_seconds()))


def shown_driving(seconds: Iterable[int]) -> str:
    """Return the sum of drives as each is shown, in words."""
    return minutes_words(sum(math.ceil(each / 60) for each in seconds))


def short_date(date: dt.date) -> str:
    """Return `Thu 10 Dec`, whatever the computer's language is set to."""
    weekday, day, month, _ = date_words(date).split()
    return f"{weekday[:3]} {day} {month[:3]}"
