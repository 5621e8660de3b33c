"""What is due: for each rule and site, how its open due dates stand on a date, worst first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from routing.farm.models import Rank, Site
from routing.farm.year import DueRule
from routing.season.asked import Asked
from routing.season.due_dates import open_due, open_dues
from routing.season.opened import Open
from routing.season.waiting import waits

__all__ = ["Asked", "DueItem", "Open", "State", "due_items", "open_due", "open_dues"]

SOON_DAYS = 7
"""What falls due within so many days counts as due: a week's rounds are planned together."""
COMING_DAYS = 28
"""What falls due within so many days is shown as coming."""

_DAY = dt.timedelta(days=1)
_RANKS = tuple(Rank)


class State(StrEnum):
    """How a due date stands on a date, worst first; the words are for the farmer."""

    OVERDUE = "overdue"
    SEASON_OVER = "not done, season over"
    """It was due and never done, and is past sense: shown until it is cancelled by name or done late."""
    UNKNOWN = "not known"
    """Its day is past and the log cannot say whether it was done: it counts from later, or nobody logs such work."""
    DUE = "due"
    COMING = "coming"


TO_PLAN = frozenset({State.OVERDUE, State.DUE})
"""What makes jobs."""


@dataclass(frozen=True)
class DueItem:
    """One line of what is due."""

    rule: str
    site: str
    site_name: str
    kind: str
    kind_name: str
    rank: Rank
    hives: int
    """So many are left to do."""
    colonies: int
    state: State
    opens: dt.date
    due: dt.date
    ends: dt.date | None
    closes_on: dt.date
    days_overdue: int
    why: str
    in_passing: bool = False
    """Not due yet, but it may be done already, and a visit is made there anyway."""
    helpings: int = 1
    """Of a feed: how many times what its job kind takes for a hive."""
    waits: str = ""
    """`after Medicine strips out (due 2026-05-13): ...` where it may not be beside what is there or comes first."""


def due_items(asked: Asked, visited: frozenset[str] | None = None) -> tuple[DueItem, ...]:
    """Return all that is overdue, not known, due or coming, worst first.

    Worst: by state in the order of `State`; in each by rank and then the earliest due date. `visited` are sites to
    which a visit is planned anyway, those with a row of jobs.csv that may be done on the date where it is not given; a
    site with something overdue or due is one too.
    """
    if visited is None:
        rows = (job for job in asked.farm.jobs if job.not_before is None or job.not_before <= asked.on)
        visited = frozenset(job.site for job in rows)
    found = [
        item
        for site in asked.farm.sites
        if site.colonies
        for rule in asked.season.due.values()
        for item in _items(rule, site, asked)
    ]
    found = _one_after_the_other(sorted(found, key=_worst_first), asked)
    there = visited | {item.site for item in found if item.state in TO_PLAN and not item.waits}
    marked = (_in_passing(item, asked.on, there) for item in found)
    return tuple(sorted(marked, key=_worst_first))


def _items(rule: DueRule, site: Site, asked: Asked) -> Iterator[DueItem]:
    for found in open_dues(rule, site, asked):
        state = _state(found, rule, asked)
        if state is not None:
            yield DueItem(
                rule=rule.id,
                site=site.id,
                site_name=site.name,
                kind=rule.job,
                kind_name=asked.farm.job_kinds[rule.job].name,
                rank=Rank.NOW if found.now and not found.missed else rule.rank,
                hives=found.hives,
                colonies=site.colonies,
                state=state,
                opens=found.opens,
                due=found.due,
                ends=found.ends,
                closes_on=found.closes_on,
                days_overdue=max(0, (asked.on - found.due).days),
                why=found.why,
                helpings=found.helpings,
            )


def _state(found: Open, rule: DueRule, asked: Asked) -> State | None:
    """Return how a due date stands, None where it is too far ahead to be shown."""
    on = asked.on
    if found.missed:
        return State.SEASON_OVER if asked.ever_logged(rule) else State.UNKNOWN
    if not found.known and rule.every_days:
        return State.DUE if found.due >= on else State.OVERDUE
    if not found.known:
        return State.UNKNOWN
    if found.due < on:
        return State.OVERDUE
    if found.opens <= on and found.due <= on + _DAY * SOON_DAYS:
        return State.DUE
    return State.COMING if found.opens <= on or found.due <= on + _DAY * COMING_DAYS else None


def _one_after_the_other(found: list[DueItem], asked: Asked) -> list[DueItem]:
    """Return the items with what they wait for; what is past sense or not known waits for nothing."""

    def off_by(site: str, kind: str) -> tuple[dt.date, dt.date] | None:
        days = [(item.opens, item.due) for item in found if item.site == site and item.kind == kind]
        return min(days, default=None) or _next_due(site, kind, asked)

    shown = [item for item in found if item.state in {*TO_PLAN, State.COMING}]
    wanted = [(item.site, item.kind, item.rank, item.hives) for item in shown]
    told = waits(asked, wanted, [item.state in TO_PLAN for item in shown], off_by)
    waiting = {(item.rule, item.site, item.due): words for item, words in zip(shown, told, strict=True) if words}
    return [replace(item, waits=waiting.get((item.rule, item.site, item.due), "")) for item in found]


def _next_due(site: str, kind: str, asked: Asked) -> tuple[dt.date, dt.date] | None:
    """Return from when and by when a job kind is due next at a site, where something that was done asks for it."""
    rules = (rule for rule in asked.season.due.values() if rule.job == kind and rule.after)
    opened = (open_due(rule, asked.farm.site(site), asked) for rule in rules)
    return min(((found.opens, found.due) for found in opened if found), default=None)


def _in_passing(item: DueItem, on: dt.date, there: frozenset[str]) -> DueItem:
    if item.state is not State.COMING or item.opens > on or item.site not in there or item.waits:
        return item
    return replace(item, in_passing=True)


def _worst_first(item: DueItem) -> tuple[int, int, dt.date, str, str]:
    return tuple(State).index(item.state), _RANKS.index(item.rank), item.due, item.site, item.rule
