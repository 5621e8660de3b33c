"""The numbers that a day is reckoned anew from in the field: each is looked up or recomputed, none is taken over."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import combinations, pairwise

from routing.check.cargo import brought_back, loaded, taken
from routing.check.exact import exact, instant, local_instant, whole_seconds
from routing.check.ground import Ground, Span
from routing.check.sentences import day_of, same, stop_of
from routing.farm.models import BASE, Crew, Job, MaterialUse
from routing.round import DayNumbers, Itinerary, MaterialAmount, NumbersJob, NumbersStop, Stop

NEAR = Fraction(1, 10**6)
"""Of a second or a thousandth: parts that no rounding up can see."""

ON_TIME, MOST_OVERDUE, THOUSAND = 7, 365, 1000


def numbers_are_true(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where a number for the field is not that of the farm, the drives and the light."""
    numbers, where = itinerary.numbers, day_of(itinerary)
    if numbers is None:
        return
    moves = any(not stop.jobs or any(job.to for job in stop.jobs) for stop in itinerary.stops)
    yield from same(where, "a day of moves or several trips has no numbers for the field", expected=False, found=moves)
    yield from same(where, "each stop has its numbers for the field", len(itinerary.stops), len(numbers.stops))
    if moves or len(itinerary.stops) != len(numbers.stops):
        return
    midnight = instant(numbers.midnight)
    expected = local_instant(itinerary.date, dt.time(), ground.zone)
    yield from same(where, "numbers for the field count from midnight", expected, midnight)
    yield from _of_the_day(itinerary, numbers, midnight, ground)
    for stop, shown in zip(numbers.stops, itinerary.stops, strict=True):
        yield from _of_a_stop(stop, shown, itinerary, midnight, ground)


def _of_the_day(itinerary: Itinerary, numbers: DayNumbers, midnight: int, ground: Ground) -> Iterator[str]:
    where, crew = day_of(itinerary), ground.crews[itinerary.crew]
    vehicle, stops = ground.vehicle(crew), itinerary.stops
    places = [BASE, *(stop.site for stop in stops)]
    legs = [[0 if here == there else _seconds(ground, crew, here, there) for there in places] for here in places]
    jobs = [ground.jobs[job.id] for stop in stops for job in stop.jobs]
    used = taken(jobs, ground)
    every = dict.fromkeys((*(name for name, amount in used.items() if amount), *_names(jobs, ground)))
    materials = ground.farm.materials
    told = {each.material: (each.grams_each, each.millilitres_each, each.loaded) for each in numbers.materials}
    wanted = {
        name: (
            materials[name].kg_each.value,
            materials[name].litres_each.value,
            round(loaded(materials[name], used.get(name, Fraction(0)), ground) * THOUSAND),
        )
        for name in every
    }
    pairs = (
        ("home by", ground.home_by(crew, itinerary.date) - midnight, numbers.home_by),
        ("the break", ground.break_seconds(crew), numbers.break_seconds),
        ("when a break is due", int(exact(crew.break_after_hours) * 3600), numbers.break_after_seconds),
        ("the payload", int(exact(vehicle.payload_kg) * THOUSAND), numbers.payload_grams),
        ("the space", int(exact(vehicle.space_litres) * THOUSAND), numbers.space_millilitres),
        ("each drive", legs, [list(row) for row in numbers.seconds]),
        ("each material", wanted, told),
        ("each material once", len(told), len(numbers.materials)),
    )
    for what, expected, found in pairs:
        yield from same(where, f"{what} in the numbers for the field is right", expected, found)


def _names(jobs: Sequence[Job], ground: Ground) -> Iterator[str]:
    return (name for name, amount in brought_back(jobs, ground).items() if amount)


def _seconds(ground: Ground, crew: Crew, here: str, there: str) -> int:
    leg = ground.leg(crew, here, there)
    return -1 if leg is None else leg.seconds


def _of_a_stop(stop: NumbersStop, shown: Stop, itinerary: Itinerary, midnight: int, ground: Ground) -> Iterator[str]:
    where, site = stop_of(itinerary, shown), ground.sites[shown.site]
    walk = whole_seconds(2 * exact(site.walking_minutes))
    yield from same(where, "the walk in the numbers for the field is right", walk, stop.walk_seconds)
    yield from same(where, "last of the day in the numbers for the field is right", site.last_of_day, stop.last_of_day)
    yield from same(where, "each job has its numbers for the field", len(shown.jobs), len(stop.jobs))
    if len(shown.jobs) != len(stop.jobs):
        return
    jobs = [ground.jobs[job.id] for job in shown.jobs]
    for numbers, job in zip(stop.jobs, jobs, strict=True):
        yield from _of_a_job(where, numbers, job, itinerary, ground)
    used = [(span.opens, span.closes, span.jobs) for span in stop.windows]
    yield from same(where, "each window in the numbers for the field stands once", len(set(used)), len(used))
    for size in range(1, len(jobs) + 1):
        for chosen in combinations(range(len(jobs)), size):
            spans = ground.visit_spans([jobs[number] for number in chosen], itinerary.date)
            expected = _widest([(opens - midnight, closes - midnight) for opens, closes in spans])
            found = _widest([(span.opens, span.closes) for span in stop.windows if set(chosen) <= set(span.jobs)])
            yield from same(where, "windows in the numbers for the field are those of the light", expected, found)
    beyond = {job for span in stop.windows for job in span.jobs} - set(range(len(jobs)))
    yield from same(where, "windows in the numbers for the field are of its jobs", set(), beyond)
    for span in stop.windows:
        rising = all(a < b for a, b in pairwise(span.jobs))
        yield from same(where, "the jobs of a window in the numbers for the field rise", expected=True, found=rising)


def _widest(spans: Sequence[Span]) -> list[Span]:
    """Return the spans that lie within no other."""
    every = sorted(set(spans))
    return [one for one in every if not any(o != one and o[0] <= one[0] and one[1] <= o[1] for o in every)]


def _of_a_job(where: str, numbers: NumbersJob, job: Job, itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    crew, kind = ground.crews[itinerary.crew], ground.kind(job)
    overdue = min(MOST_OVERDUE, max(0, (itinerary.date - job.due_by).days)) if job.due_by else 0
    weight = THOUSAND * (ON_TIME + overdue) * job.hives // (job.of_hives or job.hives)
    pairs = (
        ("the hives", job.hives, numbers.hives),
        ("the rank", job.rank, numbers.rank),
        ("the weight", weight, numbers.weight),
        ("the set-up", whole_seconds(exact(kind.minutes_a_visit.value)), numbers.set_up_seconds),
    )
    for what, expected, found in pairs:
        yield from same(where, f"{what} of {job.id} in the numbers for the field is right", expected, found)
    pace = exact(ground.sites[job.site].pace) * exact(crew.pace)
    hive = 60 * exact(kind.minutes_a_hive.value) / ground.hands(crew.people) * pace
    if abs(exact(numbers.hive_seconds) - hive) * max(1, job.hives) > NEAR:
        yield from same(where, f"the work on a hive for {job.id} is right", float(hive), numbers.hive_seconds)
    yield from _uses(where, job, kind.takes, numbers.takes, job.helpings)
    yield from _uses(where, job, kind.brings_back, numbers.brings_back, 1)


def _uses(
    where: str, job: Job, uses: Sequence[MaterialUse], found: Sequence[MaterialAmount], helpings: int
) -> Iterator[str]:
    wanted = [(use.material, exact(use.a_hive.value) * THOUSAND * helpings) for use in uses]
    told = [(each.material, exact(each.thousandths)) for each in found]
    alike = len(wanted) == len(told) and all(
        name == other and abs(amount - given) <= NEAR
        for (name, amount), (other, given) in zip(wanted, told, strict=True)
    )
    if not alike:
        amounts = [(name, float(amount)) for name, amount in wanted]
        yield from same(where, f"what a hive takes and brings for {job.id} is right", amounts, told)
