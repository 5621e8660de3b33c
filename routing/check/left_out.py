"""Reasons: what is left out is left out for a reason that is true."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from routing.check.cargo import stock_suffices, taken
from routing.check.exact import decimals, exact, shows
from routing.check.ground import Ground
from routing.check.outings import can_be_carried, fits_alone, has_people, may_be_on, may_do, reaches_all, visit_of
from routing.check.sentences import broken, left_of, same
from routing.farm.models import BASE, Crew, Job
from routing.round import LeftOut, ReasonCode, Round

UNITS = {
    "working light": "seconds",
    "opening hours": "seconds",
    "home by": "seconds",
    "payload": "kg",
    "space": "litres",
}
"""What an insertion may fall short of besides stock, and the unit in which it is told."""


def not_due_is_said_where_true(round_: Round, ground: Ground) -> Iterator[str]:
    """Yield each entry that says not due of a job that is, or another reason of one that is not."""
    last = max(round_.dates, default=dt.date.min)
    for left in round_.left_out:
        for shown in left.jobs:
            not_before = ground.jobs[shown.id].not_before
            later = not_before is not None and not_before > last
            if later != (left.reason is ReasonCode.NOT_DUE):
                expected = f"not due until {not_before}" if later else "another reason: the job is due"
                where = f"{left_of(left)}, job {shown.id}"
                yield broken(where, "not due is said of jobs that are not, and of no other", expected, left.reason)


def own_choice(round_: Round, _ground: Ground) -> Iterator[str]:
    """Yield where a round leaves out what it was not asked for though no person gave its order, or the other way."""
    for left in round_.left_out:
        if left.reason is ReasonCode.NOT_ASKED and not round_.given_order:
            yield broken(
                left_of(left), "only a given order leaves out what is not in it", "another reason", left.reason
            )
        if left.reason is ReasonCode.NO_ROOM and round_.given_order:
            yield broken(left_of(left), "no room is sought beside a given order", "not in your order", left.reason)
    if round_.given_order and round_.proof.optimal:
        yield broken("the round", "a given order is not called the best", "not proven", "proven")


def insertions_are_given(round_: Round, ground: Ground) -> Iterator[str]:
    """Yield each entry whose cheapest insertion is missing, needless, or not into a day of the round."""
    for left in round_.left_out:
        where = left_of(left)
        given = "given" if left.insertion is not None else "none"
        expected = "none" if left.reason.certain else "given"
        yield from same(where, "an insertion is given exactly where the reason is not certain", expected, given)
        if left.insertion is None:
            continue
        days = [day for day in round_.itineraries if (day.crew, day.date) == (left.insertion.crew, left.insertion.date)]
        places = {BASE, *(stop.site for day in days for stop in day.stops)}
        if left.insertion.crew not in ground.crews:
            yield broken(where, "the insertion is with a crew of the farm", "a crew", left.insertion.crew)
        if left.insertion.date not in round_.dates:
            yield broken(where, "the insertion is on a date of the round", "one of them", left.insertion.date)
        if left.insertion.after not in places:
            expected = " or ".join(sorted(places))
            yield broken(where, "the insertion follows a place of the crew's day", expected, left.insertion.after)


def shortfalls_are_sound(round_: Round, ground: Ground) -> Iterator[str]:
    """Yield each insertion that breaks nothing, or breaks what it says by nothing or in the wrong unit.

    How much time a day that nobody plans would lack is the planning's word; what the stock lacks is held to the figure.
    """
    done = [ground.jobs[job.id] for day in round_.itineraries for stop in day.stops for job in stop.jobs]
    for left in round_.left_out:
        if left.insertion is None:
            continue
        where, wanted = left_of(left), [ground.jobs[job.id] for job in left.jobs]
        used = taken((*done, *wanted), ground)
        short = {
            f"stock of {material.name}": (used[id_] - exact(ground.farm.stock[id_]), material.unit)
            for id_, material in ground.farm.materials.items()
            if id_ in used and id_ in ground.farm.stock and used[id_] > exact(ground.farm.stock[id_])
        }
        if not left.insertion.shortfalls:
            yield broken(where, "an insertion says what it would break", "1 shortfall or more", "none")
        for shortfall in left.insertion.shortfalls:
            amount, unit = short.get(shortfall.what, (None, UNITS.get(shortfall.what)))
            yield from same(where, f"the unit of the shortfall of {shortfall.what} is right", unit, shortfall.unit)
            if not shortfall.amount > 0 or (amount is not None and not shows(shortfall.amount, amount)):
                expected = "more than 0" if amount is None else decimals(amount)
                promise = f"the shortfall of {shortfall.what} is right"
                yield broken(where, promise, expected, shortfall.amount)


def reasons_are_true(round_: Round, ground: Ground) -> Iterator[str]:
    """Yield each reason that plain arithmetic, or a job alone with each crew, shows to be false of one of its jobs."""
    for left in round_.left_out:
        if left.reason in {ReasonCode.NOT_DUE, ReasonCode.NOT_ASKED}:
            continue
        days = [(crew, date) for date in round_.dates for crew in ground.crews.values() if ground.works_on(crew, date)]
        for job in left.jobs:
            yield from _alone(left, ground.jobs[job.id], days, ground)
            yield from _as_said(left, ground.jobs[job.id], days, round_.dates, ground)


def _alone(left: LeftOut, job: Job, days: list[tuple[Crew, dt.date]], ground: Ground) -> Iterator[str]:
    where = f"{left_of(left)}, job {job.id}"
    alone = next(((crew, date) for crew, date in days if fits_alone([job], crew, date, ground)), None)
    if alone is not None and left.reason.certain:
        found = f"crew {alone[0].id} can make it alone on {alone[1]}"
        yield broken(where, f"a certain reason ({left.reason}) is true of the job alone", "no crew can", found)
    if alone is None and not left.reason.certain:
        promise = f"an uncertain reason ({left.reason}) is given only where the job fits alone"
        yield broken(where, promise, "a crew that can make it alone", "none")


def _as_said(
    left: LeftOut, job: Job, days: list[tuple[Crew, dt.date]], dates: tuple[dt.date, ...], ground: Ground
) -> Iterator[str]:
    sites, jobs = ground.ends(job), [job]
    crews = [crew for crew, _ in days]
    able = [(crew, date) for crew, date in days if may_do(jobs, crew, date, ground)]
    open_dates = [date for date in dates if all(ground.is_open(site, date) for site in sites)]
    going = [crew for crew, _ in able]
    stations = (BASE, *(site.id for site in sites), BASE)
    ways = any(all(ground.leg(c, start, end) is not None for start, end in pairwise(stations)) for c in going)
    off_road = all(any(site.id in ground.roads.of(c.vehicle).no_road for site in sites) for c in going)
    true = {
        ReasonCode.NO_CREW: not any(date in open_dates and may_be_on(job, date) for _, date in days),
        ReasonCode.OTHER_DAY: job.promised is not None and job.promised not in dates,
        ReasonCode.CLOSED: not open_dates or any(site.hours for site in sites),
        ReasonCode.TOO_DARK: bool(open_dates),
        ReasonCode.WEATHER: any(fits_alone(jobs, crew, date, _in_fair_weather(ground)) for crew, date in days),
        ReasonCode.TOO_FAR: ways,
        ReasonCode.NO_WAY: bool(able) and not ways and not off_road,
        ReasonCode.NO_ROAD: bool(able) and not ways and off_road,
        ReasonCode.NO_VEHICLE: _no_vehicle(jobs, crews, ground),
        ReasonCode.NEEDS_PEOPLE: _too_few(jobs, crews, ground),
        ReasonCode.TOO_HEAVY: bool(able)
        and not any(can_be_carried(crew, [visit_of(jobs, crew, date, ground)], ground) for crew, date in able),
        ReasonCode.NO_STOCK: not stock_suffices(taken(jobs, ground), ground),
        ReasonCode.NO_ROOM: True,
    }
    if not true[left.reason]:
        promise = "the reason is true by plain arithmetic"
        where = f"{left_of(left)}, job {job.id}"
        yield broken(where, promise, "a reason that holds", f"{left.reason}, which does not")


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
