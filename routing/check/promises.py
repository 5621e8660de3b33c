"""Every promise of a round, in the order in which they are held against it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from routing.check import (
    breaks,
    calls,
    crews,
    departure,
    fits,
    header,
    jobs,
    left_out,
    light,
    load,
    moves,
    returns,
    shapes,
    stops,
    times,
)
from routing.check.ground import Ground
from routing.errors import CheckFailed
from routing.farm.models import Farm
from routing.round import Itinerary, Round
from routing.travel.legs import Legs

OF_THE_ROUND: tuple[Callable[[Round, Ground], Iterator[str]], ...] = (
    header.is_this_farm,
    header.dates_agree,
    header.estimates_are_named,
    header.even_days_are_told_right,
    header.notes_on_legs_are_told,
    jobs.every_job_once,
    jobs.left_out_jobs_are_told_right,
    load.stock_is_enough,
    left_out.not_due_is_said_where_true,
    left_out.own_choice,
    left_out.insertions_are_given,
    left_out.shortfalls_are_sound,
    left_out.reasons_are_true,
    fits.nothing_fits,
)
"""Promises of the round as a whole: each yields a sentence for every way in which it is broken."""

OF_EACH_DAY: tuple[Callable[[Itinerary, Ground], Iterator[str]], ...] = (
    crews.crew_is_right,
    crews.crew_works,
    crews.vehicle_reaches,
    crews.people_suffice,
    stops.stops_are_numbered,
    stops.stops_are_told_right,
    stops.no_visit_twice,
    stops.suspect_sites_come_last,
    stops.drives_are_the_legs,
    shapes.ways_are_the_legs,
    shapes.shapes_join_their_places,
    shapes.stopping_places_are_right,
    times.times_are_local,
    times.loading_comes_first,
    times.times_follow,
    times.home_in_time,
    times.sums_are_right,
    light.windows_are_true,
    light.work_lies_in_the_light,
    light.light_left_is_right,
    jobs.planned_jobs_are_told_right,
    jobs.visits_last_as_long_as_their_jobs,
    jobs.nothing_too_soon,
    breaks.break_where_the_day_is_long,
    breaks.breaks_are_whole,
    moves.set_downs_are_told_right,
    moves.nothing_leaves_a_suspect_site,
    moves.no_rest_before_hives_are_down,
    returns.returns_are_allowed,
    returns.returns_are_needed,
    returns.returns_are_told_right,
    load.loads_on_leaving_stops,
    load.nothing_overloaded,
    load.fullest_point,
    load.load_list_goes_out,
    load.load_list_comes_back,
    calls.calls_are_frequent,
    calls.calls_say_where,
    departure.base_is_left_late,
)
"""Promises of one crew's day."""


def broken_promises(round_: Round, farm: Farm, legs: Legs) -> tuple[str, ...]:
    """Return one sentence for each broken promise: who, where, which, expected and found. Empty where all are kept.

    Where the round speaks of a crew, site or job that the farm does not have, only that is told: nothing else could be
    looked up. So it is where the two ends of a move do not belong together.
    """
    ground = Ground.of(farm, legs)
    unknown = tuple(header.speaks_of_the_farm(round_, ground))
    if unknown:
        return unknown
    torn = tuple(sentence for day in round_.itineraries for sentence in moves.hives_go_straight(day, ground))
    if torn:
        return torn
    whole = [sentence for promise in OF_THE_ROUND for sentence in promise(round_, ground)]
    days = [sentence for day in round_.itineraries for promise in OF_EACH_DAY for sentence in promise(day, ground)]
    return (*whole, *days)


def require_good(round_: Round, farm: Farm, legs: Legs) -> None:
    """Return where the round keeps every promise. Raises CheckFailed with each that it breaks."""
    broken = broken_promises(round_, farm, legs)
    if broken:
        raise CheckFailed(broken)
