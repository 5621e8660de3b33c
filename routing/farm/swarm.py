"""Queen cells against the interval between inspections."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from routing.farm.basics import Figure
from routing.farm.documents import Keys
from routing.farm.year import DueRule

MOST_DAYS = 100.0
INSPECTION = "weekly-inspection"
"""The rule and the job kind that must keep ahead of queen cells."""


@dataclass(frozen=True)
class SwarmDays:
    """How fast a queen grows, in days. Source: Bee Craft, November 2009, beside each in `due.toml`."""

    egg_to_sealed: Figure
    clipped_limit: Figure
    clipped: Figure


def read_swarm_days(keys: Keys) -> SwarmDays:
    """Return the days of queen cells. Raises ValueError where one is missing."""
    names = ("egg_to_sealed_days", "clipped_limit_days", "clipped_days")
    found = [figure for figure in (keys.figure(name, MOST_DAYS, None) for name in names) if figure]
    if len(found) < len(names):
        raise ValueError("the days of queen cells are not all there")
    return SwarmDays(*found)


def interval_warning(rule: DueRule, queens: Literal["unclipped", "clipped"], swarm: SwarmDays) -> str:
    """Return why an interval between inspections is too long for the queens, or an empty text.

    Unclipped: a cell whose egg was laid just after a visit is sealed `egg_to_sealed` days later, and the swarm leaves
    about then. Clipped: the swarm that lost her comes back, and leaves again with the first young queen; 5 + 8 days in
    theory. Source: Bee Craft, November 2009.
    """
    if rule.job != INSPECTION or rule.every_days is None:
        return ""
    days, limit = rule.every_days.value, swarm.clipped_limit.value
    if queens == "unclipped":
        if days < swarm.egg_to_sealed.value:
            return ""
        return (
            f"every {days:g} days is too long for queens that are not clipped: a cell begun after one visit is sealed "
            f"{swarm.egg_to_sealed.value:g} days later, no later than the next visit, and the swarm may be gone"
        )
    if days > limit:
        return f"every {days:g} days is too long even for clipped queens: {limit:g} days is the limit in theory"
    if days > swarm.clipped.value:
        practice = swarm.clipped.value
        return f"every {days:g} days leaves no margin with clipped queens: {limit:g} is theory, {practice:g} practice"
    return ""
