"""What a search has compiled once on a machine, begun beside whatever comes before the search."""

from __future__ import annotations

from routing.farm.models import Farm
from routing.planning.running import compiled_ahead
from routing.travel.roads.cache import cache_folder

MANY, FOR_RUINS, FOR_ANNEALING = 15, 30, 40
"""From so many jobs or sites on, a day of one crew asks for what is compiled; more, rounds of several for ruin and
recreate, and a day of one crew for annealing."""


def compile_beside() -> None:
    """Begin to compile what is not compiled yet; nothing is waited for."""
    compiled_ahead.begin(cache_folder("compiled"))


def compile_beside_for(farm: Farm, days: int) -> None:
    """Begin so for what so many days of the farm may ask for."""
    many, kept = max(len(farm.jobs), len(farm.sites)), cache_folder("compiled")
    if len(farm.crews) * days > 1:
        ruins = (compiled_ahead.RUINS,) if many > FOR_RUINS else ()
        compiled_ahead.begin(kept, ((compiled_ahead.BOUNDS, compiled_ahead.ROUTES), (compiled_ahead.DAY, *ruins)))
    elif many >= MANY:
        annealing = ((compiled_ahead.ANNEALING,),) if many > FOR_ANNEALING else ()
        compiled_ahead.begin(kept, (*annealing, (compiled_ahead.BOUNDS,), (compiled_ahead.DAY,)))
