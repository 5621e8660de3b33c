"""A round put in order by hand: every state of it, each timed and checked as it is made, with undo and redo."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from routing.errors import AskedError
from routing.farm.models import Farm
from routing.round import Breach, Round
from routing.stages.own_days import GivenDay, OwnDays, Pinned, given_in, own_days, written_round

MOST_STATES = 500
"""So many states are kept; the oldest go first."""

CrewDay = tuple[str, dt.date]


class Pin(StrEnum):
    """How a stop is pinned."""

    DAY = "day"
    """To its crew and day."""
    PLACE = "place"
    """To its place among the other stops so pinned, too."""


@dataclass(frozen=True)
class State:
    """One state of the days, from which the next is made; nothing of it ever changes."""

    farm: Farm
    """As the folder has it, or as it would be where something is assumed."""
    basis: Round
    """The checked round that the days began from."""
    days: tuple[GivenDay, ...]
    """Every crew-day on which somebody goes out."""
    pins: Mapping[str, Pin] = field(default_factory=dict)
    """By job."""
    assumed: tuple[str, ...] = ()
    """What the folder does not say and this round rests on, a sentence each."""
    told: str = ""
    """What was done to come here."""

    @property
    def untouched(self) -> bool:
        """Whether the days are those of the round that they began from."""
        return set(self.days) == set(given_in(self.basis))


@dataclass(frozen=True)
class Shown:
    """A state as it is timed: a checked round, or the days with what they break."""

    round: Round
    breaches: tuple[Breach, ...] = ()
    untimed: tuple[GivenDay, ...] = ()

    @property
    def holds(self) -> bool:
        """Whether every rule is kept, by the timing and by the check."""
        return not self.breaches


class Trial:
    """The states of one round from the first to the last, and the one that is looked at."""

    def __init__(self, farm: Farm, round_: Round, *, sound: bool = True, assumed: tuple[str, ...] = ()) -> None:
        """Begin from a round that has passed the check, or, where not `sound`, has to pass it now."""
        self.states = [State(farm, round_, given_in(round_), assumed=assumed)]
        self.at, self._sound, self._farm = 0, sound, farm
        self.version = 0
        """Raised with every change, undo and redo, so that a page knows whether it saw the latest."""
        self._ready: list[tuple[Farm, Round, OwnDays]] = []
        self._shown: dict[int, Shown] = {}

    @property
    def state(self) -> State:
        """The state that is looked at."""
        return self.states[self.at]

    @property
    def files(self) -> Farm:
        """The farm as its files were when these days were begun, or written there last."""
        return self._farm

    @property
    def may_undo(self) -> bool:
        """Whether there is a state before this one."""
        return self.at > 0

    @property
    def may_redo(self) -> bool:
        """Whether there is a state after this one."""
        return self.at + 1 < len(self.states)

    @property
    def ready(self) -> OwnDays:
        """What times and checks this state: made once for every farm and cut of its jobs."""
        state = self.state
        for farm, basis, days in self._ready:
            if farm is state.farm and basis is state.basis:
                return days
        made = own_days(state.farm, state.basis)
        self._ready = [*self._ready[-3:], (state.farm, state.basis, made)]
        return made

    def shown(self) -> Shown:
        """Return this state timed. Raises what `own_days` raises."""
        found = self._shown.get(id(self.state))
        if found is None:
            found = self._timed()
            self._shown = {**{id(s): self._shown[id(s)] for s in self.states if id(s) in self._shown}}
            self._shown[id(self.state)] = found
        return found

    def stale(self, farm: Farm) -> bool:
        """Return whether the farm's files say something else now than when these days were begun."""
        return self._farm is not farm and self._farm != farm

    def is_written(self, farm: Farm) -> bool:
        """Return whether the round that these days began from stands in the farm's folder."""
        return written_round(farm, self.state.basis.dates) == self.state.basis

    def written(self, farm: Farm, round_: Round) -> None:
        """Note that these days are written as this round, of the farm as its files are."""
        self._farm = farm
        state = replace(self.state, farm=farm, basis=round_)
        self.states[self.at] = state
        self.version += 1

    def stands_in_files(self, farm: Farm) -> None:
        """Note that the farm's files say now all that these days rest on."""
        self._farm = farm
        self.states[self.at] = replace(self.state, farm=farm, assumed=())
        self.version += 1

    def _timed(self) -> Shown:
        basis = self.state.basis
        if self.state.untouched and (self._sound or basis is not self.states[0].basis or not self.ready.broken(basis)):
            return Shown(basis)
        found = self.ready.tried(self.state.days)
        return Shown(found.round, found.breaches, found.untimed)

    def undo(self) -> None:
        """Go back by one state, where there is one."""
        self._go(self.at - 1)

    def redo(self) -> None:
        """Go on by one state, where there is one."""
        self._go(self.at + 1)

    def _go(self, at: int) -> None:
        if 0 <= at < len(self.states):
            self.at, self.version = at, self.version + 1

    def become(self, state: State) -> None:
        """Make this the state after the one that is looked at; what was undone is gone."""
        self.states = [*self.states[: self.at + 1], state][-MOST_STATES:]
        self.at, self.version = len(self.states) - 1, self.version + 1

    def move(self, job: str, crew_day: CrewDay, place: int) -> None:
        """Move the stop with this job to a place, from 0, of a crew's day: its own or another. Raises AskedError."""
        self._refuse_not_out(crew_day)
        stop, rest = self._taken(job)
        stops = _stops_of(rest, crew_day)
        at = max(0, min(place, len(stops)))
        days = _with(rest, crew_day, (*stops[:at], stop, *stops[at:]))
        if set(days) != set(self.state.days):
            self._change(days, f"{self.name_of(stop)} moved")

    def send(self, job: str, crew_day: CrewDay) -> None:
        """Send the stop with this job to another crew or day, where it breaks least there. Raises AskedError."""
        self._refuse_not_out(crew_day)
        stop, rest = self._taken(job)
        self._change(self.ready.placed(rest, stop, [crew_day]), f"{self.name_of(stop)} sent elsewhere")

    def drop(self, job: str) -> None:
        """Take the stop with this job out of the days. Raises AskedError."""
        stop, rest = self._taken(job)
        pins = {each: pin for each, pin in self.state.pins.items() if each not in stop}
        self._change(rest, f"{self.name_of(stop)} left out", pins)

    def add(self, jobs: tuple[str, ...], crew_day: CrewDay | None = None) -> None:
        """Put left-out jobs of one site in where they break least, into one crew's day or any. Raises AskedError."""
        done = {job for day in self.state.days for stop in day.stops for job in stop}
        wanted = tuple(job for job in jobs if job not in done)
        unknown = [job for job in jobs if job not in self.ready.days.tasks]
        if unknown or not wanted:
            raise AskedError("there is nothing of this left to add")
        if crew_day is not None:
            self._refuse_not_out(crew_day)
        into = self.ready.crew_days if crew_day is None else (crew_day,)
        self._change(self.ready.placed(self.state.days, wanted, into), f"{self.name_of(wanted)} added")

    def pin(self, job: str, pin: Pin | None) -> None:
        """Pin the stop with this job, or take its pin out. Raises AskedError."""
        stop, _ = self._taken(job)
        pins = {each: old for each, old in self.state.pins.items() if each not in stop}
        if pin is not None:
            pins |= dict.fromkeys(stop, pin)
        words = "unpinned" if pin is None else "pinned"
        self._change(self.state.days, f"{self.name_of(stop)} {words}", pins)

    def planned(self, farm: Farm, round_: Round, told: str, assumed: tuple[str, ...] = ()) -> None:
        """Go on from another checked round of these dates, of the farm as it is or as it would be."""
        self._farm = farm if not assumed else self._farm
        done = {job for day in given_in(round_) for stop in day.stops for job in stop}
        pins = {job: pin for job, pin in self.state.pins.items() if job in done}
        self.become(State(farm, round_, given_in(round_), pins, assumed, told))

    def pinned(self, every: Pin | None = None) -> tuple[Pinned, ...]:
        """Return what is pinned, in the order of its days; where `every` is given, all stops as if pinned so."""
        found = []
        for day in self.state.days:
            for number, stop in enumerate(day.stops):
                kinds = {self.state.pins[job] for job in stop if job in self.state.pins}
                kinds = kinds if every is None else {every}
                if kinds:
                    placed = Pin.PLACE in kinds
                    ends = (placed and number == 0, placed and number == len(day.stops) - 1)
                    found.append(Pinned(day.crew, day.date, stop, placed, *ends))
        return tuple(found)

    @property
    def crew_names(self) -> dict[str, str]:
        """The names of the farm's crews by their ids."""
        return {crew.id: crew.name for crew in self.state.farm.crews}

    def name_of(self, jobs: Sequence[str]) -> str:
        """Return the name of the site of these jobs."""
        instance = self.ready.days.instance
        return instance.farm.site(instance.jobs[self.ready.days.tasks[jobs[0]]].site).name

    def _change(self, days: Sequence[GivenDay], told: str, pins: Mapping[str, Pin] | None = None) -> None:
        order = {crew_day: number for number, crew_day in enumerate(self.ready.crew_days)}
        kept = sorted((day for day in days if day.stops), key=lambda day: order[day.crew, day.date])
        kinds = self.state.pins if pins is None else pins
        self.become(replace(self.state, days=tuple(kept), pins=kinds, told=told))

    def _taken(self, job: str) -> tuple[tuple[str, ...], tuple[GivenDay, ...]]:
        """Return the stop with this job, and the days without it."""
        stop = next((stop for day in self.state.days for stop in day.stops if job in stop), None)
        if stop is None:
            raise AskedError("that stop is not in the round any more")
        rest = (replace(day, stops=tuple(one for one in day.stops if one != stop)) for day in self.state.days)
        return stop, tuple(rest)

    def _refuse_not_out(self, crew_day: CrewDay) -> None:
        if crew_day not in self.ready.crew_days:
            raise AskedError("that crew is not out on that day")


def _stops_of(days: Sequence[GivenDay], crew_day: CrewDay) -> tuple[tuple[str, ...], ...]:
    return next((day.stops for day in days if (day.crew, day.date) == crew_day), ())


def _with(days: Sequence[GivenDay], crew_day: CrewDay, stops: tuple[tuple[str, ...], ...]) -> tuple[GivenDay, ...]:
    others = tuple(day for day in days if (day.crew, day.date) != crew_day)
    return (*others, GivenDay(*crew_day, stops))
