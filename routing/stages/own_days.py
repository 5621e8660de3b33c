"""Days that a person puts in order by hand: made ready once, then timed and checked at every change."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from routing.check import broken_promises
from routing.errors import AskedError
from routing.farm.models import Farm
from routing.farm.parts import part_of
from routing.planning.ask.given_days import GivenDay, GivenDays, GivenRound, given_in
from routing.planning.ask.given_places import placed
from routing.planning.ask.remedied import remedied
from routing.planning.day_numbers import with_numbers
from routing.planning.explain.split import cut_into, cuts_in
from routing.planning.model.build_instance import build_instance
from routing.planning.pinned import Pinned, plan_pinned
from routing.planning.plan import Wish
from routing.round import Breach, Itinerary, ReasonCode, Round, Rule
from routing.share.exports.files import read_round
from routing.share.pages.file_names import PLAIN
from routing.stages.ask import Chance, chance_of
from routing.stages.plan import checked, prepared
from routing.stages.written import folder_of
from routing.travel.legs import Legs

MOST_PASSED = 200
CUT_SHORT = "The search was stopped before its end: this is the best round found until then."
NOT_LOOKED_AT = "not in the best round found until the search was stopped; why was not looked at"

__all__ = ["GivenDay", "GivenDays", "GivenRound", "Pinned", "given_in", "remedied"]  # known by this module's name too


@dataclass(frozen=True, eq=False)
class OwnDays:
    """The days of a round, ready to be put in another order."""

    farm: Farm
    """With the work that is due, and the jobs cut as the round shares them out."""
    legs: Legs
    days: GivenDays
    _passed: list[Itinerary] = field(default_factory=list)
    """Days of rounds that passed the check: an order of one crew leaves those of others as they are."""

    def tried(self, days: Sequence[GivenDay]) -> GivenRound:
        """Return the days timed, with what they break; what is said to keep every rule has passed the check.

        Raises AskedError as `GivenDays.timed` does.
        """
        found = self.days.timed(days)
        if not found.holds:
            return found
        broken = broken_promises(found.round, self.farm, self.legs, self._passed)
        if not broken:
            self._passed[:] = [*self._passed, *found.round.itineraries][-MOST_PASSED:]
        day = found.round.itineraries[0] if found.round.itineraries else None
        told = tuple(Breach(Rule.DAY, day.crew, day.date, None, sentence) for sentence in broken if day is not None)
        return replace(found, breaches=told)

    def broken(self, round_: Round) -> tuple[str, ...]:
        """Return the promises that a round of these days breaks, a sentence each; none where it holds."""
        return broken_promises(round_, self.farm, self.legs)

    def chance(self, round_: Round) -> Chance:
        """Return the chance of a round that keeps every rule."""
        return chance_of(self.farm, round_, self.legs)

    def placed(
        self, days: Sequence[GivenDay], jobs: tuple[str, ...], into: Sequence[tuple[str, dt.date]]
    ) -> tuple[GivenDay, ...]:
        """Return the days with jobs put where they break least in one of these crew-days, by crew and date.

        Raises AskedError where none of these crews is out.
        """
        return placed(self.days, days, jobs, into)

    @property
    def crew_days(self) -> tuple[tuple[str, dt.date], ...]:
        """Every crew that may go out, by its id, and the date, in the order of a round."""
        return tuple(self.days.routes)

    def around(self, pins: Sequence[Pinned], wish: Wish | None = None, *, keep_stopped: bool = False) -> Round:
        """Return a checked round around what is pinned, in the order of its days.

        Raises AskedError where no round was found that keeps it, and KeyboardInterrupt as `plan` does.
        """
        round_ = plan_pinned(self.days.instance, pins, wish)
        return checked(self.farm, self.legs, round_, keep_stopped=keep_stopped)


def own_days(farm: Farm, round_: Round) -> OwnDays:
    """Return the days of a round of the farm, ready for other orders. Raises what `prepared` raises."""
    ready, legs = prepared(farm, round_.dates[-1])
    ready = cut_into(ready, cuts_in(ready, round_))
    return OwnDays(ready, legs, GivenDays(build_instance(ready, legs, round_.dates)))


def finished(farm: Farm, round_: Round) -> Round:
    """Return a round that keeps every promise to the farm as it is now, with its numbers for the field.

    Raises AskedError with what it breaks, and what `prepared` raises.
    """
    own = own_days(farm, round_)
    whole = with_numbers(round_, own.farm, own.legs)
    broken = own.broken(whole)
    if broken:
        raise AskedError(
            "\n".join(["the round does not hold for the farm as its files are now; plan it again:", *broken])
        )
    return whole


def found_until_then(farm: Farm, dates: Sequence[dt.date], days: Sequence[GivenDay]) -> Round:
    """Return the checked round of the orders that a search told of last, where it was ended before it could answer.

    Why jobs are left out is not told. Raises AskedError where the orders do not hold, and what `prepared` raises.
    """
    own = _on_dates(farm, dates, [job for day in days for stop in day.stops for job in stop])
    found = own.tried(days)
    if not found.holds:
        raise AskedError("the search was stopped, and what it had found until then did not pass the check")
    left = tuple(
        entry.model_copy(update={"text": NOT_LOOKED_AT}) if entry.reason is ReasonCode.NOT_ASKED else entry
        for entry in found.round.left_out
    )
    proof = found.round.proof.model_copy(update={"stopped": True, "text": CUT_SHORT})
    return found.round.model_copy(update={"left_out": left, "proof": proof})


def with_later_day(
    farm: Farm,
    dates: Sequence[dt.date],
    pins: Sequence[Pinned],
    later: tuple[str, ...],
    wish: Wish,
    *,
    keep_stopped: bool,
) -> Round:
    """Return a checked round in which pinned stops stay, and later jobs are done on the last of the dates.

    Raises AskedError where no crew can do them then.
    """
    own = _on_dates(farm, dates, [*(job for pin in pins for job in pin.jobs), *later])
    into = [day for day in own.crew_days if day[1] == dates[-1]]
    (day,) = own.placed((), later, into)
    return own.around([*pins, Pinned(day.crew, day.date, later)], wish, keep_stopped=keep_stopped)


def written_round(farm: Farm, dates: Sequence[dt.date]) -> Round | None:
    """Return the round of just these dates that stands in the farm's folder; None where none that can be read does."""
    try:
        found = read_round(folder_of(farm, dates) / PLAIN[0])
    except AskedError:
        return None
    return found if found.dates == tuple(dates) else None


def _on_dates(farm: Farm, dates: Sequence[dt.date], jobs: Sequence[str]) -> OwnDays:
    """Return days ready for orders of these jobs, cut as their ids say."""
    ready, legs = prepared(farm, dates[-1])
    parts = [part_of(job) for job in jobs]
    ready = cut_into(ready, {part.whole: part.count for part in parts if part.count > 1})
    return OwnDays(ready, legs, GivenDays(build_instance(ready, legs, tuple(dates))))
