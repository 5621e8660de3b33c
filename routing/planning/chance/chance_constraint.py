"""A chance constraint: the least margin found with which the day holds by a wanted chance, as simulated.

Source: A. Charnes, W. W. Cooper, "Chance-constrained programming", Management Science 6 (1959), from memory, not
checked.
"""

from __future__ import annotations

import math
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
MOST_WHOLE = 3
"""Rounds that are planned to their end, once a brief search has shown what margin they need."""

MOST_MARGIN_MINUTES = 720
CLOSE_ENOUGH_MINUTES = 3
"""The margin is not narrowed any further than this."""

CLOSE_ENOUGH_BRIEFLY = 10
"""The same by brief searches, of which two by margins so near may differ more by luck."""

LEAST_SLOPE = 0.001
"""Of a chance, that a minute of margin brings."""

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


def plan_sure(
    farm: Farm,
    make: Callable[[Farm], Round],
    sure: float,
    spread: Spread | None = None,
    sketch: Callable[[Farm], Round] | None = None,
) -> SureRound:
    """Return a round of the farm that holds on at least this share of simulated days.

    `make` plans and checks a round for a farm. It is asked again with windows and home-by moved earlier by a growing
    margin until the chance against the true ones is reached, and then with smaller margins between the last that failed
    and the first that did. Where there is a `sketch`, which does so briefly, that is asked for the margin; what it
    planned is taken only where none of the next few margins makes a round that holds. Raises AskedError where `sure` is
    out of range or no margin up to twelve hours is enough.
    """
    if not LEAST <= sure <= MOST:
        raise AskedError(f"--sure {sure:g} must be from {LEAST:g} to {MOST:g}")
    beliefs = spread or Spread()
    close = CLOSE_ENOUGH_MINUTES if sketch is None else CLOSE_ENOUGH_BRIEFLY
    best, missed = _narrowed(farm, sketch or make, sure, beliefs, close)
    if sketch is not None:
        best = _whole(farm, make, sure, beliefs, best, missed)
    return best if best.margin_minutes == 0 else _told(best, sure)


def _narrowed(
    farm: Farm, make: Callable[[Farm], Round], sure: float, beliefs: Spread, close: int
) -> tuple[SureRound, SureRound | None]:
    """Return the round of the least margin found that holds, and the last before it that does not.

    It is narrowed until both are as `close`, in minutes. The margin between two is that at which a straight line
    through their chances is as sure; an end that stays counts half (the Illinois rule). Source: M. Dowell, P. Jarratt,
    "A modified regula falsi method for computing the root of an equation", BIT 11 (1971), from memory, not checked.
    Raises AskedError.
    """
    best: SureRound | None = None
    missed: SureRound | None = None
    margin, over, short = 0, 0.0, 0.0
    for _ in range(MOST_PLANS):
        tried = _try(farm, make, margin, beliefs)
        if tried.chance >= sure:
            short = short / 2 if best is not None else short  # that it fell on this side again
            best, over = tried, tried.chance - sure
        else:
            over = over / 2 if missed is not None else over
            missed, short = tried, sure - tried.chance
        low = -1 if missed is None else missed.margin_minutes
        if best is None:
            margin = min(max(margin + 1, _margin(tried, sure)), MOST_MARGIN_MINUTES)
        elif best.margin_minutes - low <= close or best.margin_minutes == 0:
            return best, missed
        else:
            apart = best.margin_minutes - low
            margin = low + min(max(math.ceil(short / (short + over) * apart), 1), apart - 1)
    if best is None:
        raise AskedError(f"no plan of that day holds with a chance of {sure:g}; ask for less, or plan fewer jobs")
    return best, missed


def _whole(
    farm: Farm,
    make: Callable[[Farm], Round],
    sure: float,
    beliefs: Spread,
    sketched: SureRound,
    missed: SureRound | None,
) -> SureRound:
    """Return a round planned to its end that holds, with hardly more of a margin than a sketch; else that sketch."""
    margin = sketched.margin_minutes
    for _ in range(MOST_WHOLE):
        tried = _try(farm, make, margin, beliefs)
        if tried.chance >= sure:
            return tried
        lacking = sure - tried.chance
        needed = _margin(tried, sure) if missed is None else margin + math.ceil(lacking / _slope(missed, sketched))
        margin = min(max(margin + CLOSE_ENOUGH_MINUTES, needed), MOST_MARGIN_MINUTES)
    return sketched


def _slope(missed: SureRound, holds: SureRound) -> float:
    """Return how much of a chance a minute of margin brings between two rounds, never quite none."""
    return max(LEAST_SLOPE, (holds.chance - missed.chance) / (holds.margin_minutes - missed.margin_minutes))


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
    """Return the same with a sentence in the round that says what margin it keeps.

    What is proved is told of rounds that keep it too: one without may do more.
    """
    own = found.farm.rules.finish_early_minutes - found.margin_minutes
    also = f" (and the {own:g} min of your finish_early_minutes)" if own > 0 else ""
    sentence = (
        f"Planned to hold on {sure:.0%} of simulated days (found: {found.chance:.1%}): windows and home-by are shown "
        f"{found.margin_minutes} min{also} before they truly end; keep that time for what goes wrong. Each crew's "
        f"earliest_start and home_by are your wishes and were not changed; the {found.margin_minutes} min are this "
        "plan's own."
    )
    among = f"Of rounds that keep {found.margin_minutes} min before windows and home-by end: {found.round.proof.text}"
    proof = found.round.proof.model_copy(update={"text": among})
    told = found.round.model_copy(update={"estimates": (*found.round.estimates, sentence), "proof": proof})
    return SureRound(told, found.farm, found.margin_minutes, found.chance, found.simulated)
