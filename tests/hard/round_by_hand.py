"""A true round of given stops, written down from the oracle's own times: what the judges are tried on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from routing.round import (
    Break,
    CallIn,
    Drive,
    Itinerary,
    LeftOut,
    LoadList,
    PlannedJob,
    Proof,
    ReasonCode,
    Round,
    Stop,
)
from routing.travel.leg_origin import LegOrigin
from tests.hard.oracle import Oracle
from tests.hard.outing import Outing, Timed
from tests.hard.world import Call, World, number, up

NOTHING = LoadList(
    out=(),
    back=(),
    fullest_kg=0,
    fullest_kg_at="base",
    payload_kg=500,
    fullest_litres=0,
    fullest_litres_at="base",
    space_litres=3000,
)


def round_of(oracle: Oracle, stops: Sequence[Call], left: str = "") -> Round:
    """Return the round of one crew-day without loads, moves or returns; the job at `left` is called not in the order."""
    (outing,) = oracle.outings
    timed = outing.best(stops)
    assert timed is not None
    base = oracle.world.farm.base
    return Round(
        farm=oracle.world.farm.name,
        base_name=base.name,
        base_latitude=base.place.latitude,
        base_longitude=base.place.longitude,
        time_zone=oracle.world.farm.time_zone,
        dates=oracle.world.dates,
        itineraries=(_itinerary(outing, timed, stops),),
        left_out=tuple(_left_out(oracle, left)) if left else (),
        proof=Proof(optimal=False, text=""),
    )


def _itinerary(outing: Outing, timed: Timed, stops: Sequence[Call]) -> Itinerary:
    day, world = outing.day, outing.world

    def local(seconds: int) -> dt.datetime:
        return dt.datetime.fromtimestamp(seconds, tz=world.zone)

    made: list[Stop] = []
    now, here, metres, driven, rested = timed.leave, 0, 0, 0, timed.leave
    for index, call in enumerate(stops):
        drive = _drive(outing, here, call.enter)
        driven, metres = driven + drive.seconds, metres + drive.metres
        arrive = now + drive.seconds
        rest = None
        if index == timed.gap:  # as late in the wait as the rules let it be
            begins = max(arrive, min(timed.leave + day.rest_after, call.opens - day.rest))
            rest = Break(start=local(begins), seconds=day.rest)
            rested = begins + day.rest
        made.append(_stop(outing, call, index + 1, drive, (arrive, rest)))
        now, here = world.at(made[-1].finish), call.leave
    home = _drive(outing, here, 0)
    second = timed.gap >= 0 and timed.home - rested > day.rest_after
    return Itinerary(
        crew=day.crew.id,
        crew_name=day.crew.name,
        people=day.crew.people,
        vehicle=day.crew.vehicle,
        vehicle_name=day.crew.vehicle,
        date=day.date,
        load_from=local(timed.leave - day.loading),
        leave=local(timed.leave),
        stops=tuple(made),
        drive_home=home,
        home=local(timed.home),
        home_by=local(day.home_by),
        away_seconds=timed.away,
        drive_seconds=driven + home.seconds,
        distance_metres=metres + home.metres,
        load=NOTHING,
        call_ins=tuple(CallIn(by=local(by), where=_where(world, made, by)) for by in _calls(outing, timed, now)),
        cautions=("A second break is due.",) if second else (),
    )


def _calls(outing: Outing, timed: Timed, done: int) -> Iterator[int]:
    longest = up(number(outing.world.farm.rules.call_in_minutes))
    last = timed.leave
    for moment in (done, timed.home):
        while moment - last > longest:
            last += longest
            yield last
        last = moment
        yield moment


def _where(world: World, made: Sequence[Stop], moment: int) -> str:
    return next((stop.name for stop in made if moment <= world.at(stop.finish)), world.farm.base.name)


def _drive(outing: Outing, here: int, there: int) -> Drive:
    return Drive(seconds=outing.day.seconds[here][there], metres=outing.day.metres[here][there], origin=LegOrigin.KNOWN)


def _stop(outing: Outing, call: Call, position: int, drive: Drive, when: tuple[int, Break | None]) -> Stop:
    world = outing.world
    site = world.farm.site(call.site)
    arrive, rest = when
    start = max(arrive, call.opens, world.at(rest.start) + rest.seconds if rest else 0)

    def local(seconds: int) -> dt.datetime:
        return dt.datetime.fromtimestamp(seconds, tz=world.zone)

    return Stop(
        number=position,
        site=site.id,
        name=site.name,
        latitude=site.place.latitude,
        longitude=site.place.longitude,
        drive=drive,
        arrive=local(arrive),
        start=local(start),
        finish=local(start + call.seconds),
        on_site_seconds=call.seconds,
        rest=rest,
        window_opens=local(call.opens),
        window_closes=local(call.closes),
        light_left_seconds=call.closes - start - call.seconds,
        load_kg=0,
        load_litres=0,
        jobs=tuple(_job(outing, work.number) for work in world.of(call.jobs)),
    )


def _job(outing: Outing, position: int) -> PlannedJob:
    work = outing.world.works[position]
    return PlannedJob(
        id=work.job.id,
        kind=work.kind.id,
        name=work.kind.name,
        hives=work.job.hives,
        work_seconds=outing.world.work_seconds(work, outing.day.crew),
        rank=work.job.rank,
    )


def _left_out(oracle: Oracle, name: str) -> Iterator[LeftOut]:
    for work in oracle.world.works:
        if work.job.site == name:
            place = oracle.world.farm.site(name).place
            yield LeftOut(
                site=name,
                name=name,
                latitude=place.latitude,
                longitude=place.longitude,
                jobs=(_job(oracle.outings[0], work.number),),
                reason=ReasonCode.NOT_ASKED,
                text="not asked",
            )
