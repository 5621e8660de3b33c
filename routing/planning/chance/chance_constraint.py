"""A chance constraint: the least margin found with which the day holds by a wanted chance, as simulated.

Source: A. Charnes, W. W. Cooper, "Chance-constrained programming", Management Science 6 (1959), from memory, not
checked.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from routing.errors import AskedError
from routing.farm.models import Farm
from routing.planning.chance.simulate import SimulatedDay, odds, simulate
from routing.planning.chance.spread import Spread
from routing.round import Round
from routing.weather.limits import finish_early_seconds

MOST_PLANS = 10
MOST_MARGIN_MINUTES = 720
CLOSE_ENOUGH_MINUTES = 3
"""The margin is not narrowed any further than this."""
LEAST, MOST = 0.5, 0.99
"""Chances that may be asked for; beyond the last the simulation cannot tell."""


@dataclass(frozen=True)
class SureRound:
    """A round that holds with the wanted chance, and the farm with the margin that it was planned and checked with."""

    round: Round
    farm: Farm
    margin_minutes: int
    chance: float
    simulated: tuple[SimulatedDay, ...]


def plan_sure(farm: Farm, make: Callable[[Farm], Round], sure: float, spread: Spread | None = None) -> SureRound:
    """Return a round of the farm that holds on at least this share of simulated days.

    `make` plans and checks a round for a farm. It is asked again with windows and home-by moved earlier by a growing
    margin until the chance against the true ones is reached, and then with smaller margins between the last that failed
    and the first that did. Raises AskedError where `sure` is out of range or no margin up to twelve hours is enough.
    """
    if not LEAST <= sure <= MOST:
        raise AskedError(f"--sure {sure:g} must be from {LEAST:g} to {MOST:g}")
    beliefs = spread or Spread()
    low, high = -1, MOST_MARGIN_MINUTES + 1
    margin = 0
    best: SureRound | None = None
    for _ in range(MOST_PLANS):
        tried = _try(farm, make, margin, beliefs)
        if tried.chance >= sure:
            best, high = tried, margin
        else:
            low = margin
        if high - low <= CLOSE_ENOUGH_MINUTES or high == 0:
            break
        margin = (low + high) // 2 if best else min(max(margin + 1, _margin(tried, sure)), MOST_MARGIN_MINUTES)
    if best is None:
        raise AskedError(f"no plan of that day holds with a chance of {sure:g}; ask for less, or plan fewer jobs")
    return best if best.margin_minutes == 0 else _told(best, sure)


def _try(farm: Farm, make: Callable[[Farm], Round], margin: int, spread: Spread) -> SureRound:
    early = farm.rules.finish_early_minutes + margin
    tight = farm.model_copy(update={"rules": farm.rules.model_copy(update={"finish_early_minutes": early})})
    round_ = make(tight)
    simulated = simulate(round_, spread, finish_early_seconds(tight.rules))
    return SureRound(round_, tight, margin, odds(simulated).chance, simulated)


def _margin(tried: SureRound, sure: float) -> int:
    """Return the margin, in minutes, that would have been enough had the plan been stretched to fill it.

    The plan stays `spare` below its true limits; on the wanted share of days it runs at most `spare + over` behind.
    """
    over = float(np.quantile(np.max([day.lateness for day in tried.simulated], axis=0), sure))
    spare = min(
        min(
            *(day.closes[index] - stop.finish.timestamp() for index, stop in enumerate(day.itinerary.stops)),
            day.home_by - day.itinerary.home.timestamp(),
        )
        for day in tried.simulated
    )
    return int(np.ceil((spare + over) / 60))


def _told(found: SureRound, sure: float) -> SureRound:
    """Return the same with a sentence in the round that says what margin it keeps."""
    own = found.farm.rules.finish_early_minutes - found.margin_minutes
    also = f" (and the {own:g} min of your finish_early_minutes)" if own > 0 else ""
    sentence = (
        f"Planned to hold on {sure:.0%} of simulated days (found: {found.chance:.1%}): windows and home-by are shown "
        f"{found.margin_minutes} min{also} before they truly end; keep that time for what goes wrong. Each crew's "
        f"earliest_start and home_by are your wishes and were not changed; the {found.margin_minutes} min are this "
        "plan's own."
    )
    told = found.round.model_copy(update={"estimates": (*found.round.estimates, sentence)})
    return SureRound(told, found.farm, found.margin_minutes, found.chance, found.simulated)
