"""From visiting orders to the timed round that is shown."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import floor

from routing.farm.models import BASE
from routing.planning.explain.left_out import planned_job
from routing.planning.model.build import THOUSAND, Days, load_seconds, seconds_of, set_down_seconds, whole_seconds
from routing.planning.model.load import Loads, trip_loads
from routing.planning.model.parked import stopping_place
from routing.planning.model.problem import Order, Planned
from routing.planning.model.timing import Rest, Timeline, longest_after_break, second_break_due, timeline
from routing.round import (
    Break,
    CallIn,
    Drive,
    Itinerary,
    LeftOut,
    LoadItem,
    LoadList,
    Proof,
    Round,
    SetDown,
    Start,
    Stop,
)
from routing.travel.legs import LegOrigin
from routing.weather.report import weather_sentences
from routing.words import duration

PLACES = 3
"""Decimals of shown kilograms and litres."""


def build_round(
    days: Days, orders: Sequence[Order], left_out: Sequence[LeftOut], proof: Proof, *, given_order: bool = False
) -> Round:
    """Return the round of one date; crews with nothing to do have no itinerary."""
    base = days.farm.base
    return Round(
        farm=days.farm.name,
        base_name=base.name,
        base_latitude=base.place.latitude,
        base_longitude=base.place.longitude,
        time_zone=days.farm.time_zone,
        dates=days.dates,
        itineraries=tuple(_itinerary(days, route, order) for route, order in enumerate(orders) if order),
        left_out=tuple(left_out),
        proof=proof,
        start=_start(days),
        given_order=given_order,
        estimates=_estimates(days),
        warnings=tuple(str(fault) for fault in days.farm.warnings),
        units=days.farm.rules.units,
        emergency_number=days.farm.rules.emergency_number,
    )


def _start(days: Days) -> Start | None:
    underway = days.farm.underway
    if underway is None:
        return None
    return Start(name=underway.name, latitude=underway.place.latitude, longitude=underway.place.longitude)


def _estimates(days: Days) -> tuple[str, ...]:
    found = []
    estimated = (
        origin is LegOrigin.ESTIMATE
        for here, row in enumerate(days.legs.origins)
        for there, origin in enumerate(row)
        if here != there
    )
    if any(estimated):
        found.append(
            "Drive times are estimates: the straight line times a detour factor at an average speed. "
            "Known minutes go into drives.csv."
        )
    kinds = [days.farm.job_kinds[kind] for kind in sorted({job.kind for job in days.jobs})]
    if any(kind.minutes_a_hive.confidence != "farm" for kind in kinds):
        found.append("Work minutes are general defaults until farm.toml gives this farm's own.")
    found += days.legs.notes
    found += dict.fromkeys(line for date in days.dates for line in weather_sentences(days.farm, date))
    return tuple(found)


def _itinerary(days: Days, route: int, order: Order) -> Itinerary:
    times = timeline(days.problem, route, order)
    if times is None:
        raise AssertionError("an engine gave an order that does not fit its day")
    crew = days.crews[route]
    vehicle = days.farm.vehicles[crew.vehicle]
    trips = _trips(days, order, times)
    stops = tuple(_stops(days, route, order, times, trips))
    home = _drive(days, route, days.rows[days.problem.visits[order[-1].visit].place][1], 0)
    return Itinerary(
        crew=crew.id,
        crew_name=crew.name,
        people=crew.people,
        vehicle=vehicle.id,
        vehicle_name=vehicle.name,
        date=days.route_dates[route],
        load_from=days.clock(times.leave - whole_seconds(days.farm.base.loading_minutes)),
        leave=days.clock(times.leave),
        stops=stops,
        drive_home=home,
        home=days.clock(times.home),
        home_by=days.clock(days.problem.routes[route].home_by),
        away_seconds=times.away,
        drive_seconds=sum(stop.drive.seconds for stop in stops) + home.seconds,
        distance_metres=times.metres,
        load=_load_list(days, route, order, trips[0]),
        call_ins=_call_ins(days, stops, times) if crew.people == 1 else (),
        cautions=_cautions(days, route, times),
    )


@dataclass(frozen=True)
class _Trip:
    """The stops of an order from one loading at base to the next."""

    first: int
    end: int
    load: Loads


def _trips(days: Days, order: Order, times: Timeline) -> list[_Trip]:
    cuts = [one.before for one in times.returns]
    found = trip_loads(days.problem, order, cuts)
    return [_Trip(first, end, load) for (first, end), load in zip(pairwise((0, *cuts, len(order))), found, strict=True)]


def _stops(days: Days, route: int, order: Order, times: Timeline, trips: Sequence[_Trip]) -> Iterator[Stop]:
    """Yield the stops of an order, numbered from 1; a move is two of them with the drive of the hives between.

    Where the crew comes back to base to load again, that is a stop too.
    """
    here = number = trip = 0
    for index, planned in enumerate(order):
        if trip < len(times.returns) and times.returns[trip].before == index:
            back = _back_at_base(days, route, order, (times, trips), trip, _drive(days, route, here, 0))
            yield back.model_copy(update={"number": number + 1})
            here, number, trip = 0, number + 1, trip + 1
        load, within = trips[trip].load, index - trips[trip].first
        entered, left = days.rows[days.problem.visits[planned.visit].place]
        drive = _drive(days, route, here, entered)
        on_leaving = (load.grams[within + 1], load.millilitres[within + 1])
        stop = _stop(days, route, planned, index, (times, on_leaving, drive))
        if entered == left:
            yield stop.model_copy(update={"number": number + 1})
        else:
            way = _drive(days, route, entered, left)
            loaded = (load.grams_within[within + 1], load.millilitres_within[within + 1])
            first, second = _ends_of_move(days, route, stop, way, loaded)
            yield first.model_copy(update={"number": number + 1})
            yield second.model_copy(update={"number": number + 2})
        number += 1 if entered == left else 2
        here = left


def _back_at_base(
    days: Days, route: int, order: Order, facts: tuple[Timeline, Sequence[_Trip]], number: int, drive: Drive
) -> Stop:
    """Return the stop at base before a trip other than the first."""
    times, trips = facts
    base, rules, back, trip = days.farm.base, days.problem.routes[route], times.returns[number], trips[number + 1]
    return Stop(
        number=1,
        site=BASE,
        name=base.name,
        latitude=base.place.latitude,
        longitude=base.place.longitude,
        drive=drive,
        arrive=days.clock(back.arrive),
        start=days.clock(back.start),
        finish=days.clock(back.finish),
        on_site_seconds=rules.reload_seconds,
        rest=_break(days, times.rest) if times.rest is not None and times.rest.back == number else None,
        window_opens=days.clock(rules.earliest_leave),
        window_closes=days.clock(rules.home_by),
        light_left_seconds=rules.home_by - back.finish,
        load_kg=round(trip.load.grams[0] / THOUSAND, PLACES),
        load_litres=round(trip.load.millilitres[0] / THOUSAND, PLACES),
        jobs=(),
        load_again=_load_list(days, route, order, trip),
    )


def _ends_of_move(days: Days, route: int, whole: Stop, way: Drive, on_board: tuple[float, float]) -> tuple[Stop, Stop]:
    """Return the stop where hives are loaded and the one where they are set down; a break comes before or after both.

    `on_board` are the grams and millilitres with the hives.
    """
    job = next(job for job in days.jobs if job.id == whole.jobs[0].id)
    crew, old, new = days.crews[route], days.farm.site(job.site), days.farm.site(job.to)
    there, work = set_down_seconds(days.farm, crew, job)
    here = whole.on_site_seconds - way.seconds - there
    start = seconds_of(whole.start, days.midnight)
    closes = seconds_of(whole.window_closes, days.midnight)
    loaded = start + here
    before = whole.rest is not None and whole.rest.start < whole.start
    first = whole.model_copy(
        update={
            "finish": days.clock(loaded),
            "on_site_seconds": here,
            "rest": whole.rest if before else None,
            "light_left_seconds": closes - loaded,
            "load_kg": round(on_board[0] / THOUSAND, PLACES),
            "load_litres": round(on_board[1] / THOUSAND, PLACES),
        }
    )
    second = whole.model_copy(
        update={
            "site": new.id,
            "name": new.name,
            "latitude": new.place.latitude,
            "longitude": new.place.longitude,
            "stopping_place": stopping_place(days, route, new.id),
            "drive": way,
            "arrive": days.clock(loaded + way.seconds),
            "start": days.clock(loaded + way.seconds),
            "on_site_seconds": there,
            "rest": None if before else whole.rest,
            "jobs": (),
            "set_down": SetDown(
                job=job.id,
                name=days.farm.job_kinds[job.kind].name,
                hives=job.hives,
                work_seconds=work,
                from_site=old.id,
                from_name=old.name,
                cautions=days.farm.job_kinds[job.kind].cautions,
            ),
            "last_of_day": new.last_of_day,
            "walking_minutes": new.walking_minutes,
            "notes": new.notes,
        }
    )
    return first, second


def _drive(days: Days, route: int, here: int, there: int) -> Drive:
    """Return the drive between two rows of the legs."""
    legs = days.legs.of(days.crews[route].vehicle)
    way = legs.way(here, there)
    return Drive(
        seconds=int(legs.seconds[here, there]),
        metres=int(legs.metres[here, there]),
        origin=legs.origins[here][there],
        shape=way.shape,
        turns=way.turns,
    )


def _stop(
    days: Days, route: int, planned: Planned, number: int, facts: tuple[Timeline, tuple[float, float], Drive]
) -> Stop:
    times, load, drive = facts
    visit = days.problem.visits[planned.visit]
    site = days.sites[visit.place - 1]
    jobs = [(days.jobs[task], days.problem.routes[route].work_seconds[task]) for task in planned.tasks]
    jobs = [(job, load_seconds(days.farm, days.crews[route], job) if job.to else work) for job, work in jobs]
    return Stop(
        number=number + 1,
        site=site.id,
        name=site.name,
        latitude=site.place.latitude,
        longitude=site.place.longitude,
        stopping_place=stopping_place(days, route, site.id),
        drive=drive,
        arrive=days.clock(times.arrives[number]),
        start=days.clock(times.starts[number]),
        finish=days.clock(times.finishes[number]),
        on_site_seconds=days.problem.on_site_seconds(route, planned),
        rest=_break(days, times.rest) if times.rest is not None and times.rest.stop == number else None,
        window_opens=days.clock(visit.opens),
        window_closes=days.clock(visit.closes),
        light_left_seconds=visit.closes - times.finishes[number],
        load_kg=round(load[0] / THOUSAND, PLACES),
        load_litres=round(load[1] / THOUSAND, PLACES),
        jobs=tuple(planned_job(days, job, days.dates[visit.day], work) for job, work in jobs),
        last_of_day=site.last_of_day,
        walking_minutes=site.walking_minutes,
        notes=site.notes,
    )


def _break(days: Days, rest: Rest) -> Break:
    return Break(start=days.clock(rest.start), seconds=rest.seconds)


def _cautions(days: Days, route: int, times: Timeline) -> tuple[str, ...]:
    """Return that a second break is due, where the rest of the day after the break is longer than the crew's rule."""
    rules = days.problem.routes[route]
    if not second_break_due(rules, times):
        return ()
    on = duration(longest_after_break(rules, times))
    hours = days.crews[route].break_after_hours
    return (
        (
            f"After the break it is {on} without another, longer than the {hours:g} h after which a break is due: "
            "take a second one; its minutes are not in these times."
        ),
    )


def _load_list(days: Days, route: int, order: Order, trip: _Trip) -> LoadList:
    load, stops = trip.load, order[trip.first : trip.end]
    vehicle = days.farm.vehicles[days.crews[route].vehicle]
    where = [BASE, *(days.sites[days.problem.visits[planned.visit].place - 1].id for planned in stops)]
    grams, millilitres = load.grams_within, load.millilitres_within
    heaviest, fullest = grams.index(max(grams)), millilitres.index(max(millilitres))
    return LoadList(
        out=tuple(_item(days, supply, amount, out=True) for supply, amount in enumerate(load.loaded) if amount),
        back=tuple(_item(days, supply, amount, out=False) for supply, amount in enumerate(load.brought) if amount),
        fullest_kg=round(grams[heaviest] / THOUSAND, PLACES),
        fullest_kg_at=where[heaviest],
        payload_kg=vehicle.payload_kg,
        fullest_litres=round(millilitres[fullest] / THOUSAND, PLACES),
        fullest_litres_at=where[fullest],
        space_litres=vehicle.space_litres,
    )


def _item(days: Days, supply: int, amount: int, *, out: bool) -> LoadItem:
    facts = days.farm.materials[days.materials[supply]]
    numbers = days.problem.supplies[supply]
    packed = out and facts.sold_by is not None
    return LoadItem(
        material=facts.id,
        name=facts.name,
        amount=amount / THOUSAND,
        unit=facts.unit,
        packs=-(-amount // numbers.pack) if packed else None,
        pack=f"{facts.pack} of {facts.sold_by.value:g} {facts.unit}" if packed and facts.sold_by else "",
        kg=round(amount * numbers.grams_each / THOUSAND, PLACES),
        litres=round(amount * numbers.millilitres_each / THOUSAND, PLACES),
    )


def _call_ins(days: Days, stops: Sequence[Stop], times: Timeline) -> tuple[CallIn, ...]:
    """Return when a lone worker should have called: at the last stop, at home, and in between as seldom as may be.

    The calls in between are spread evenly, so that none follows another sooner than half the longest time between two.
    """
    longest = floor(round(days.farm.rules.call_in_minutes.value * 60, PLACES))
    fixed = [(times.finishes[-1], stops[-1].name), (times.home, days.farm.base.name)]
    if times.home == times.finishes[-1]:
        fixed = fixed[:1]  # the last hives stand at base's own place
    calls: list[CallIn] = []
    last = times.leave
    for moment, where in fixed:
        stretches = max(1, -(-(moment - last) // longest)) if longest else 1
        between = [last + number * (moment - last) // stretches for number in range(1, stretches)]
        calls += [CallIn(by=days.clock(by), where=_whereabouts(days, stops, by)) for by in between]
        calls.append(CallIn(by=days.clock(moment), where=where))
        last = moment
    return tuple(calls)


def _whereabouts(days: Days, stops: Sequence[Stop], moment: int) -> str:
    """Return the stop the crew is at, or the one it is driving to, at a moment."""
    for stop in stops:
        rests_after = stop.rest is not None and stop.rest.start >= stop.finish
        left = seconds_of(stop.finish, days.midnight) + (stop.rest.seconds if stop.rest and rests_after else 0)
        if moment <= left:
            return stop.name
    return days.farm.base.name
