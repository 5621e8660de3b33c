"""The stops of an order as they are shown: visits, moves in two stops, base where it is come back to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from routing.farm.models import BASE
from routing.planning.explain.left_out import planned_job
from routing.planning.load_lists import PLACES, Trip, load_list
from routing.planning.model.dates import seconds_of
from routing.planning.model.demands import THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.parked import stopping_place
from routing.planning.model.problem import Order, Planned
from routing.planning.model.timing import Rest, Timeline
from routing.planning.model.work import load_seconds, set_down_seconds
from routing.round import Break, Drive, SetDown, Stop


def stops_of(instance: Instance, route: int, order: Order, times: Timeline, trips: Sequence[Trip]) -> Iterator[Stop]:
    """Yield the stops of an order, numbered from 1; a move is two of them with the drive of the hives between.

    Where the crew comes back to base to load again, that is a stop too.
    """
    here = number = trip = 0
    for index, planned in enumerate(order):
        if trip < len(times.returns) and times.returns[trip].before == index:
            back = _back_at_base(instance, route, order, (times, trips), trip, drive_between(instance, route, here, 0))
            yield back.model_copy(update={"number": number + 1})
            here, number, trip = 0, number + 1, trip + 1
        load, within = trips[trip].load, index - trips[trip].first
        entered, left = instance.rows[instance.problem.visits[planned.visit].place]
        drive = drive_between(instance, route, here, entered)
        on_leaving = (load.grams[within + 1], load.millilitres[within + 1])
        stop = _stop(instance, route, planned, index, (times, on_leaving, drive))
        if entered == left:
            yield stop.model_copy(update={"number": number + 1})
        else:
            way = drive_between(instance, route, entered, left)
            loaded = (load.grams_within[within + 1], load.millilitres_within[within + 1])
            first, second = _ends_of_move(instance, route, stop, way, loaded)
            yield first.model_copy(update={"number": number + 1})
            yield second.model_copy(update={"number": number + 2})
        number += 1 if entered == left else 2
        here = left


def _back_at_base(
    instance: Instance, route: int, order: Order, facts: tuple[Timeline, Sequence[Trip]], number: int, drive: Drive
) -> Stop:
    """Return the stop at base before a trip other than the first."""
    times, trips = facts
    base, rules, back, trip = (
        instance.farm.base,
        instance.problem.routes[route],
        times.returns[number],
        trips[number + 1],
    )
    return Stop(
        number=1,
        site=BASE,
        name=base.name,
        latitude=base.place.latitude,
        longitude=base.place.longitude,
        drive=drive,
        arrive=instance.clock(back.arrive),
        start=instance.clock(back.start),
        finish=instance.clock(back.finish),
        on_site_seconds=rules.reload_seconds,
        rest=_break(instance, times.rest) if times.rest is not None and times.rest.back == number else None,
        window_opens=instance.clock(rules.earliest_leave),
        window_closes=instance.clock(rules.home_by),
        light_left_seconds=rules.home_by - back.finish,
        load_kg=round(trip.load.grams[0] / THOUSAND, PLACES),
        load_litres=round(trip.load.millilitres[0] / THOUSAND, PLACES),
        jobs=(),
        load_again=load_list(instance, route, order, trip),
    )


def _ends_of_move(
    instance: Instance, route: int, whole: Stop, way: Drive, on_board: tuple[float, float]
) -> tuple[Stop, Stop]:
    """Return the stop where hives are loaded and the one where they are set down; a break comes before or after both.

    `on_board` are the grams and millilitres with the hives.
    """
    job = next(job for job in instance.jobs if job.id == whole.jobs[0].id)
    crew, old, new = instance.crews[route], instance.farm.site(job.site), instance.farm.site(job.to)
    there, work = set_down_seconds(instance.farm, crew, job)
    here = whole.on_site_seconds - way.seconds - there
    start = seconds_of(whole.start, instance.midnight)
    closes = seconds_of(whole.window_closes, instance.midnight)
    loaded = start + here
    before = whole.rest is not None and whole.rest.start < whole.start
    first = whole.model_copy(
        update={
            "finish": instance.clock(loaded),
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
            "stopping_place": stopping_place(instance, route, new.id),
            "drive": way,
            "arrive": instance.clock(loaded + way.seconds),
            "start": instance.clock(loaded + way.seconds),
            "on_site_seconds": there,
            "rest": None if before else whole.rest,
            "jobs": (),
            "set_down": SetDown(
                job=job.id,
                name=instance.farm.job_kinds[job.kind].name,
                hives=job.hives,
                work_seconds=work,
                from_site=old.id,
                from_name=old.name,
                cautions=instance.farm.job_kinds[job.kind].cautions,
            ),
            "last_of_day": new.last_of_day,
            "walking_minutes": new.walking_minutes,
            "notes": new.notes,
        }
    )
    return first, second


def drive_between(instance: Instance, route: int, here: int, there: int) -> Drive:
    """Return the drive between two rows of the legs."""
    legs = instance.legs.of(instance.crews[route].vehicle)
    way = legs.way(here, there)
    return Drive(
        seconds=int(legs.seconds[here, there]),
        metres=int(legs.metres[here, there]),
        origin=legs.origins[here][there],
        shape=way.shape,
        turns=way.turns,
    )


def _stop(
    instance: Instance, route: int, planned: Planned, number: int, facts: tuple[Timeline, tuple[float, float], Drive]
) -> Stop:
    times, load, drive = facts
    visit = instance.problem.visits[planned.visit]
    site = instance.sites[visit.place - 1]
    jobs = [(instance.jobs[task], instance.problem.routes[route].work_seconds[task]) for task in planned.tasks]
    jobs = [(job, load_seconds(instance.farm, instance.crews[route], job) if job.to else work) for job, work in jobs]
    return Stop(
        number=number + 1,
        site=site.id,
        name=site.name,
        latitude=site.place.latitude,
        longitude=site.place.longitude,
        stopping_place=stopping_place(instance, route, site.id),
        drive=drive,
        arrive=instance.clock(times.arrives[number]),
        start=instance.clock(times.starts[number]),
        finish=instance.clock(times.finishes[number]),
        on_site_seconds=instance.problem.on_site_seconds(route, planned),
        rest=_break(instance, times.rest) if times.rest is not None and times.rest.stop == number else None,
        window_opens=instance.clock(visit.opens),
        window_closes=instance.clock(visit.closes),
        light_left_seconds=visit.closes - times.finishes[number],
        load_kg=round(load[0] / THOUSAND, PLACES),
        load_litres=round(load[1] / THOUSAND, PLACES),
        jobs=tuple(planned_job(instance, job, instance.dates[visit.day], work) for job, work in jobs),
        last_of_day=site.last_of_day,
        walking_minutes=site.walking_minutes,
        notes=site.notes,
    )


def _break(instance: Instance, rest: Rest) -> Break:
    return Break(start=instance.clock(rest.start), seconds=rest.seconds)
