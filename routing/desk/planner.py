"""What is planned at a desk for one farm: the days put in order by hand, the search under way, and what it offers."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from enum import StrEnum
from threading import RLock

from routing import stages
from routing.desk.runs import Run, Runs
from routing.desk.searcher import Asked
from routing.desk.trial import Pin, Trial
from routing.errors import AskedError, OutyardError
from routing.farm.models import Farm
from routing.round import LeftOut, Remedy, RemedyKind, Round

Dates = tuple[dt.date, ...]


class Kind(StrEnum):
    """What a search is for."""

    PLAN = "plan"
    AROUND = "around"
    OFFER = "offer"


@dataclass(frozen=True)
class _Purpose:
    kind: Kind
    dates: Dates
    title: str
    assumed: tuple[tuple[str, ...], ...] = ()
    """For each round that is asked for, what it rests on that the folder does not say."""
    beside: Round | None = None
    """What an offer is compared with; its first round where that is none."""
    files: Farm | None = None
    """Of an offer: the farm as its files were."""
    remedy: RemedyKind | None = None
    jobs: tuple[str, ...] = ()
    """Of a remedy: the jobs that it is for."""


@dataclass(frozen=True)
class Offered:
    """One round of an offer."""

    words: str
    farm: Farm
    round: Round
    assumed: tuple[str, ...]


@dataclass(frozen=True)
class Offer:
    """Rounds to choose from, each beside the same one."""

    title: str
    beside: Round
    rows: tuple[Offered, ...]
    files: Farm | None = None
    """The farm as its files were when it was asked for."""
    remedy: RemedyKind | None = None
    """Which kind of remedy it is, None for a what-if."""
    jobs: tuple[str, ...] = ()
    """The jobs that a remedy is for."""

    def named(self, row: int) -> str:
        """Return what one of its rounds is called."""
        return self.title if len(self.rows) == 1 else f"{self.title}: {self.rows[row].words}"


class Planner:
    """All that is planned of one farm, by its dates; every method is safe to call from any thread."""

    def __init__(self) -> None:
        self.runs = Runs()
        self.trials: dict[Dates, Trial] = {}
        self.offers: dict[Dates, Offer] = {}
        self.trouble: dict[Dates, str] = {}
        self._settled: Run | None = None
        self._lock = RLock()

    def trial(self, farm: Farm, dates: Dates) -> Trial | None:
        """Return the days being put in order; begun from the round that is written, None where there is none."""
        with self._lock:
            self.settle()
            if dates not in self.trials:
                written = stages.own_days.written_round(farm, dates)
                if written is not None:
                    self.trials[dates] = Trial(farm, written, sound=False)
            return self.trials.get(dates)

    def begin_again(self, dates: Dates) -> None:
        """Forget the days as they were put in order: what is written counts again."""
        with self._lock:
            self.trials.pop(dates, None)
            self.offers.pop(dates, None)
            self.trouble.pop(dates, None)

    def plan(self, farm: Farm, dates: Dates, seconds: int | None, *, even: bool) -> None:
        """Begin the search for the best round. Raises AskedError where another search is under way."""
        self._begin(_Purpose(Kind.PLAN, dates, "Plan"), Asked("the round", farm, dates, seconds, even))

    def around(self, trial: Trial, dates: Dates, seconds: int | None) -> None:
        """Begin the search for a round around what is pinned. Raises AskedError where nothing is."""
        pins = trial.pinned()
        if not pins:
            raise AskedError("nothing is pinned: pin a stop first, or plan without pins")
        state = trial.state
        asked = Asked("around the pins", state.farm, dates, seconds, pins=pins, around=state.basis)
        self._begin(_Purpose(Kind.AROUND, dates, "Planned around the pins", (state.assumed,)), asked)

    def what_if(self, farm: Farm, dates: Dates, changes: stages.ask.Changes, seconds: int | None) -> None:
        """Begin to plan the days as they are and with each change. Raises AskedError where nothing is changed."""
        asked = stages.ask.as_if(farm, changes)
        if len(asked) == 1:
            raise AskedError("say what to change")
        singles = [words for words, _ in changes.alone()]
        assumed = [(), *((words,) for words in singles), tuple(singles)][: len(asked)]
        searches = (Asked(words, each, dates, seconds) for words, each in asked)
        self._begin(_Purpose(Kind.OFFER, dates, "What if", tuple(assumed), files=farm), *searches)

    def remedy(self, trial: Trial, dates: Dates, left: LeftOut, remedy: Remedy, seconds: int | None) -> None:
        """Begin to plan with a remedy, to tell its price. Raises AskedError for one that nobody can give."""
        state, title = trial.state, f"{left.name}: {remedy.text}"
        jobs = tuple(job.id for job in left.jobs)
        beside = trial.shown().round
        purpose = _Purpose(Kind.OFFER, dates, title, (state.assumed,), beside, trial.files, remedy.kind, jobs)
        if remedy.kind is RemedyKind.LEAVE_OUT and left.insertion is not None:
            pins = (
                *trial.pinned(),
                stages.own_days.Pinned(left.insertion.crew, left.insertion.date, jobs),
            )
            asked = Asked(remedy.text, state.farm, dates, seconds, pins=pins, around=state.basis)
        elif remedy.kind is RemedyKind.OTHER_DAY:
            other = dates[-1] + dt.timedelta(days=int(remedy.amount))
            asked = Asked(remedy.text, state.farm, (*dates, other), seconds, pins=_as_they_are(trial), later=jobs)
        else:
            found = stages.own_days.remedied(state.farm, left, remedy)
            if found is None:
                raise AskedError("this is not the desk's to give; the sentence tells what it would take")
            asked = Asked(remedy.text, found.farm, dates, seconds)
            purpose = replace(purpose, assumed=((*state.assumed, found.words),))
        self._begin(purpose, asked)

    def take(self, dates: Dates, row: int) -> Dates:
        """Go on from a round that is offered; return its dates. Raises AskedError where there is none."""
        with self._lock:
            one = self.offered(dates, row)
            self._adopt(one.farm, one.round.dates, one.round, self.offers[dates].named(row), one.assumed)
            del self.offers[dates]
            return one.round.dates

    def take_as_written(self, farm: Farm, dates: Dates, row: int) -> None:
        """Go on from an offered round that the farm's files say all of now. Raises AskedError where there is none."""
        with self._lock:
            one = self.offered(dates, row)
            self._adopt(farm, one.round.dates, one.round, self.offers[dates].named(row), ())
            del self.offers[dates]

    def offered(self, dates: Dates, row: int) -> Offered:
        """Return a round that is offered. Raises AskedError where there is none."""
        offer = self.offers.get(dates)
        if offer is None or not 0 <= row < len(offer.rows):
            raise AskedError("this is not offered any more")
        return offer.rows[row]

    def decline(self, dates: Dates) -> None:
        """Leave everything as it was."""
        with self._lock:
            self.offers.pop(dates, None)
            self.trouble.pop(dates, None)

    def settle(self) -> None:
        """Take over what a search that is over has found, once."""
        with self._lock:
            run = self.runs.run
            if run is None or run is self._settled or run.standing.running:
                return
            self._settled = run
            purpose = run.purpose
            if not isinstance(purpose, _Purpose):
                return
            rounds = list(run.rounds)
            trouble = run.standing.trouble
            if not rounds and run.cut_short and purpose.kind is Kind.PLAN:
                rounds, trouble = _rescued(run)
            if rounds and purpose.kind is Kind.OFFER:
                rows = zip(run.asked, rounds, purpose.assumed, strict=False)
                offered = tuple(Offered(one.words, one.farm, found, assumed) for one, found, assumed in rows)
                beside = purpose.beside or rounds[0]
                self.offers[purpose.dates] = Offer(
                    purpose.title, beside, offered, purpose.files, purpose.remedy, purpose.jobs
                )
            elif rounds:
                assumed = purpose.assumed[0] if purpose.assumed else ()
                self._adopt(run.asked[0].farm, purpose.dates, rounds[0], purpose.title, assumed)
            self.trouble[purpose.dates] = trouble

    def _begin(self, purpose: _Purpose, *asked: Asked) -> None:
        with self._lock:
            self.settle()
            told_why = purpose.kind is not Kind.OFFER
            self.runs.begin(purpose, *(replace(one, explained=told_why) for one in asked))
            self.offers.pop(purpose.dates, None)
            self.trouble.pop(purpose.dates, None)

    def _adopt(self, farm: Farm, dates: Dates, round_: Round, told: str, assumed: tuple[str, ...]) -> None:
        if dates in self.trials:
            self.trials[dates].planned(farm, round_, told, assumed)
        else:
            self.trials[dates] = Trial(farm, round_, assumed=assumed)


def _as_they_are(trial: Trial) -> tuple[stages.own_days.Pinned, ...]:
    """Return every stop of the days pinned to its place: another day is planned beside them."""
    return trial.pinned(every=Pin.PLACE)


def _rescued(run: Run) -> tuple[list[Round], str]:
    """Return the round of the last tale of a search that was ended, and why there is none."""
    best, asked = run.standing.best, run.asked[0]
    if best is None:
        return [], "The search was stopped before there was any round."
    try:
        return [stages.own_days.found_until_then(asked.farm, asked.dates, best.days)], ""
    except OutyardError as error:
        return [], str(error)
