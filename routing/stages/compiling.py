"""What a search has compiled once on a machine, begun beside whatever comes before the search."""

from __future__ import annotations

from routing.farm.models import Farm
from routing.planning.running import ahead
from routing.travel.roads.cache import cache_folder

MANY = 15
"""From so many jobs or sites on, a day of one crew asks for what is compiled."""


def compile_beside() -> None:
    """Begin to compile what is not compiled yet; nothing is waited for."""
    ahead.begin(cache_folder("compiled"))


def compile_beside_for(farm: Farm, days: int) -> None:
    """Begin so for what so many days of the farm may ask for."""
    if len(farm.crews) * days > 1:
        compile_beside()
    elif max(len(farm.jobs), len(farm.sites)) >= MANY:
        ahead.begin(cache_folder("compiled"), ((ahead.BOUNDS,), (ahead.DAY,)))
