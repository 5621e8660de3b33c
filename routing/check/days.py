"""A plain simulation of one crew's day: when would the crew be home from each departure.

With the stops, their order and the break's stop fixed, the time of coming home never falls as the departure is put
off. It is made of level pieces, where a wait takes up the delay, and of rising ones, where nothing does; between two
pieces it may jump, where a window is missed and the next one is used. Walking over the pieces finds the best departure
exactly, without trying every second.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
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


@dataclass(frozen=True)
class Departure:
    """A departure and the coming home that it gives."""

    leave: int
    home: int


@dataclass(frozen=True)
class _Piece:
    """Departures `first` to `last` give `home`: all the same where level, else one second more for each later one."""

    first: int
    last: int
    home: int
    level: bool


def _piece(plan: DayPlan, leave: int, rest_at: int | None) -> tuple[_Piece, bool] | None:
    """Return the piece that begins at this departure and whether a jump follows it, None where a window is missed."""
    now, wait, slack = leave, 0, plan.home_by - leave
    for index, (call, drive) in enumerate(zip(plan.calls, plan.drives, strict=False)):
        seconds = call.seconds + (plan.break_seconds if index == rest_at else 0)
        arrive = now + drive
        span = next((span for span in call.spans if max(arrive, span[0]) + seconds <= span[1]), None)
        if span is None:
            return None
        now = max(arrive, span[0]) + seconds
        if not wait:
            wait = max(0, span[0] - arrive)
            slack = min(slack, wait or span[1] - now)
    home = now + plan.drives[-1]
    if home > plan.home_by:
        return None
    if not wait:
        slack = min(slack, plan.home_by - home)
    return _Piece(leave, leave + slack, home, level=wait > 0), slack != wait or not wait


def _pieces(plan: DayPlan, rest_at: int | None) -> Iterator[_Piece]:
    leave = plan.earliest_leave
    while (found := _piece(plan, leave, rest_at)) is not None:
        piece, jumps = found
        yield piece
        leave = piece.last + 1 if jumps else piece.last


def _within_rule(plan: DayPlan, piece: _Piece, rest_at: int | None) -> tuple[int, int] | None:
    """Return the first and last departure of a piece for which the break is rightly taken, or rightly not."""
    first, last = piece.first, piece.last
    if plan.break_after is None:
        return (first, last) if rest_at is None else None
    if not piece.level:
        long_day = piece.home - first > plan.break_after
        return (first, last) if long_day == (rest_at is not None) else None
    if rest_at is None:
        first = max(first, math.ceil(piece.home - plan.break_after))
    else:
        last = min(last, math.ceil(piece.home - plan.break_after) - 1)
    return (first, last) if first <= last else None


def best_departure(plan: DayPlan, rest_at: int | None) -> Departure | None:
    """Return the latest of the departures that give the earliest home, the break taken at that call or nowhere.

    None where no departure keeps windows, home-by and the rule on breaks.
    """
    best: Departure | None = None
    for piece in _pieces(plan, rest_at):
        within = _within_rule(plan, piece, rest_at)
        if within is None:
            continue
        first, last = within
        home = piece.home if piece.level else piece.home + first - piece.first
        if best is not None and home > best.home:
            break
        best = Departure(last if piece.level else first, home)
    return best


def possible_breaks(plan: DayPlan) -> tuple[int | None, ...]:
    """Return every choice of where the break is: nowhere, or at one of the calls."""
    return (None, *(range(len(plan.calls)) if plan.break_after is not None else ()))


def can_be_done(plan: DayPlan) -> bool:
    """Whether some departure and some place for the break keep every promise on time."""
    if _piece(plan, plan.earliest_leave, None) is None:
        return False
    return any(best_departure(plan, rest_at) is not None for rest_at in possible_breaks(plan))
