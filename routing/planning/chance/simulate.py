"""The chance that a planned round is done in time: the planned order lived through on many simulated days.

Every drive and visit takes its planned seconds times a log-normal factor (see `Spread`); breaks and opening hours are
kept as planned, and a crew that is early waits. No stop is dropped: a visit counts as done in time when it ends before
its window closes, and a day holds when every visit does and the crew is home by its time.

Source: crude Monte Carlo; the standard error of a chance p from n days is the root of p (1 - p) / n, at most 0.005
for 10,000 days.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import Rank
from routing.planning.chance.spread import Spread
from routing.round import Itinerary, Round

DAYS = 10_000
SEED = 20_240_229
"""Any number will do; the same one gives the same chances."""
LATE_SHARE = 0.9
"""`late` times are those by which so great a share of days has got there."""

Seconds = NDArray[np.float64]


@dataclass(frozen=True)
class StopOdds:
    """One stop: how likely its work is done before its window closes."""

    number: int
    site: str
    name: str
    finish: dt.datetime
    """As planned."""
    late_finish: dt.datetime
    """On nine days of ten it is done by then."""
    closes: dt.datetime
    """When work must end in truth, whatever margin the plan keeps."""
    chance: float


@dataclass(frozen=True)
class CrewOdds:
    """One crew's day."""

    crew: str
    crew_name: str
    date: dt.date
    stops: tuple[StopOdds, ...]
    home: dt.datetime
    late_home: dt.datetime
    home_by: dt.datetime
    home_chance: float
    chance: float
    """That every visit is done in time and the crew is home in time."""


@dataclass(frozen=True)
class Odds:
    """All crews' days. `chance` is that every one of them holds."""

    crews: tuple[CrewOdds, ...]
    chance: float
    days: int


@dataclass(frozen=True, eq=False)
class SimulatedDay:
    """One itinerary lived through; seconds since 1970, arrays of shape (days,) or (stops, days)."""

    itinerary: Itinerary
    leave: float
    drives: Seconds
    """Shape (stops + 1, days): to each stop, and home, with the break where it comes before or after the drive."""
    rests: Seconds
    """Shape (stops + 1,): the break, before the work of that stop."""
    drive_factors: Seconds
    """Shape (stops + 1, days): real over planned."""
    work: Seconds
    """Shape (stops, days): on site, the break not counted."""
    opens: Seconds
    """Shape (stops,)."""
    closes: Seconds
    """Shape (stops,)."""
    home_by: float
    finishes: Seconds
    """Shape (stops, days)."""
    home: Seconds
    """Shape (days,)."""

    @property
    def lateness(self) -> Seconds:
        """Shape (days,): by how much the worst of windows and home-by is missed, below zero where all is kept."""
        worst = (self.finishes - self.closes[:, None]).max(axis=0)
        return np.maximum(worst, self.home - self.home_by)


def simulate(
    round_: Round, spread: Spread, early_seconds: int = 0, days: int = DAYS, seed: int = SEED
) -> tuple[SimulatedDay, ...]:
    """Return every itinerary of the round lived through on the same simulated days.

    `early_seconds` is by how much the round was planned to finish before it must (`finish_early_minutes`).
    """
    dice = np.random.default_rng(seed)
    sites = _factors(dice, (stop.site for plan in round_.itineraries for stop in plan.stops), spread.site.value, days)
    dates = [str(plan.date) for plan in round_.itineraries]
    work_of = _factors(dice, dates, spread.day_work.value, days)
    drive_of = _factors(dice, dates, spread.day_drive.value, days)
    return tuple(
        _simulated(
            plan,
            np.exp(drive_of[str(plan.date)] + dice.normal(0, spread.drive.value, (len(plan.stops) + 1, days))),
            np.exp(
                work_of[str(plan.date)]
                + np.array([sites[stop.site] for stop in plan.stops])
                + dice.normal(0, spread.visit.value, (len(plan.stops), days))
            ),
            early_seconds,
        )
        for plan in round_.itineraries
    )


def odds(simulated: tuple[SimulatedDay, ...]) -> Odds:
    """Return the chances of a round that was lived through; a round without itineraries holds for certain."""
    if not simulated:
        return Odds((), 1.0, 0)
    held = days_held(simulated)
    return Odds(tuple(_crew_odds(day) for day in simulated), float(held.mean()), held.size)


def days_held(simulated: Sequence[SimulatedDay]) -> NDArray[np.bool_]:
    """Return for each simulated day whether every visit is done in time and every crew home in time, shape (days,)."""
    return np.asarray(np.logical_and.reduce([day.lateness <= 0 for day in simulated]), dtype=np.bool_)


def musts_held(simulated: Sequence[SimulatedDay]) -> NDArray[np.bool_] | None:
    """Return for each simulated day whether all that must be done is done in time, None where nothing planned must.

    Shape (days,). Hives of a move are done with when they are set down.
    """
    kept = [day.finishes[index] <= day.closes[index] for day in simulated for index in must_stops(day.itinerary)]
    return np.logical_and.reduce(kept) if kept else None


def must_stops(plan: Itinerary) -> list[int]:
    """Return the indices of the stops with work of rank `must` or above, and of those where its hives are set down."""
    urgent = set(list(Rank)[: list(Rank).index(Rank.MUST) + 1])
    jobs = {job.id for stop in plan.stops for job in stop.jobs if job.rank in urgent}
    return [
        index
        for index, stop in enumerate(plan.stops)
        if any(job.id in jobs for job in stop.jobs) or (stop.set_down is not None and stop.set_down.job in jobs)
    ]


def simulated_again(
    day: SimulatedDay, *, sooner: float = 0, skipped: int | None = None, direct: int = 0
) -> SimulatedDay:
    """Return the day lived through again, left so many seconds sooner, or without one stop.

    The break beside a skipped stop is still taken; `direct` are the planned seconds from the place before it to the
    one after. All else happens as it did.
    """
    leave = day.leave - sooner
    if skipped is None:
        finishes, home = _clock(leave, day.drives, day.opens, day.work)
        return replace(day, leave=leave, finishes=finishes, home=home)
    rests = np.delete(day.rests, skipped)
    rests[skipped] += day.rests[skipped]
    factors, drives = np.delete(day.drive_factors, skipped, axis=0), np.delete(day.drives, skipped, axis=0)
    drives[skipped] = direct * factors[skipped] + rests[skipped]
    work, opens = np.delete(day.work, skipped, axis=0), np.delete(day.opens, skipped)
    finishes, home = _clock(leave, drives, opens, work)
    stops = (*day.itinerary.stops[:skipped], *day.itinerary.stops[skipped + 1 :])
    return replace(
        day,
        itinerary=day.itinerary.model_copy(update={"stops": stops}),
        leave=leave,
        drives=drives,
        rests=rests,
        drive_factors=factors,
        work=work,
        opens=opens,
        closes=np.delete(day.closes, skipped),
        finishes=finishes,
        home=home,
    )


def _clock(leave: float, drives: Seconds, opens: Seconds, work: Seconds) -> tuple[Seconds, Seconds]:
    """Return when each stop is finished, shape (stops, days), and when the crew is home, shape (days,)."""
    now: Seconds = np.full(drives.shape[1], leave)
    finishes = np.empty_like(work)
    for index in range(len(work)):
        now = np.maximum(now + drives[index], opens[index]) + work[index]
        finishes[index] = now
    return finishes, now + drives[-1]


def _factors(dice: np.random.Generator, keys: Iterable[str], sd: float, days: int) -> dict[str, Seconds]:
    """Return for each different key, in sorted order, its log factor on each day."""
    return {key: dice.normal(0, sd, days) for key in sorted(set(keys))}


def _simulated(plan: Itinerary, drive_factors: Seconds, work_factors: Seconds, early_seconds: int) -> SimulatedDay:
    planned = np.array([*(stop.drive.seconds for stop in plan.stops), plan.drive_home.seconds], dtype=np.float64)
    on_site = np.array([stop.on_site_seconds for stop in plan.stops], dtype=np.float64)
    rests = np.zeros(len(planned))
    for index, stop in enumerate(plan.stops):
        if stop.rest is not None:  # before the work of its stop or after it, it lies between two stops' work
            rests[index if stop.rest.start < stop.start else index + 1] = stop.rest.seconds
    drives = planned[:, None] * drive_factors + rests[:, None]
    work = on_site[:, None] * work_factors
    opens = np.array([stop.window_opens.timestamp() for stop in plan.stops])
    leave = plan.leave.timestamp()
    finishes, home = _clock(leave, drives, opens, work)
    return SimulatedDay(
        itinerary=plan,
        leave=leave,
        drives=drives,
        rests=rests,
        drive_factors=drive_factors,
        work=work,
        opens=opens,
        closes=np.array([stop.window_closes.timestamp() + early_seconds for stop in plan.stops]),
        home_by=plan.home_by.timestamp() + early_seconds,
        finishes=finishes,
        home=home,
    )


def _crew_odds(day: SimulatedDay) -> CrewOdds:
    plan = day.itinerary
    in_time = (day.finishes <= day.closes[:, None]).mean(axis=1)
    late = np.quantile(day.finishes, LATE_SHARE, axis=1)
    return CrewOdds(
        crew=plan.crew,
        crew_name=plan.crew_name,
        date=plan.date,
        stops=tuple(
            StopOdds(
                number=stop.number,
                site=stop.site,
                name=stop.name,
                finish=stop.finish,
                late_finish=moment(late[index], stop.finish),
                closes=moment(day.closes[index], stop.finish),
                chance=float(in_time[index]),
            )
            for index, stop in enumerate(plan.stops)
        ),
        home=plan.home,
        late_home=moment(float(np.quantile(day.home, LATE_SHARE)), plan.home),
        home_by=moment(day.home_by, plan.home),
        home_chance=float((day.home <= day.home_by).mean()),
        chance=float((day.lateness <= 0).mean()),
    )


def moment(second: float, like: dt.datetime) -> dt.datetime:
    """Return seconds since 1970, rounded down, in the zone of another moment."""
    return dt.datetime.fromtimestamp(int(second), tz=dt.UTC).astimezone(like.tzinfo)
