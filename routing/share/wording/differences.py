"""Round against round: what is done more or less, and what it costs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from routing.farm.models import Rank
from routing.round import PlannedJob, ReasonCode, Round
from routing.share.safety.safe import plain_name
from routing.share.wording.words import (
    clock,
    distance,
    duration,
    minute_reached,
    minutes_words,
    short_date,
    shown_away_seconds,
)


@dataclass(frozen=True)
class Difference:
    """What a round has that another has not."""

    gained: tuple[str, ...]
    """Jobs that only the new round does, as `Site: job`."""
    lost: tuple[str, ...]
    moved: tuple[str, ...]
    """Jobs that both do, on another date, by another crew or in another order, in words."""
    away_seconds: int
    """New less old, over all crews and days."""
    metres: int


@dataclass(frozen=True)
class _Done:
    name: str
    day: tuple[dt.date, str]
    """The date, and the crew's name: one person may be several crews on several days."""
    stop: int
    words: str


def difference(old: Round, new: Round) -> Difference:
    """Return what changed from the old round to the new.

    A job has moved where its crew or its date is another, or where it stands in another order with the jobs that stay.
    """
    dated = old.dates != new.dates or len(new.dates) > 1
    before, after = _done(old, dated=dated), _done(new, dated=dated)
    staying = _in_the_same_order(before, after)
    return Difference(
        gained=tuple(place.name for job, place in after.items() if job not in before),
        lost=tuple(place.name for job, place in before.items() if job not in after),
        moved=tuple(
            f"{place.name}: {before[job].words} → {place.words}"
            for job, place in after.items()
            if job in before and job not in staying
        ),
        away_seconds=_away(new) - _away(old),
        metres=_metres(new) - _metres(old),
    )


def _in_the_same_order(before: dict[str, _Done], after: dict[str, _Done]) -> set[str]:
    """Return a largest set of jobs that stay with their crew on their day, in the order in which they were."""
    staying: set[str] = set()
    for day in {place.day for place in after.values()}:
        both = [job for job, place in after.items() if job in before and place.day == day == before[job].day]
        chains: list[list[str]] = []
        for job in both:
            fitting = [chain for chain in chains if before[chain[-1]].stop <= before[job].stop]
            chains.append([*_longest(fitting), job])
        staying.update(_longest(chains))
    return staying


def _longest(chains: list[list[str]]) -> list[str]:
    return max([[], *chains], key=len)


def difference_lines(old: Round, new: Round) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return what changed from the old round to the new: headings with their lines; the last has none."""
    changes = difference(old, new)
    parts = (("Done now", changes.gained), ("No longer done", changes.lost), ("Moved", changes.moved))
    told = [part for part in parts if part[1]] or [("The same jobs by the same crews in the same order.", ())]
    away = f"Away: {_signed(changes.away_seconds)}; driving {_signed_way(changes.metres, new.units)}"
    return (*told, (away, ()))


def print_difference(old: Round, new: Round, console: Console) -> None:
    """Print what changed from the old round to the new, a line each."""
    for heading, lines in difference_lines(old, new):
        console.print(Text(heading, style="bold" if lines else ""))
        for line in lines:
            console.print(Text(f"  - {line}"))


HEADINGS = ("What if", *(rank.value for rank in Rank), "left out", "away", "drive", "home")
"""Of the table of rounds."""


def table_row(name: str, planned: Round) -> tuple[str, ...]:
    """Return a round in cells under `HEADINGS`: jobs done by rank, left out, time away, way driven, and home."""
    ranks = [job.rank for job in _jobs(planned)]
    due = [left for left in planned.left_out if left.reason is not ReasonCode.NOT_DUE]
    zone = ZoneInfo(planned.time_zone)
    homes = ", ".join(clock(minute_reached(day.home), day.date, zone) for day in planned.itineraries) or "-"
    return (
        plain_name(name),
        *(str(ranks.count(rank)) for rank in Rank),
        str(sum(len(left.jobs) for left in due)),
        duration(_away(planned)),
        distance(_metres(planned), planned.units),
        homes,
    )


def print_table(rows: Sequence[tuple[str, Round]], console: Console) -> None:
    """Print rounds below each other: jobs done by rank, left out, time away, home, and way driven."""
    table = Table(box=SIMPLE_HEAD, padding=(0, 1, 0, 0), pad_edge=False, header_style="bold")
    for heading in HEADINGS:
        table.add_column(heading, justify="left" if heading == "What if" else "right")
    for name, planned in rows:
        table.add_row(*(Text(cell) for cell in table_row(name, planned)))
    console.print(table)


def _jobs(planned: Round) -> list[PlannedJob]:
    return [job for day in planned.itineraries for stop in day.stops for job in stop.jobs]


def _done(planned: Round, *, dated: bool) -> dict[str, _Done]:
    """Return for each job done its name and where it stands in the round, with the date where that is asked for."""
    return {
        job.id: _Done(
            name=plain_name(f"{stop.name}: {job.name}"),
            day=(day.date, day.crew_name),
            stop=stop.number,
            words=plain_name(f"{f'{short_date(day.date)}, ' if dated else ''}{day.crew_name}, stop {stop.number}"),
        )
        for day in planned.itineraries
        for stop in day.stops
        for job in stop.jobs
    }


def _away(planned: Round) -> int:
    return sum(shown_away_seconds(day.leave, day.home) for day in planned.itineraries)


def _metres(planned: Round) -> int:
    return sum(day.distance_metres for day in planned.itineraries)


def _signed(seconds: int) -> str:
    if seconds == 0:
        return "as long as before"
    return f"{minutes_words(-(-abs(seconds) // 60))} {'more' if seconds > 0 else 'less'}"


def _signed_way(metres: int, units: str) -> str:
    if metres == 0:
        return "as far as before"
    return f"{distance(abs(metres), units)} {'more' if metres > 0 else 'less'}"
