"""Nothing is left out that still fits: each left-out job is tried at every place of every day by plain simulation."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from routing.check.cargo import Amounts, stock_suffices, taken, together
from routing.check.excused import STILL_FITS, excused, fault_told
from routing.check.ground import Ground
from routing.check.outings import Visit, back_at_base, can_be_made, day_plan, may_do, visit_of
from routing.check.room import Room
from routing.check.sentences import broken
from routing.farm.models import BASE, Crew, Farm, Job
from routing.round import ReasonCode, Round
from routing.travel.legs import Legs

PROMISE = "no round leaves out a visit that still fits"


@dataclass(frozen=True)
class _Outing:
    """One crew's visits on a date, base among them where it is come back to; none where the crew stays at home."""

    crew: Crew
    date: dt.date
    visits: tuple[Visit, ...]
    room: Room | None
    """None where there is no way between two places that follow each other: then each gap is tried."""


def still_fits(round_: Round, farm: Farm, legs: Legs) -> tuple[str, ...]:
    """Return one sentence for each left-out job, or whole entry, that still fits a day of the round.

    A job fits where some crew can do it besides all that it does already, with every promise kept: as a visit of its
    own before, between or after the others, together with what is done at its site already, or as the only visit of
    a crew that stays at home; a move of hives is always a visit of its own. The round must speak only of crews, sites
    and jobs that the farm has.
    """
    return tuple(sentence for _, sentence in nothing_fits(round_, Ground.of(farm, legs)))


def nothing_fits(round_: Round, ground: Ground) -> Iterator[tuple[int, str]]:
    """Yield as `still_fits` says, each with the place of its entry; what a fault is told of is not told again."""
    outings = _outings(round_, ground)
    used = taken((job for outing in outings for visit in outing.visits for job in visit.jobs), ground)
    for index, left in enumerate(round_.left_out):
        if left.reason is ReasonCode.NOT_ASKED or excused(round_, left) or fault_told(round_, left, STILL_FITS):
            continue  # whether a person may leave it out is held in left_out.own_choice
        jobs = [ground.jobs[job.id] for job in left.jobs]
        for wanted in ([job] for job in jobs):
            yield from ((index, sentence) for sentence in _told(wanted, used, outings, ground))
        if len(jobs) > 1 and not any(job.to for job in jobs):
            yield from ((index, sentence) for sentence in _told(jobs, used, outings, ground))


def _told(jobs: Sequence[Job], used: Amounts, outings: Sequence[_Outing], ground: Ground) -> Iterator[str]:
    if not stock_suffices(together(used, taken(jobs, ground)), ground):
        return
    for outing in outings:
        if may_do(jobs, outing.crew, outing.date, ground):
            place = _place_for(jobs, outing, ground)
            if place is not None:
                where = f"left out at {jobs[0].site}, {' and '.join(job.id for job in jobs)}"
                yield broken(where, PROMISE, "no room", f"crew {outing.crew.id} on {outing.date} can do it {place}")
                return


def _place_for(jobs: Sequence[Job], outing: _Outing, ground: Ground) -> str | None:
    """Return where in the day the jobs fit, in words, or None."""
    crew, date, visits = outing.crew, outing.date, outing.visits
    visit = visit_of(jobs, crew, date, ground)
    for place in range(len(visits) + 1 if visit.call.spans else 0):
        if not _has_room(outing, place, visit, ground):
            continue
        if can_be_made(crew, date, (*visits[:place], visit, *visits[place:]), ground):
            return f"after {visits[place - 1].call.site if place else BASE}"
    for place, other in enumerate(visits):
        here = other.site is not None and other.call.site == visit.call.site
        if here and not any(job.to for job in (*other.jobs, *jobs)):
            both = visit_of((*other.jobs, *jobs), crew, date, ground)
            if can_be_made(crew, date, (*visits[:place], both, *visits[place + 1 :]), ground):
                return f"together with stop {place + 1}"
    return None


def _has_room(outing: _Outing, place: int, visit: Visit, ground: Ground) -> bool:
    """Return whether a visit may fit into a gap of a day: False is certain, True has to be tried."""
    crew, visits, call = outing.crew, outing.visits, visit.call
    before = visits[place - 1].call.end if place else BASE
    after = visits[place].call.site if place < len(visits) else BASE
    there, back = ground.seconds(crew, before, call.site), ground.seconds(crew, call.end, after)
    if there is None or back is None:
        return False
    return outing.room is None or outing.room.holds(place, call, there, back)


def _outings(round_: Round, ground: Ground) -> list[_Outing]:
    planned = {(itinerary.crew, itinerary.date): itinerary for itinerary in round_.itineraries}
    outings = []
    for date in round_.dates:
        for crew in ground.crews.values():
            itinerary = planned.get((crew.id, date))
            stops = () if itinerary is None else itinerary.stops
            visits = tuple(
                back_at_base(crew, date, ground)
                if stop.load_again is not None
                else visit_of([ground.jobs[job.id] for job in stop.jobs], crew, date, ground)
                for stop in stops
                if stop.set_down is None
            )
            plan = day_plan(crew, date, [visit.call for visit in visits], ground)
            outings.append(_Outing(crew, date, visits, None if plan is None else Room.of(plan)))
    return outings
