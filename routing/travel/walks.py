"""From the metres of a walk to its minutes, and the walks of a farm that has no road map."""

from __future__ import annotations

import math

from routing.farm.models import Farm, RoadRules
from routing.travel.straight import geodesic_metres

_ROUNDED_TO = 10
"""Walks are rounded up to a tenth of a minute."""

SHORTEST_TOLD = 1.0
"""Minutes of a walk below which nothing is said of it."""


def walking_minutes(metres: float, rules: RoadRules) -> float:
    """Return the minutes of one way on foot with a loaded barrow, rounded up to a tenth."""
    minutes = metres / 1000 / rules.walking_kmh.value * 60 * rules.barrow_factor.value
    return math.ceil(round(minutes * _ROUNDED_TO, 6)) / _ROUNDED_TO


def straight_walks(farm: Farm) -> tuple[Farm, tuple[str, ...]]:
    """Return the farm with the walk from each site's own stopping place, where the site gives no minutes itself.

    It is the straight line. The sentences say what is estimated so.
    """
    sites, told = list(farm.sites), []
    for number, site in enumerate(sites):
        if site.parking is None or site.walking_minutes > 0 or farm.rules.roads is None:
            continue
        metres = float(geodesic_metres([site.parking], [site.place])[0])
        minutes = walking_minutes(metres, farm.rules.roads)
        sites[number] = site.model_copy(update={"walking_minutes": minutes})
        if minutes >= SHORTEST_TOLD:
            told.append(
                f"The walk to {site.name} is estimated: {metres:.0f} m from where the vehicle stops, "
                f"in a straight line, {minutes:g} min each way."
            )
    return farm.model_copy(update={"sites": tuple(sites)}), tuple(told)
