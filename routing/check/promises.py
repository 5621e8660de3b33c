"""Every promise of a round, in the order in which they are held against it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from routing.check import (
    breaks,
    calls,
    crews,
    departure,
    field,
    fits,
    header,
    jobs,
    left_out,
    light,
    load,
    moves,
    proved,
    returns,
    shapes,
    stops,
    times,
)
from routing.check.ground import Ground
from routing.check.judgement import Beside, Broken, BrokenDay, Judgement
from routing.errors import CheckFailed
from routing.farm.models import Farm
from routing.round import Itinerary, Round
from routing.travel.legs import Legs

OF_THE_ROUND: tuple[Callable[[Round, Ground], Iterator[str]], ...] = (
    header.is_this_farm,
    header.dates_agree,
    header.estimates_are_named,
    header.notes_on_legs_are_told,
    jobs.every_job_once,
    jobs.left_out_jobs_are_told_right,
    load.stock_is_enough,
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
    breaks.breaks_come_in_time,
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
    departure.base_is_left_late,
    departure.no_needless_rest_at_suspect_sites,
)
"""Promises of one crew's day."""

BESIDE_THE_ROUND: tuple[tuple[Beside, Callable[[Round, Ground], Iterator[str]]], ...] = (
    (Beside.PROOF, proved.bounds_hold),
    (Beside.PROOF, proved.best_is_the_bound),
    (Beside.EVEN, header.even_days_are_told_right),
    (Beside.CLASH, proved.a_clash_leaves_a_must_out),
)
"""What is said beside the round: the work in it is as good where it is false."""

BESIDE_EACH_DAY: tuple[tuple[Beside, Callable[[Itinerary, Ground], Iterator[str]]], ...] = (
    (Beside.CALLS, calls.calls_say_where),
    (Beside.SECOND_BREAK, breaks.second_breaks_are_told),
    (Beside.FIELD, field.numbers_are_true),
)
"""What is said of each crew's day and can be put right without another day."""

BESIDE_EACH_LEFT_OUT: tuple[tuple[Beside, Callable[[Round, Ground], left_out.Told]], ...] = (
    (Beside.REASON, left_out.not_due_is_said_where_true),
    (Beside.REASON, left_out.own_choice),
    (Beside.INSERTION, left_out.insertions_are_given),
    (Beside.INSERTION, left_out.shortfalls_are_sound),
    (Beside.INSERTION, left_out.extra_seconds_are_sound),
    (Beside.REMEDIES, left_out.remedies_are_sound),
    (Beside.REASON, left_out.reasons_are_true),
    (Beside.REASON, left_out.fits_alone_is_said_where_true),
    (Beside.ROOM, fits.nothing_fits),
)
"""What is said of each entry that is left out; each yields the place of the entry with the sentence."""


def judged(round_: Round, farm: Farm, legs: Legs, passed: Sequence[Itinerary] = ()) -> Judgement:
    """Return every broken promise of a round, parted into those of the round and those of what is said beside it.

    `passed` are days of rounds that kept every promise to the same farm and legs: where the round has one of these very
    days, what that day promises by itself is not looked at again.

    Where the round speaks of a crew, site or job that the farm does not have, only that is told: nothing else could be
    looked up. So it is where the two ends of a move do not belong together.
    """
    ground = Ground.of(farm, legs)
    for look in (_unknown, _torn):
        found = look(round_, ground)
        if found.sentences:
            return found
    known = {id(day) for day in passed}
    return _all_broken(round_, ground, [day for day in enumerate(round_.itineraries) if id(day[1]) not in known])


def _unknown(round_: Round, ground: Ground) -> Judgement:
    days = tuple(
        BrokenDay(index, "speaks of the farm", sentence)
        for index, day in enumerate(round_.itineraries)
        for sentence in header.day_speaks_of_the_farm(day, ground)
    )
    whole = tuple(s for left in round_.left_out for s in header.left_out_speaks_of_the_farm(left, ground))
    return Judgement(whole=whole, days=days)


def _torn(round_: Round, ground: Ground) -> Judgement:
    return Judgement(
        days=tuple(
            BrokenDay(index, "hives go straight", sentence)
            for index, day in enumerate(round_.itineraries)
            for sentence in moves.hives_go_straight(day, ground)
        )
    )


def _all_broken(round_: Round, ground: Ground, days: Sequence[tuple[int, Itinerary]]) -> Judgement:
    """Return what the round breaks, and what those of its days do that are to be looked at, each by its place."""
    return Judgement(
        whole=tuple(sentence for promise in OF_THE_ROUND for sentence in promise(round_, ground)),
        days=tuple(
            BrokenDay(index, promise.__name__.replace("_", " "), sentence)
            for index, day in days
            for promise in OF_EACH_DAY
            for sentence in promise(day, ground)
        ),
        beside=(
            *(Broken(what, sentence) for what, promise in BESIDE_THE_ROUND for sentence in promise(round_, ground)),
            *(
                Broken(what, sentence, day=index)
                for index, day in days
                for what, said in BESIDE_EACH_DAY
                for sentence in said(day, ground)
            ),
            *(Broken(Beside.FIELD, sentence, day=day) for day, sentence in field.stock_at_base_is_true(round_, ground)),
            *(
                Broken(what, sentence, entry)
                for what, each in BESIDE_EACH_LEFT_OUT
                for entry, sentence in each(round_, ground)
            ),
        ),
    )


def broken_promises(round_: Round, farm: Farm, legs: Legs, passed: Sequence[Itinerary] = ()) -> tuple[str, ...]:
    """Return one sentence for each broken promise: who, where, which, expected and found. Empty where all are kept.

    `passed` is as for `judged`.
    """
    return judged(round_, farm, legs, passed).sentences


def require_good(round_: Round, farm: Farm, legs: Legs) -> None:
    """Return where the round keeps every promise. Raises CheckFailed with each that it breaks."""
    broken = broken_promises(round_, farm, legs)
    if broken:
        raise CheckFailed(broken)
