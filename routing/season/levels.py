"""The level below which feed is due, the same for all who ask: due dates, feed, orders, plans and the season's page.

Each rule with `stores_below_kg` holds from its `fed_by`, or `starts` where it has none, to its `ends`. Where several
hold on a day, the highest is the level.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from routing.farm.year import DueRule, SeasonRules
from routing.season.calendar import Span, spans
from routing.season.feed import Stores


@dataclass(frozen=True)
class Level:
    """What the weakest tenth should hold over a span of days, and the rule that says so."""

    rule: DueRule
    kg: float
    holds: Span


def in_force(rule: DueRule, since: dt.date, *, south: bool) -> Span:
    """Return the first span of days that is not over before a date in which a rule's level holds."""
    return next(spans(rule.fed_by or rule.starts, rule.ends, since, south=south))


def levels(season: Span, rules: SeasonRules, *, south: bool) -> tuple[Level, ...]:
    """Return the levels that hold on days of a season, the highest first."""
    found = []
    for rule in rules.due.values():
        if rule.stores_below_kg is None:
            continue
        for span in spans(rule.fed_by or rule.starts, rule.ends, season.starts, south=south):
            if span.starts > season.ends:
                break
            found.append(Level(rule, rule.stores_below_kg.value, span))
    return tuple(sorted(found, key=lambda level: (-level.kg, level.rule.id, level.holds.starts)))


def level_on(date: dt.date, held: Iterable[Level]) -> Level | None:
    """Return the level of a day, None where none holds."""
    return next((level for level in held if date in level.holds), None)


def runs_low(days: Iterable[Stores], held: Iterable[Level], since: dt.date) -> tuple[Stores, Level] | None:
    """Return the first day since a date on which the weakest tenth has less than that day's level, or None."""
    held = tuple(held)
    for day in days:
        level = level_on(day.date, held) if day.date >= since else None
        if level and day.weakest_kg < level.kg:
            return day, level
    return None
