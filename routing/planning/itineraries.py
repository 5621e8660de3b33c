"""From visiting orders to the timed round that is shown."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor

from routing.plain_words import duration
from routing.planning.itinerary_stops import drive_between, stops_of
from routing.planning.load_lists import PLACES, load_list, trips_of
from routing.planning.model.dates import seconds_of, whole_seconds
from routing.planning.model.instance import Instance
from routing.planning.model.problem import Order
from routing.planning.model.timing import Timeline, longest_after_break, second_break_due, timeline
from routing.round import CallIn, Itinerary, LeftOut, Proof, Round, Start, Stop
from routing.travel.leg_origin import LegOrigin
from routing.weather.report import weather_sentences


def build_round(
    instance: Instance, orders: Sequence[Order], left_out: Sequence[LeftOut], proof: Proof, *, given_order: bool = False
) -> Round:
    """Return the round of one date; crews with nothing to do have no itinerary."""
    base = instance.farm.base
    return Round(
        farm=instance.farm.name,
        base_name=base.name,
        base_latitude=base.place.latitude,
        base_longitude=base.place.longitude,
        time_zone=instance.farm.time_zone,
        dates=instance.dates,
        itineraries=tuple(_itinerary(instance, route, order) for route, order in enumerate(orders) if order),
        left_out=tuple(left_out),
        proof=proof,
        start=_start(instance),
        given_order=given_order,
        estimates=_estimates(instance),
        warnings=tuple(str(fault) for fault in instance.farm.warnings),
        units=instance.farm.rules.units,
        emergency_number=instance.farm.rules.emergency_number,
    )


def _start(instance: Instance) -> Start | None:
    underway = instance.farm.underway
    if underway is None:
        return None
    return Start(name=underway.name, latitude=underway.place.latitude, longitude=underway.place.longitude)


def _estimates(instance: Instance) -> tuple[str, ...]:
    found = []
    estimated = (
        origin is LegOrigin.ESTIMATE
        for here, row in enumerate(instance.legs.origins)
        for there, origin in enumerate(row)
        if here != there
    )
    if any(estimated):
        found.append(
            "Drive times are estimates: the straight line times a detour factor at an average speed. "
            f"Known minutes go into {instance.farm.tables.drives}."
        )
    kinds = [instance.farm.job_kinds[kind] for kind in sorted({job.kind for job in instance.jobs})]
    if any(kind.minutes_a_hive.confidence != "farm" for kind in kinds):
        found.append("Work minutes are general defaults until farm.toml gives this farm's own.")
    found += instance.legs.notes
    found += dict.fromkeys(line for date in instance.dates for line in weather_sentences(instance.farm, date))
    return tuple(found)


def _itinerary(instance: Instance, route: int, order: Order) -> Itinerary:
    times = timeline(instance.problem, route, order)
    if times is None:
        raise AssertionError("an engine gave an order that does not fit its day")
    crew = instance.crews[route]
    vehicle = instance.farm.vehicles[crew.vehicle]
    trips = trips_of(instance, order, times)
    stops = tuple(stops_of(instance, route, order, times, trips))
    home = drive_between(instance, route, instance.rows[instance.problem.visits[order[-1].visit].place][1], 0)
    return Itinerary(
        crew=crew.id,
        crew_name=crew.name,
        people=crew.people,
        vehicle=vehicle.id,
        vehicle_name=vehicle.name,
        date=instance.route_dates[route],
        load_from=instance.clock(times.leave - whole_seconds(instance.farm.base.loading_minutes)),
        leave=instance.clock(times.leave),
        stops=stops,
        drive_home=home,
        home=instance.clock(times.home),
        home_by=instance.clock(instance.problem.routes[route].home_by),
        away_seconds=times.away,
        drive_seconds=sum(stop.drive.seconds for stop in stops) + home.seconds,
        distance_metres=times.metres,
        load=load_list(instance, route, order, trips[0]),
        call_ins=_call_ins(instance, stops, times) if crew.people == 1 else (),
        cautions=_cautions(instance, route, times),
    )


def _cautions(instance: Instance, route: int, times: Timeline) -> tuple[str, ...]:
    """Return that a second break is due, where the rest of the day after the break is longer than the crew's rule."""
    rules = instance.problem.routes[route]
    if not second_break_due(rules, times):
        return ()
    on = duration(longest_after_break(rules, times))
    hours = instance.crews[route].break_after_hours
    return (
        (
            f"After the break it is {on} without another, longer than the {hours:g} h after which a break is due: "
            "take a second one; its minutes are not in these times."
        ),
    )


def _call_ins(instance: Instance, stops: Sequence[Stop], times: Timeline) -> tuple[CallIn, ...]:
    """Return when a lone worker should have called: at the last stop, at home, and in between as seldom as may be.

    The calls in between are spread evenly, so that none follows another sooner than half the longest time between two.
    """
    longest = floor(round(instance.farm.rules.call_in_minutes.value * 60, PLACES))
    fixed = [(times.finishes[-1], stops[-1].name), (times.home, instance.farm.base.name)]
    if times.home == times.finishes[-1]:
        fixed = fixed[:1]  # the last hives stand at base's own place
    calls: list[CallIn] = []
    last = times.leave
    for moment, where in fixed:
        stretches = max(1, -(-(moment - last) // longest)) if longest else 1
        between = [last + number * (moment - last) // stretches for number in range(1, stretches)]
        calls += [CallIn(by=instance.clock(by), where=_whereabouts(instance, stops, by)) for by in between]
        calls.append(CallIn(by=instance.clock(moment), where=where))
        last = moment
    return tuple(calls)


def _whereabouts(instance: Instance, stops: Sequence[Stop], moment: int) -> str:
    """Return the stop the crew is at, or the one it is driving to, at a moment."""
    for stop in stops:
        rests_after = stop.rest is not None and stop.rest.start >= stop.finish
        left = seconds_of(stop.finish, instance.midnight) + (stop.rest.seconds if stop.rest and rests_after else 0)
        if moment <= left:
            return stop.name
    return instance.farm.base.name
