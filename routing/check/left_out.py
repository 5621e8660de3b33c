"""Reasons: what is left out is left out for a reason that is true."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from routing.check.cargo import stock_suffices, taken, used_up
from routing.check.exact import decimals, exact, shows
from routing.check.excused import excused, fault_told
from routing.check.ground import Ground
from routing.check.outings import (
    call_of,
    can_be_carried,
    ever_possible,
    fits_alone,
    has_people,
    may_be_on,
    may_do,
    reaches_all,
    visit_of,
)
from routing.check.quickest import quickest
from routing.check.sentences import broken, left_of, same
from routing.farm.models import BASE, Crew, Job
from routing.round import Insertion, Itinerary, LeftOut, ReasonCode, RemedyKind, Round

UNITS = {
    "working light": "seconds",
    "opening hours": "seconds",
    "home by": "seconds",
    "payload": "kg",
    "space": "litres",
}
"""What an insertion may fall short of besides stock, and the unit in which it is told."""


Told = Iterator[tuple[int, str]]
"""The place of an entry among those left out, and how a promise is broken there."""

ALONE, BUT_FOR_THE_BREAK = "would fit alone", "would fit alone but for the break"
"""What the words of an entry may say of its jobs, and what is then held to be true of each."""


def _judged(round_: Round) -> Iterator[tuple[int, LeftOut]]:
    """Yield the entries whose words are held: all but those of which a fault is told instead."""
    yield from ((index, left) for index, left in enumerate(round_.left_out) if not excused(round_, left))


def not_due_is_said_where_true(round_: Round, ground: Ground) -> Told:
    """Yield each entry that says not due of a job that is, or another reason of one that is not."""
    last = max(round_.dates, default=dt.date.min)
    for index, left in _judged(round_):
        for shown in left.jobs:
            not_before = ground.jobs[shown.id].not_before
            later = not_before is not None and not_before > last
            if later != (left.reason is ReasonCode.NOT_DUE):
                expected = f"not due until {not_before}" if later else "another reason: the job is due"
                where = f"{left_of(left)}, job {shown.id}"
                promise = "not due is said of jobs that are not, and of no other"
                yield index, broken(where, promise, expected, left.reason)


def own_choice(round_: Round, _ground: Ground) -> Told:
    """Yield where a round leaves out what it was not asked for though no person gave its order, or the other way."""
    for index, left in _judged(round_):
        where = left_of(left)
        if left.reason is ReasonCode.NOT_ASKED and not round_.given_order:
            yield index, broken(where, "only a given order leaves out what is not in it", "another reason", left.reason)
        if left.reason is ReasonCode.NO_ROOM and round_.given_order:
            yield index, broken(where, "no room is sought beside a given order", "not in your order", left.reason)


def insertions_are_given(round_: Round, ground: Ground) -> Told:
    """Yield each entry whose cheapest insertion is missing, needless, or not into a day of the round.

    It may be missing where a fault is told of that site, and where no day of the round has a place for it that could be
    driven to and from: a site may be reached only by way of another that nobody visits.
    """
    for index, left in enumerate(round_.left_out):
        given = "given" if left.insertion is not None else "none"
        expected = "none" if left.reason.certain else "given"
        if left.insertion is None and (fault_told(round_, left) or not _has_a_place(round_, left, ground)):
            continue
        promise = "an insertion is given exactly where the reason is not certain"
        yield from ((index, one) for one in same(left_of(left), promise, expected, given))
        yield from ((index, one) for one in _into_a_day(round_, left, ground))


def _has_a_place(round_: Round, left: LeftOut, ground: Ground) -> bool:
    """Whether some crew able to could drive from a place of its day to the jobs and on to the next place."""
    jobs = [ground.jobs[job.id] for job in left.jobs]
    for crew, date in _days(round_, ground):
        if not may_do(jobs, crew, date, ground) or not (call := visit_of(jobs, crew, date, ground).call).spans:
            continue
        stops = [s for day in round_.itineraries if (day.crew, day.date) == (crew.id, date) for s in day.stops]
        for before, after in pairwise((BASE, *(stop.site for stop in stops), BASE)):
            if ground.leg(crew, before, call.site) is not None and ground.leg(crew, call.end, after) is not None:
                return True
    return False


def _into_a_day(round_: Round, left: LeftOut, ground: Ground) -> Iterator[str]:
    where = left_of(left)
    if left.insertion is not None:
        days = _days_into(round_, left.insertion)
        places = {BASE, *(stop.site for day in days for stop in day.stops)}
        if left.insertion.crew not in ground.crews:
            yield broken(where, "the insertion is with a crew of the farm", "a crew", left.insertion.crew)
        if left.insertion.date not in round_.dates:
            yield broken(where, "the insertion is on a date of the round", "one of them", left.insertion.date)
        if left.insertion.after not in places:
            expected = " or ".join(sorted(places))
            yield broken(where, "the insertion follows a place of the crew's day", expected, left.insertion.after)


def shortfalls_are_sound(round_: Round, ground: Ground) -> Told:
    """Yield each insertion that breaks nothing, or breaks what it says by nothing or in the wrong unit.

    How much time a day that nobody plans would lack is the planning's word; what the stock lacks is held to the figure.
    """
    done = [ground.jobs[job.id] for day in round_.itineraries for stop in day.stops for job in stop.jobs]
    for index, left in enumerate(round_.left_out):
        if left.insertion is not None:
            yield from ((index, one) for one in _sound(left, left.insertion, done, ground))


def _sound(left: LeftOut, insertion: Insertion, done: Sequence[Job], ground: Ground) -> Iterator[str]:
    where, wanted = left_of(left), [ground.jobs[job.id] for job in left.jobs]
    used = taken((*done, *wanted), ground)
    short = {
        f"stock of {material.name}": (used[id_] - exact(ground.farm.stock[id_]), material.unit)
        for id_, material in ground.farm.materials.items()
        if id_ in used and id_ in ground.farm.stock and used[id_] > exact(ground.farm.stock[id_])
    }
    if not insertion.shortfalls:
        yield broken(where, "an insertion says what it would break", "1 shortfall or more", "none")
    said = [shortfall.what for shortfall in insertion.shortfalls]
    yield from same(where, "an insertion says each shortfall once", sorted(set(said)), sorted(said))
    yield from same(where, "all that the stock lacks is said", sorted(short.keys() - set(said)), [])
    for shortfall in insertion.shortfalls:
        amount, unit = short.get(shortfall.what, (None, UNITS.get(shortfall.what)))
        yield from same(where, f"the unit of the shortfall of {shortfall.what} is right", unit, shortfall.unit)
        if not (shortfall.amount > 0 and math.isfinite(shortfall.amount)) or (
            amount is not None and not shows(shortfall.amount, amount)
        ):
            expected = "more than 0" if amount is None else decimals(amount)
            promise = f"the shortfall of {shortfall.what} is right"
            yield broken(where, promise, expected, shortfall.amount)


def extra_seconds_are_sound(round_: Round, ground: Ground) -> Told:
    """Yield each insertion that would save time, or cost none though it lacks time or room and its work takes some."""
    for index, left in enumerate(round_.left_out):
        if left.insertion is None:
            continue
        extra = left.insertion.extra_seconds
        if extra is None:
            crew = ground.crews.get(left.insertion.crew)
            if crew is not None and crew.trips_a_day == 1:
                promise = "how much longer a day would be is told where base is not come back to"
                yield index, broken(left_of(left), promise, "seconds", "none")
        elif extra < 0 or (extra == 0 and _costs_time(round_, left, left.insertion, ground)):
            least = "0 s or more" if extra < 0 else "more than 0 s"
            yield index, broken(left_of(left), "a visit more takes its time", least, extra)


def _costs_time(round_: Round, left: LeftOut, insertion: Insertion, ground: Ground) -> bool:
    """Whether a stop of its own there takes time by the hour; of a day that lacks only stock, a wait may hold it."""
    crew, jobs = ground.crews.get(insertion.crew), [ground.jobs[job.id] for job in left.jobs]
    stops = [stop for day in _days_into(round_, insertion) for stop in day.stops]
    only_stock = all(shortfall.what.startswith("stock of") for shortfall in insertion.shortfalls)
    if crew is None or only_stock or any(stop.site == left.site for stop in stops):
        return False
    call = call_of(jobs, crew, (), ground)
    places = (BASE, *(stop.site for stop in stops), BASE)
    more = []
    for before, after in pairwise(places):
        legs = [ground.leg(crew, *ends) for ends in ((before, call.site), (call.end, after))]
        known = [leg.seconds for leg in legs if leg is not None]
        now = ground.leg(crew, before, after) if before != after else None
        if before == insertion.after and len(known) == len(legs):
            more.append(sum(known) + call.seconds - (0 if now is None else now.seconds))
    return bool(more) and min(more) > 0


def _days_into(round_: Round, insertion: Insertion) -> list[Itinerary]:
    return [day for day in round_.itineraries if (day.crew, day.date) == (insertion.crew, insertion.date)]


def remedies_are_sound(round_: Round, ground: Ground) -> Told:
    """Yield each remedy of no amount or an endless one, or of fewer hives that are not fewer."""
    for index, left in enumerate(round_.left_out):
        hives = max(ground.jobs[job.id].hives for job in left.jobs)
        for remedy in left.remedies:
            most = hives - 1 if remedy.kind is RemedyKind.LIGHTER_LOAD else math.inf
            if not 0 < remedy.amount <= most or math.isinf(remedy.amount):
                promise = f"the amount of a remedy ({remedy.kind}) can be"
                yield index, broken(left_of(left), promise, "more than 0, and fewer hives", remedy.amount)


def reasons_are_true(round_: Round, ground: Ground) -> Told:
    """Yield each reason that plain arithmetic, or the quickest day with one of its jobs, shows to be false of it."""
    days = _days(round_, ground)
    for index, left in _judged(round_):
        if left.reason in {ReasonCode.NOT_DUE, ReasonCode.NOT_ASKED}:
            continue
        for job in left.jobs:
            yield from ((index, one) for one in _ever(left, ground.jobs[job.id], days, ground))
            yield from ((index, one) for one in _as_said(left, ground.jobs[job.id], days, round_.dates, ground))


def fits_alone_is_said_where_true(round_: Round, ground: Ground) -> Told:
    """Yield each entry that says its jobs would fit alone, where for one of them no crew can make it alone.

    Where it says that they would but for the break, so it is without one.
    """
    days = _days(round_, ground)
    for index, left in _judged(round_):
        if ALONE not in left.text:
            continue
        rested = BUT_FOR_THE_BREAK not in left.text
        for shown in left.jobs:
            jobs = [ground.jobs[shown.id]]
            if not any(fits_alone(jobs, crew, date, ground, rested=rested) for crew, date in days):
                where = f"{left_of(left)}, job {shown.id}"
                yield index, broken(where, "what is said to fit alone does", "a crew that can make it alone", "none")


def _days(round_: Round, ground: Ground) -> list[tuple[Crew, dt.date]]:
    return [(crew, date) for date in round_.dates for crew in ground.crews.values() if ground.works_on(crew, date)]


def _ever(left: LeftOut, job: Job, days: list[tuple[Crew, dt.date]], ground: Ground) -> Iterator[str]:
    where = f"{left_of(left)}, job {job.id}"
    able = next(((crew, date) for crew, date in days if ever_possible([job], crew, date, ground)), None)
    if able is not None and left.reason.certain:
        found = f"crew {able[0].id} can make it on {able[1]}"
        yield broken(where, f"a certain reason ({left.reason}) is true by the quickest ways", "no crew can", found)
    if able is None and not left.reason.certain:
        promise = f"an uncertain reason ({left.reason}) is given only of a job that some crew could do"
        yield broken(where, promise, "a crew that could", "none")


def _as_said(
    left: LeftOut, job: Job, days: list[tuple[Crew, dt.date]], dates: tuple[dt.date, ...], ground: Ground
) -> Iterator[str]:
    sites, jobs = ground.ends(job), [job]
    crews = [crew for crew, _ in days]
    able = [(crew, date) for crew, date in days if may_do(jobs, crew, date, ground)]
    open_dates = [date for date in dates if all(ground.is_open(site, date) for site in sites)]
    going = [crew for crew, _ in able]
    ways = any(_can_drive(job, crew, ground) for crew in going)
    off_road = all(any(site.id in ground.roads.of(c.vehicle).no_road for site in sites) for c in going)
    true = {
        ReasonCode.NO_CREW: not any(date in open_dates and may_be_on(job, date) for _, date in days),
        ReasonCode.OTHER_DAY: job.promised is not None and job.promised not in dates,
        ReasonCode.CLOSED: not open_dates or any(site.hours for site in sites),
        ReasonCode.TOO_DARK: bool(open_dates),
        ReasonCode.WEATHER: any(ever_possible(jobs, crew, date, _in_fair_weather(ground)) for crew, date in days),
        ReasonCode.TOO_FAR: ways,
        ReasonCode.NO_WAY: bool(able) and not ways and not off_road,
        ReasonCode.NO_ROAD: bool(able) and not ways and off_road,
        ReasonCode.NO_VEHICLE: _no_vehicle(jobs, crews, ground),
        ReasonCode.NEEDS_PEOPLE: _too_few(jobs, crews, ground),
        ReasonCode.TOO_HEAVY: bool(able)
        and not any(
            can_be_carried(crew, [visit_of(jobs, crew, date, ground)], used_up(jobs, ground)) for crew, date in able
        ),
        ReasonCode.NO_STOCK: not stock_suffices(taken(jobs, ground), ground),
        ReasonCode.NO_ROOM: True,
    }
    if not true[left.reason]:
        promise = "the reason is true by plain arithmetic"
        where = f"{left_of(left)}, job {job.id}"
        yield broken(where, promise, "a reason that holds", f"{left.reason}, which does not")


def _can_drive(job: Job, crew: Crew, ground: Ground) -> bool:
    """Whether there are ways to the job's site, on to where its hives go and home, by whatever places."""
    out, home = quickest(crew, ground)
    end = job.to or job.site
    return job.site in out and end in home and (not job.to or ground.leg(crew, job.site, job.to) is not None)


def _in_fair_weather(ground: Ground) -> Ground:
    """Return the ground of the same farm without a forecast."""
    fair = ground.farm.model_copy(update={"forecast": None})
    return replace(ground, farm=fair, windows={}) if ground.farm.forecast is not None else ground


def _no_vehicle(jobs: list[Job], crews: list[Crew], ground: Ground) -> bool:
    """Whether some vehicle falls short and none with people enough for the jobs does not."""
    falls_short = any(not reaches_all(jobs, crew, ground) for crew in crews)
    return falls_short and not any(has_people(jobs, crew, ground) and reaches_all(jobs, crew, ground) for crew in crews)


def _too_few(jobs: list[Job], crews: list[Crew], ground: Ground) -> bool:
    """Whether some crew is too small and none whose vehicle gets there is not."""
    falls_short = any(not has_people(jobs, crew, ground) for crew in crews)
    return falls_short and not any(has_people(jobs, crew, ground) and reaches_all(jobs, crew, ground) for crew in crews)
