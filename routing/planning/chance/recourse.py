"""What to drop when a day runs late: for each stop the hour after which the rest no longer fits, found by simulation.

On every simulated day the latest moment is reckoned, backwards from home, at which a stop may be left so that all the
rest is still in time. A day that runs late is also a slow day, so that moment is taken together with the moment at
which the stop is left on the same simulated day: a straight line through both (least squares) and the days' distances
from it give the chance for any moment of leaving. Source of the idea: regression on simulated paths, Longstaff and
Schwartz, "Valuing American options by simulation", Review of Financial Studies 14(1), 2001.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np

from routing.farm.models import BASE, Rank
from routing.planning.chance.simulate import Seconds, SimulatedDay, moment
from routing.round import Stop
from routing.travel.legs import Legs

EVEN = 0.5
"""A stop is dropped once the rest is more likely to fail than not."""
LEAST_NEED = 0.01
"""Advice that is needed on fewer days than this is not given."""
LEAST_GAIN_SECONDS = 300.0
"""A stop whose dropping gains less is no help."""
STEEPEST = 0.9


@dataclass(frozen=True)
class Drop:
    """If `leaving` is left after `after`, skip stop `skip_number`; that helps as long as it is left before `until`."""

    crew: str
    date: dt.date
    leaving: str
    leaving_number: int
    leave: dt.datetime
    """As planned."""
    after: dt.datetime
    skip: str
    skip_number: int
    until: dt.datetime
    need: float
    """The share of days on which the stop is left so late."""


def drops(day: SimulatedDay, legs: Legs, vehicle: str) -> tuple[Drop, ...]:
    """Return for each stop at which it must be decided what to drop when it is left too late, where that may happen.

    What is dropped later can be decided later, so a stop has advice only where it is the next one that should go.
    """
    way = legs.of(vehicle)
    latest = _latest(day)
    found = (_drop_at(day, way, place, latest) for place in range(len(day.itinerary.stops) - 1))
    return tuple(drop for drop in found if drop is not None)


def latest_leaving(left: Seconds, latest: Seconds, chance: float) -> float | None:
    """Return the latest second to leave at which the rest still fits with this chance, None where it never does.

    `left` and `latest`, shape (days,): when the stop is left, and when it may be left at the latest (minus infinity
    where no time will do), on the same days.
    """
    usable = np.isfinite(latest)
    needed = int(np.ceil(chance * latest.size))
    if usable.sum() < max(needed, 1):
        return None
    x, y = left[usable], latest[usable]
    spread = x - x.mean()
    variance = float(spread @ spread)
    slope = (
        min(float(spread @ (y - y.mean())) / variance, STEEPEST) if variance > x.size else 0.0
    )  # days that differ by a second do not tell
    rest = y - y.mean() - slope * spread
    kept = rest.size - max(needed, 1)
    least = float(np.partition(rest, kept)[kept])  # so many days lie at or above it
    return float((y.mean() - slope * x.mean() + least) / (1 - slope))


def _latest(day: SimulatedDay) -> list[Seconds]:
    """Return for each stop the latest moment of leaving it, on each day, with which all the rest is in time."""
    latest: list[Seconds] = [day.home_by - day.drives[-1]]
    for place in range(len(day.itinerary.stops) - 1, 0, -1):
        latest.append(_before(day, place, latest[-1], day.drives[place]))
    return latest[::-1]


def _before(day: SimulatedDay, place: int, leave: Seconds, drive: Seconds) -> Seconds:
    """Return the latest moment to leave for stop `place` by this drive when it must be left by `leave`."""
    start = np.minimum(day.closes[place], leave) - day.work[place]
    return np.where(start >= day.opens[place], start - drive, -np.inf)


def _without(day: SimulatedDay, legs: Legs, place: int, skipped: int, latest: list[Seconds]) -> Seconds | None:
    """Return the latest moment to leave `place` when a later stop is skipped; a break beside it is still taken."""
    stops = day.itinerary.stops
    start = legs.index(stops[skipped - 1].site)
    last = skipped == len(stops) - 1
    end = legs.index(BASE if last else stops[skipped + 1].site)
    direct = int(legs.seconds[start, end])
    if direct < 0:
        return None
    drive = direct * day.drive_factors[skipped + 1] + day.rests[skipped : skipped + 2].sum()
    now = day.home_by - drive if last else _before(day, skipped + 1, latest[skipped + 1], drive)
    for between in range(skipped - 1, place, -1):
        now = _before(day, between, now, day.drives[between])
    return now


def _drop_at(day: SimulatedDay, legs: Legs, place: int, latest: list[Seconds]) -> Drop | None:
    left = day.finishes[place]
    after = latest_leaving(left, latest[place], EVEN)
    need = 1.0 if after is None else float((left > after).mean())
    if after is None or need < LEAST_NEED:
        return None
    plan = day.itinerary
    helpful = _most_helpful(day, legs, place, latest, after)
    if helpful is None or helpful[0] != place + 1:
        return None
    stop, skip = plan.stops[place], plan.stops[place + 1]
    return Drop(
        crew=plan.crew,
        date=plan.date,
        leaving=stop.name,
        leaving_number=stop.number,
        leave=stop.finish,
        after=moment(after // 60 * 60, stop.finish),
        skip=skip.name,
        skip_number=skip.number,
        until=moment(helpful[1] // 60 * 60, stop.finish),
        need=need,
    )


def _most_helpful(
    day: SimulatedDay, legs: Legs, place: int, latest: list[Seconds], after: float
) -> tuple[int, float] | None:
    """Return the later stop to skip and until when that helps: the least worthy, then the one that gains the most.

    The two ends of a move of hives are never among them: neither is made without the other; nor is base, where the
    crew loads for what follows.
    """
    found = []
    for skipped in range(place + 1, len(day.itinerary.stops)):
        stop = day.itinerary.stops[skipped]
        if not skippable(stop):
            continue
        without = _without(day, legs, place, skipped, latest)
        until = None if without is None else latest_leaving(day.finishes[place], without, EVEN)
        if until is not None and until >= after + LEAST_GAIN_SECONDS:
            found.append((worth(day.itinerary.stops[skipped]), -until, skipped))
    if not found:
        return None
    _, minus_until, skipped = min(found)
    return skipped, -minus_until


def skippable(stop: Stop) -> bool:
    """Return whether a stop may be left out alone: no end of a move of hives, and not base, where the crew loads."""
    return stop.set_down is None and stop.load_again is None and not any(job.to for job in stop.jobs)


def worth(stop: Stop) -> tuple[int, ...]:
    """Return how much a stop's jobs matter, rank by rank: no number of lesser jobs outweighs one greater."""
    return tuple(sum(7 + job.days_overdue for job in stop.jobs if job.rank is rank) for rank in Rank)
