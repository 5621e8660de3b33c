"""Small plots as numbers for an SVG template: points along time, a line or a band, and two or three ticks.

The SVG is our own, from a template: a plotting library would weigh more than the whole program, and puts styles on
elements, which the page's policy refuses.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from routing.share.safety.safe import plain_name
from routing.share.wording.season import FeedRow, MinutesRow
from routing.share.wording.words import count, number

WIDTH, HEIGHT = 320, 150
LEFT, RIGHT, TOP, BOTTOM = 34, 8, 8, 22
"""Room for the ticks around the drawing, in the SVG's own units."""
ALMOST_NOTHING = 1e-6


@dataclass(frozen=True)
class Tick:
    """A mark on an axis: where, and what stands there."""

    at: float
    text: str
    anchor: str = "middle"


@dataclass(frozen=True)
class Level:
    """A line across at one value, from one place along to another."""

    y: float
    text: str
    dashed: bool
    begins: float = LEFT
    ends: float = WIDTH - RIGHT


@dataclass(frozen=True)
class Plot:
    """One drawing; `says` tells in words what is to be seen."""

    title: str
    says: str
    unit: str
    ups: tuple[Tick, ...]
    alongs: tuple[Tick, ...]
    levels: tuple[Level, ...]
    dots: tuple[tuple[float, float], ...]
    line: str
    """Points of a line, as SVG has them; empty for none."""
    band: str
    """Points of an area, as SVG has them; empty for none."""


@dataclass(frozen=True)
class _Frame:
    """From dates and values to the SVG's units."""

    first: dt.date
    last: dt.date
    top: float

    def x(self, date: dt.date) -> float:
        share = (date - self.first).days / max(1, (self.last - self.first).days)
        return round(LEFT + min(1.0, max(0.0, share)) * (WIDTH - LEFT - RIGHT), 1)

    def y(self, value: float) -> float:
        share = min(1.0, max(0.0, value / self.top))
        return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM), 1)

    def ups(self) -> tuple[Tick, ...]:
        return tuple(Tick(self.y(value), number(value), "end") for value in (0, self.top / 2, self.top))

    def alongs(self) -> tuple[Tick, ...]:
        ends = ((self.first, "start"), (self.last, "end"))
        return tuple(Tick(self.x(date), f"{date.day} {_MONTHS[date.month - 1]}", anchor) for date, anchor in ends)

    def points(self, dates: Sequence[dt.date], values: Sequence[float]) -> str:
        return " ".join(f"{self.x(date)},{self.y(value)}" for date, value in zip(dates, values, strict=True))


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def round_top(most: float) -> float:
    """Return the least of 1, 2, 3, 4, 5, 6 or 8 times a power of ten not below `most`; 1 for almost nothing."""
    if most < ALMOST_NOTHING:
        return 1.0
    power = 10.0 ** math.floor(math.log10(most))
    return next(power * step for step in (1, 2, 3, 4, 5, 6, 8, 10) if power * step >= most * (1 - 1e-9))


def minutes_plot(row: MinutesRow, first: dt.date, last: dt.date) -> Plot:
    """Return the plot of one job kind: a dot a visit, the default dashed, what was learned as a whole line."""
    shown = [(date, value) for date, value in row.visits if first <= date <= last]
    learned = [] if row.learned is None else [row.learned]
    frame = _Frame(first, last, round_top(max([row.default, *learned, *(value for _, value in shown)])))
    levels = [Level(frame.y(row.default), f"default {number(row.default)}", dashed=True)]
    levels += [Level(frame.y(value), f"learned {number(round(value, 2))}", dashed=False) for value in learned]
    says = f"{count(len(shown), 'visit') if shown else 'No visit'}; default {number(row.default)} min a hive"
    says += f", learned {number(round(row.learned, 2))}." if row.learned is not None else ", nothing learned yet."
    return Plot(
        title=plain_name(row.kind),
        says=says,
        unit="min a hive",
        ups=frame.ups(),
        alongs=frame.alongs(),
        levels=tuple(levels),
        dots=tuple((frame.x(date), frame.y(value)) for date, value in shown),
        line="",
        band="",
    )


def feed_plot(row: FeedRow, first: dt.date, last: dt.date) -> Plot:
    """Return the plot of one site's stores: the middle as a line in its band, and the levels at which feed is due."""
    kept = [i for i, date in enumerate(row.dates) if first <= date <= last]
    dates = [row.dates[i] for i in kept]
    middle, low, high = ([values[i] for i in kept] for values in (row.middle_kg, row.low_kg, row.high_kg))
    levels = [row.feed_below_kg[i] for i in kept]
    frame = _Frame(first, last, round_top(max([0.0, *high, *(level for level in levels if level is not None)])))
    return Plot(
        title=plain_name(row.site),
        says=_feed_words(dates, low, levels),
        unit="kg a colony",
        ups=frame.ups(),
        alongs=frame.alongs(),
        levels=tuple(
            Level(frame.y(level), f"feed below {number(level)}", dashed=True, begins=frame.x(start), ends=frame.x(end))
            for level, start, end in _held(dates, levels)
        ),
        dots=(),
        line=frame.points(dates, middle),
        band=frame.points([*dates, *reversed(dates)], [*high, *reversed(low)]),
    )


def _held(dates: Sequence[dt.date], levels: Sequence[float | None]) -> tuple[tuple[float, dt.date, dt.date], ...]:
    """Return each level with the first and the last day of its stretch of dates."""
    found = []
    for level, days in groupby(zip(levels, dates, strict=True), key=lambda pair: pair[0]):
        stretch = [date for _, date in days]
        if level is not None:
            found.append((level, stretch[0], stretch[-1]))
    return tuple(found)


def _feed_words(dates: Sequence[dt.date], low: Sequence[float], levels: Sequence[float | None]) -> str:
    held = _held(dates, levels)
    if not held:
        return "Nothing is known."
    named = "; ".join(
        f"below {number(level)} kg a colony" + (f" from {_day(start)}" if len(held) > 1 else "")
        for level, start, _ in held
    )
    days = zip(dates, low, levels, strict=True)
    below = next(((day, level) for day, kg, level in days if level is not None and kg < level), None)
    when = f"may be below {number(below[1])} kg from {_day(below[0])}" if below else "stays above that"
    return f"Feed is due {named}. The weakest tenth {when}."


def _day(date: dt.date) -> str:
    return f"{date.day} {_MONTHS[date.month - 1]}"
