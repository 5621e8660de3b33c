"""The chance that the planned round is done in time, in a sentence, and what would make it nine days of ten.

The days are those of `odds.live` with its own seed and number, so that the plan and `outyard chance` tell the same.
What would help is not reckoned but lived through again, with the change, on the very same days.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from routing.farm.models import BASE, Farm, Rank
from routing.plain_words import chance_words, minutes_words
from routing.planning.chance.recourse import skippable, worth
from routing.planning.chance.simulate import SimulatedDay, days_held, must_stops, musts_held, simulate, simulated_again
from routing.planning.chance.spread import Spread
from routing.round import Chance, ChanceSpread, Itinerary, Round, Stop
from routing.travel.legs import Legs
from routing.weather.limits import finish_early_seconds

WANTED = 0.9
STEP_MINUTES, MOST_SOONER_MINUTES = 5, 120
"""An earlier start is looked for in such steps, up to so much; common practice, no source."""
MOST_SKIPPED = 3
MOST_STOPS = 60
"""In a round of more stops it is not looked for visits to leave out: each is a simulation."""


def with_chance(round_: Round, farm: Farm, legs: Legs) -> Round:
    """Return the round with the chance that it holds; as it is where nothing is planned or a person gave the order."""
    if not round_.itineraries or round_.given_order:
        return round_
    spread, early = Spread.of(farm), finish_early_seconds(farm.rules)
    simulated = simulate(round_, spread, early)
    musts, whole = musts_held(simulated), days_held(simulated)
    chance = Chance(
        days=int(whole.size),
        musts=None if musts is None else float(musts.mean()),
        whole=float(whole.mean()),
        text="",
        spread=ChanceSpread(
            visit=spread.visit.value,
            site=spread.site.value,
            day_work=spread.day_work.value,
            drive=spread.drive.value,
            day_drive=spread.day_drive.value,
            early_seconds=early,
        ),
    )
    told = {"text": _text(chance, round_, farm), "remedies": tuple(_remedies(chance, simulated, round_, farm, legs))}
    return round_.model_copy(update={"chance": chance.model_copy(update=told)})


def must_words(round_: Round) -> str:
    """Return what is planned of the ranks that are never below `must`: `The planned musts`; empty where nothing is."""
    planned = {job.rank for day in round_.itineraries for stop in day.stops for job in stop.jobs}
    names = [name for rank, name in ((Rank.NOW, "now jobs"), (Rank.MUST, "musts")) if rank in planned]
    return f"The planned {' and '.join(names)}" if names else ""


def _text(chance: Chance, round_: Round, farm: Farm) -> str:
    of_days = f"of {chance.days:,} simulated days"
    one_day = len(round_.dates) == 1
    whole, words = "the whole day" if one_day else "every day of the round", chance_words(chance.whole)
    if chance.musts is None:
        every = "The whole day" if one_day else "Every day"
        said = f"{every} (every visit and home in time) holds on {words} {of_days}"
    elif chance_words(chance.musts) == words:
        said = f"{must_words(round_)} and {whole} are in time on {words} {of_days}"
    else:
        musts = f"{must_words(round_)} are in time on {chance_words(chance.musts)} {of_days}"
        said = f"{musts}, {whole} on {words}"
    how = "figures learned from this farm's record"
    return f"{said} ({how if farm.spreads else 'general figures, until this farm has a longer record'})."


def _remedies(
    chance: Chance, simulated: Sequence[SimulatedDay], round_: Round, farm: Farm, legs: Legs
) -> Iterator[str]:
    """Yield what would make the round hold on nine days of ten, each simulated again, or that neither would."""
    if chance.whole >= WANTED:
        return
    sooner = None if round_.start is not None else _sooner(simulated, farm)
    skipped = _skipped(simulated, legs)
    if sooner is not None:
        yield sooner
    if skipped is not None:
        yield skipped


def _sooner(simulated: Sequence[SimulatedDay], farm: Farm) -> str | None:
    """Say by how much sooner all must leave; None where no such start is enough or a break would come too late."""
    for minutes in range(STEP_MINUTES, MOST_SOONER_MINUTES + 1, STEP_MINUTES):
        if not all(_may_leave_sooner(day.itinerary, farm, minutes) for day in simulated):
            return None
        found = [simulated_again(day, sooner=60 * minutes) for day in simulated]
        share = float(days_held(found).mean())
        if share >= WANTED:
            return _sooner_words(simulated, farm, minutes, share)
    return None


def _may_leave_sooner(day: Itinerary, farm: Farm, minutes: int) -> bool:
    """Whether the day's break still comes in time, and loading begins on the same date."""
    crew, more = farm.crew(day.crew), dt.timedelta(minutes=minutes)
    if (day.load_from - more).date() != day.date:
        return False
    if not crew.break_minutes:
        return True
    longest = dt.timedelta(hours=crew.break_after_hours)
    rests = [stop.rest.start for stop in day.stops if stop.rest is not None]
    return (min(rests) if rests else day.home) - day.leave + more <= longest


def _sooner_words(simulated: Sequence[SimulatedDay], farm: Farm, minutes: int, share: float) -> str:
    more = dt.timedelta(minutes=minutes)
    if len(simulated) == 1:
        day = simulated[0].itinerary
        who = f"Leaving base at {day.leave - more:%H:%M}, {minutes_words(minutes)} sooner, with the same stops"
    else:
        whose = "every crew" if len({day.itinerary.date for day in simulated}) == 1 else "every day"
        start = "leaving base" if whose == "every crew" else "beginning"
        who = f"With {whose} {start} {minutes_words(minutes)} sooner, for the same stops"
    wished = any(
        (day.itinerary.load_from - more).time().replace(tzinfo=None) < farm.crew(day.itinerary.crew).earliest_start
        for day in simulated
    )
    but = "; that begins before the earliest start that you gave" if wished else ""
    return f"{who}, the whole would hold on {chance_words(share)} of the same days{but}."


@dataclass(frozen=True)
class _Left:
    """What is still lived through when some stops are left out."""

    days: tuple[SimulatedDay, ...]
    names: tuple[str, ...]

    @property
    def share(self) -> float:
        return float(days_held(self.days).mean())


def _skipped(simulated: Sequence[SimulatedDay], legs: Legs) -> str | None:
    """Say which visits to leave out: the least worthy one that is enough, else up to three, each the most helpful."""
    if sum(len(day.itinerary.stops) for day in simulated) > MOST_STOPS:
        return None
    left = _Left(tuple(simulated), ())
    for _ in range(MOST_SKIPPED):
        tries = sorted(_without_one(left, legs), key=lambda one: one[0])
        if not tries:
            return None
        enough = next((tried for _, tried in tries if tried.share >= WANTED), None)
        if enough is not None:
            names = " and ".join(enough.names)
            return (
                f"Leaving out {names}, with the rest as planned, the whole would hold on "
                f"{chance_words(enough.share)} of the same days."
            )
        least = tries[0][0]
        left = max((tried for how, tried in tries if how == least), key=lambda tried: tried.share)
    return None


def _without_one(left: _Left, legs: Legs) -> Iterator[tuple[tuple[bool, ...], _Left]]:
    """Yield with its ranks what is left without each stop that may be skipped; a crew's last stop is kept."""
    for number, day in enumerate(left.days):
        stops = day.itinerary.stops
        for index, stop in enumerate(stops):
            if len(stops) == 1 or not skippable(stop):
                continue
            direct = _direct(day.itinerary, index, legs)
            if direct is None:
                continue
            others = list(left.days)
            others[number] = simulated_again(day, skipped=index, direct=direct)
            ranks = tuple(bool(points) for points in worth(stop))
            urgent = index in must_stops(day.itinerary)
            name = f"{stop.name} (work that must be done)" if urgent else stop.name
            yield ranks, _Left(tuple(others), (*left.names, name))


def _direct(day: Itinerary, index: int, legs: Legs) -> int | None:
    """Return the seconds past a stop, from the place before to the one after; None where there is no way."""
    if index == 0 and day.stops[0].drive.seconds != _seconds(legs, day, BASE, day.stops[0]):
        return None  # the rest of a day begins elsewhere
    before = BASE if index == 0 else day.stops[index - 1].site
    after = day.stops[index + 1] if index + 1 < len(day.stops) else None
    seconds = _seconds(legs, day, before, after)
    return None if seconds < 0 else seconds


def _seconds(legs: Legs, day: Itinerary, start: str, stop: Stop | None) -> int:
    way = legs.of(day.vehicle)
    return int(way.seconds[way.index(start), way.index(BASE if stop is None else stop.site)])
