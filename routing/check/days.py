"""A plain simulation of one crew's day: when would the crew be home from each departure.

With the stops, their order and the gap of the break fixed, the time of coming home never falls as the departure is put
off. It is made of level pieces, where a wait takes up the delay, and of rising ones, where nothing does; between two
pieces it may jump, where a window is missed and the next one is used. Walking over the pieces finds the best departure
exactly, without trying every second.

A break lies in one gap: gap 0 is from leaving base to the first call's work, gap 1 from there to the second's, and so
on. It lengthens the drive of its gap; a wait as long takes it up.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from routing.check.ground import Span


@dataclass(frozen=True)
class Call:
    """A visit as the simulation sees it: how long the work is and when it may be done."""

    site: str
    seconds: int
    spans: tuple[Span, ...]
    """In order and apart."""
    left_from: str = ""
    """The site that is left at the end, where it is another one."""
    last_of_day: bool = False
    """Whether its site is marked so: a break here is taken only where none elsewhere is possible."""

    @property
    def end(self) -> str:
        """Return the site that is left at the end."""
        return self.left_from or self.site


@dataclass(frozen=True)
class DayPlan:
    """One crew's stops in order with all that bounds the day; instants and seconds."""

    earliest_leave: int
    home_by: int
    calls: tuple[Call, ...]
    drives: tuple[int, ...]
    """From base to the first call, between calls and home: one more than the calls."""
    break_seconds: int
    break_after: Fraction | None
    """Seconds away beyond which the break is due; None where none ever is."""
    out_already: bool = False
    """Whether the crew stands in a field, so that it leaves at once: waiting there is time away too."""


@dataclass(frozen=True)
class Departure:
    """A departure and the coming home that it gives."""

    leave: int
    home: int

    @property
    def away(self) -> int:
        """Return the seconds from leaving to home."""
        return self.home - self.leave


@dataclass(frozen=True)
class _Piece:
    """Departures `first` to `last` give `home`: all the same where level, else one second more for each later one."""

    first: int
    last: int
    home: int
    level: bool
    rest_from: int | None
    """When the work before the break's gap is finished, None where no work is before it."""
    rest_level: bool
    """Whether that is the same for all these departures."""


def _piece(plan: DayPlan, leave: int, gap: int | None) -> tuple[_Piece, bool] | None:
    """Return the piece that begins at this departure and whether a jump follows it, None where a window is missed."""
    now, wait, slack = leave, 0, plan.home_by - leave
    rest_from, rest_level = None, False
    for index, (call, drive) in enumerate(zip(plan.calls, plan.drives, strict=False)):
        if gap and index == gap:
            rest_from, rest_level = now, wait > 0
        arrive = now + drive
        span = next((span for span in call.spans if max(arrive, span[0]) + call.seconds <= span[1]), None)
        if span is None:
            return None
        now = max(arrive, span[0]) + call.seconds
        if not wait:
            wait = max(0, span[0] - arrive)
            slack = min(slack, wait or span[1] - now)
    home = now + plan.drives[-1]
    if home > plan.home_by:
        return None
    if not wait:
        slack = min(slack, plan.home_by - home)
    piece = _Piece(leave, leave + slack, home, wait > 0, rest_from, rest_level)
    return piece, slack != wait or not wait


def _rested(plan: DayPlan, gap: int | None) -> DayPlan:
    """Return the plan with the break in this gap: its drive is so much longer."""
    if gap is None:
        return plan
    longer = (drive + (plan.break_seconds if index == gap else 0) for index, drive in enumerate(plan.drives))
    return replace(plan, drives=tuple(longer))


def _pieces(plan: DayPlan, gap: int | None = None) -> Iterator[_Piece]:
    rested, leave = _rested(plan, gap), plan.earliest_leave
    while (found := _piece(rested, leave, gap)) is not None:
        piece, jumps = found
        if plan.out_already:
            yield replace(piece, last=leave)
            return
        yield piece
        leave = piece.last + 1 if jumps else piece.last


def _in_time(plan: DayPlan, piece: _Piece) -> tuple[int, int] | None:
    """Return the first and last departure of a piece from which the break begins early enough in the day."""
    if piece.rest_from is None or plan.break_after is None:
        return piece.first, piece.last
    first = max(piece.first, math.ceil(piece.rest_from - plan.break_after))
    if not piece.rest_level:
        return (piece.first, piece.last) if first == piece.first else None
    return (first, piece.last) if first <= piece.last else None


def best_departure(plan: DayPlan, gap: int | None) -> Departure | None:
    """Return the latest of the departures that give the earliest home, the break taken in that gap or nowhere.

    None where no departure keeps windows and home-by and begins the break early enough.
    """
    best: Departure | None = None
    for piece in _pieces(plan, gap):
        within = _in_time(plan, piece)
        if within is None:
            continue
        first, last = within
        home = piece.home if piece.level else piece.home + first - piece.first
        if best is not None and home > best.home:
            break
        best = Departure(last if piece.level else first, home)
    return best


def least_away(plan: DayPlan) -> int | None:
    """Return the fewest seconds from leaving to home without a break, None where no departure is possible."""
    return min((piece.home - (piece.last if piece.level else piece.first) for piece in _pieces(plan)), default=None)


def needs_break(plan: DayPlan) -> bool | None:
    """Whether the day is so long even without a break that one is due, None where no departure is possible."""
    away = least_away(plan)
    return None if away is None else plan.break_after is not None and away > plan.break_after


def _suspect(plan: DayPlan, gap: int) -> bool:
    """Whether a break in this gap is at a site marked last of the day: the stop before it, or the first of all."""
    return plan.calls[max(0, gap - 1)].last_of_day


def _bests(plan: DayPlan, gaps: Iterable[int]) -> list[Departure]:
    return [best for gap in gaps if (best := best_departure(plan, gap)) is not None]


def elsewhere_than_suspect(plan: DayPlan) -> bool:
    """Whether a break is possible that is not at a site marked last of the day."""
    return bool(_bests(plan, (gap for gap in range(len(plan.calls)) if not _suspect(plan, gap))))


def best_day(plan: DayPlan) -> Departure | None:
    """Return the departure of the best day of these calls, each with one span: the least time away, then the latest.

    A break is where it is due, at a site marked last of the day only where none elsewhere is possible. None where no
    departure keeps every rule.
    """
    due = needs_break(plan)
    if not due:
        return best_departure(plan, None)
    gaps = range(len(plan.calls))
    found = _bests(plan, (gap for gap in gaps if not _suspect(plan, gap))) or _bests(plan, gaps)
    return min(found, key=lambda day: (day.away, -day.leave), default=None)


def can_be_done(plan: DayPlan) -> bool:
    """Whether some departure, some spans and some gap for the break keep every promise on time.

    For one departure the first span in which a call fits never makes anything later; and where a day with a break is
    possible, the same spans are without one, so that a break that is not due hinders nothing.
    """
    due = needs_break(plan)
    return due is False or (due is True and bool(_bests(plan, range(len(plan.calls)))))
