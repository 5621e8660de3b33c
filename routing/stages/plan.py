"""The round of one date or of several, from a farm to a checked round."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace

from pydantic import ValidationError

from routing.check import broken_promises, what_holds
from routing.errors import AskedError
from routing.farm.models import Farm
from routing.planning.chance.chance_constraint import plan_sure
from routing.planning.chance.holding import with_chance
from routing.planning.chance.spread import Spread
from routing.planning.day_numbers import with_numbers
from routing.planning.explain.split import cut_into, cuts_in
from routing.planning.plan import SoFar, Wish
from routing.planning.split_delivery import plan_shared
from routing.round import Round
from routing.share.safety.safe import plain_text
from routing.stages import kept
from routing.stages.compiling import compile_beside_for
from routing.stages.due import to_plan
from routing.travel.farm import farm_and_legs, farm_road_report, prepare_roads, with_needed_sites
from routing.travel.legs import Legs

__all__ = ["SoFar", "Wish"]  # known by this module's name too

TOLD_LONGEST, MOST_TOLD = 300, 10
"""Characters of a sentence, and sentences, that are told of a saved round that does not hold."""


@dataclass(frozen=True, eq=False)
class Planned:
    """A checked round, and what it was planned from, for whoever asks more of it."""

    farm: Farm
    """With the work that is due and the jobs cut as the round shares them out."""
    legs: Legs
    round: Round
    key: str = ""
    """What it was planned from (`kept.key_of`); empty where that is not known."""
    again: bool = False
    """Whether it was not searched for: it was written before, and all that it rests on is still the same."""


def prepared(farm: Farm, date: dt.date) -> tuple[Farm, Legs]:
    """Return the farm with all that is to be done on a date, and its legs: what planning, fit and check read alike.

    Raises AskedError where a row of jobs.csv may not be done beside what the log says, LogError and RoadError.
    """
    return farm_and_legs(with_needed_sites(to_plan(farm, date)))


def plan(farm: Farm, *dates: dt.date, wish: Wish | None = None, keep_stopped: bool = False) -> Round:
    """Return the checked round of one date, or of several in order.

    Where it breaks a promise, what holds of it is returned and the fault told in its `faults`. Raises CheckFailed where
    nothing of it holds, and what `prepared` raises.

    A job too long or too heavy for any one visit is shared out over several days or crews where there are any. Ctrl-C
    raises KeyboardInterrupt; where `keep_stopped`, only while there is no round yet.
    """
    return planned(farm, *dates, wish=wish, keep_stopped=keep_stopped).round


def planned(
    farm: Farm, *dates: dt.date, wish: Wish | None = None, keep_stopped: bool = False, timed: bool = False
) -> Planned:
    """Return what `plan` returns, with the farm and the legs that it was planned from.

    A round that was written from just this is given instead of a search; one whose search the clock ended only where
    `timed`, and where the wish names seconds none.
    """
    wish = wish or Wish()
    compile_beside_for(farm, len(dates))
    ready, legs = prepared(farm, dates[-1])
    key = kept.key_of(ready, legs, dates, {"even": wish.even, "surest": wish.surest})
    before = kept.found(farm.folder, key, timed=timed) if wish.seconds is None else None
    if before is not None:
        return Planned(cut_into(ready, cuts_in(ready, before)), legs, before, key, again=True)
    found = _planned(ready, legs, *dates, wish=wish, keep_stopped=keep_stopped)
    return replace(found, key="" if found.round.proof.stopped else key)


def planned_sure(farm: Farm, date: dt.date, chance: float) -> Planned:
    """Return a checked round that holds with this chance, 0.5 to 0.99, as `planned` returns one.

    Raises AskedError where no plan of the day does, and what `prepared` raises.
    """
    compile_beside_for(farm, 1)
    ready, legs = prepared(farm, date)
    key = kept.key_of(ready, legs, (date,), {"sure": chance})
    before = kept.found(farm.folder, key, timed=False)
    if before is not None:
        return Planned(ready, legs, before, key, again=True)
    brief = Wish(brief=True, explained=False)
    found = plan_sure(
        ready,
        lambda tight: _planned(tight, legs, date).round,
        chance,
        Spread.of(ready),
        lambda tight: _planned(tight, legs, date, wish=brief).round,
    )
    return Planned(ready, legs, found.round, key)


def sure_round(farm: Farm, date: dt.date, sure: float) -> Round:
    """Return the round that `planned_sure` returns."""
    return planned_sure(farm, date, sure).round


def _planned(farm: Farm, legs: Legs, *dates: dt.date, wish: Wish | None = None, keep_stopped: bool = False) -> Planned:
    farm, round_ = plan_shared(farm, legs, dates, wish)
    return Planned(farm, legs, checked(farm, legs, round_, keep_stopped=keep_stopped))


def checked(farm: Farm, legs: Legs, round_: Round, *, keep_stopped: bool) -> Round:
    """Return what holds of a round, with its numbers and its chance. Raises CheckFailed and KeyboardInterrupt."""
    if round_.proof.stopped and not keep_stopped:
        raise KeyboardInterrupt
    return with_chance(what_holds(with_numbers(round_, farm, legs), farm, legs), farm, legs)


def saved(farm: Farm, text: str) -> Round:
    """Return a saved round that still keeps every promise to the farm as it is now.

    Raises AskedError where the text is no round, or is one that no longer holds: the farm may have changed since.
    """
    try:
        round_ = Round.model_validate_json(text)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the file"
        why = plain_text(f"{where}: {first['msg']}", TOLD_LONGEST)
        raise AskedError(f"this is not a saved round: {why}; plan it again") from error
    try:
        farm, legs = prepared(farm, round_.dates[-1]) if round_.dates else farm_and_legs(farm)
        farm = cut_into(farm, cuts_in(farm, round_))
        broken = broken_promises(round_, farm, legs)
    except OverflowError as error:
        raise AskedError("the saved round holds a time or a number that no day has; plan it again") from error
    if broken:
        told = [plain_text(sentence, TOLD_LONGEST) for sentence in broken[:MOST_TOLD]]
        more = [f"and {len(broken) - MOST_TOLD} more"] if len(broken) > MOST_TOLD else []
        raise AskedError(
            "\n".join(["the saved round does not hold for the farm as it is now; plan it again:", *told, *more])
        )
    if all(day.numbers is not None for day in round_.itineraries):
        return round_
    return what_holds(with_numbers(round_, farm, legs), farm, legs)  # an older program saved it without them


def ready_roads(farm: Farm, progress: Callable[[str, float], None]) -> None:
    """Build the farm's road map where it has one that is not built yet. Raises RoadError where it cannot be used."""
    prepare_roads(farm, progress)


def road_report(farm: Farm) -> tuple[str, ...]:
    """Return what the farm's road map covers and how the farm lies on it, a line each. Raises RoadError."""
    return farm_road_report(farm)
