"""The numbers that a day is reckoned anew from in the field: each is looked up or recomputed, none is taken over."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import combinations, pairwise

from routing.check.cargo import brought_back, loaded, taken, weight
from routing.check.exact import exact, instant, local_instant, whole_seconds
from routing.check.ground import Ground, Span
from routing.check.sentences import day_of, same
from routing.farm.models import BASE, Crew, Job, MaterialUse
from routing.round import DayNumbers, Itinerary, MaterialAmount, NumbersJob, NumbersStop, Round

NEAR = Fraction(1, 10**6)
"""Of a second or a thousandth: parts that no rounding up can see."""

ON_TIME, MOST_OVERDUE, THOUSAND = 7, 365, 1000


def numbers_are_true(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where a number for the field is not that of the farm, the drives and the light."""
    numbers, where = itinerary.numbers, day_of(itinerary)
    if numbers is None:
        return
    begins = [at for at, stop in enumerate(itinerary.stops) if stop.set_down is None and stop.load_again is None]
    ends = [at + any(job.to for job in itinerary.stops[at].jobs) for at in begins]
    told = [(stop.at, stop.to, stop.move is not None) for stop in numbers.stops]
    shown = [(at, to, at != to) for at, to in zip(begins, ends, strict=True)]
    behind = [len(itinerary.stops) + at for at, near in enumerate(numbers.near) if near.stop >= len(shown)]
    shown += [(at, at, False) for at in behind]
    yield from same(where, "each stop has its numbers for the field", shown, told)
    if shown != told:
        return
    trips = [sum(stop.load_again is not None for stop in itinerary.stops[:at]) for at in begins]
    yield from same(where, "each stop is of its trip", [*trips, *(0 for _ in behind)], [s.trip for s in numbers.stops])
    faults = list(_near(where, itinerary, numbers, ground))
    yield from faults
    if faults:
        return
    midnight = instant(numbers.midnight)
    expected = local_instant(itinerary.date, dt.time(), ground.zone)
    yield from same(where, "numbers for the field count from midnight", expected, midnight)
    jobs = _jobs(itinerary, numbers, ground)
    yield from _of_the_day(itinerary, numbers, midnight, ground)
    for stop, here in zip(numbers.stops, jobs, strict=True):
        yield from _of_a_stop(stop, here, itinerary, midnight, ground)


def _near(where: str, itinerary: Itinerary, numbers: DayNumbers, ground: Ground) -> Iterator[str]:
    """Yield where work that is offered is none of that site, or is planned already, or the way to it is another."""
    planned = {job.id for stop in itinerary.stops for job in stop.jobs}
    parked = ground.roads.of(ground.crews[itinerary.crew].vehicle).parked
    for near in numbers.near:
        jobs = [ground.jobs.get(job) for job in near.jobs]
        sound = all(job is not None and job.site == near.site and not job.to for job in jobs) and bool(jobs)
        yield from same(where, "work that is near is of its site", expected=True, found=sound)
        yield from same(where, "work that is near is not planned", set(), planned & set(near.jobs))
        planned |= set(near.jobs)
        stop = numbers.stops[near.stop] if 0 <= near.stop < len(numbers.stops) else None
        yield from same(where, "work that is near has its stop", expected=True, found=stop is not None)
        if stop is not None and stop.at < len(itinerary.stops):
            yield from same(where, "work that is near is at its stop", itinerary.stops[stop.at].site, near.site)
        if sound:
            site = ground.sites[near.site]
            at = parked[near.site].place if near.site in parked else site.place
            told = (near.latitude, near.longitude)
            yield from same(where, "work that is near is where it is", (at.latitude, at.longitude), told)


def _jobs(itinerary: Itinerary, numbers: DayNumbers, ground: Ground) -> list[list[Job]]:
    """Return the jobs of each stop of the numbers: those shown there, then those that are near."""
    found = []
    for number, stop in enumerate(numbers.stops):
        shown = itinerary.stops[stop.at].jobs if stop.at < len(itinerary.stops) else ()
        more = (job for near in numbers.near if near.stop == number for job in near.jobs)
        found.append([ground.jobs[job] for job in (*(job.id for job in shown), *more)])
    return found


def _of_the_day(itinerary: Itinerary, numbers: DayNumbers, midnight: int, ground: Ground) -> Iterator[str]:
    where, crew = day_of(itinerary), ground.crews[itinerary.crew]
    vehicle, stops = ground.vehicle(crew), itinerary.stops
    places = [BASE, *(stop.site for stop in stops), *(near.site for near in numbers.near)]
    legs = [[0 if here == there else _seconds(ground, crew, here, there) for there in places] for here in places]
    if ground.farm.underway is not None:
        legs[0] = [_seconds(ground, crew, BASE, there) for there in places]  # out of where the crew stands
    told = {
        each.material: (
            *(each.name, each.unit, each.grams_each, each.millilitres_each),
            *((each.loaded, *each.again), each.brought, each.pack),
        )
        for each in numbers.materials
    }
    near = [ground.jobs[job] for each in numbers.near for job in each.jobs]
    wanted = _materials(_trips(itinerary, ground), near, ground)
    again = None
    if ground.farm.underway is None:
        again = (crew.trips_a_day, whole_seconds(exact(ground.farm.base.loading_minutes)))
    found_again = numbers.base and (numbers.base.trips, numbers.base.loading_seconds)
    pairs = (
        ("home by", ground.home_by(crew, itinerary.date) - midnight, numbers.home_by),
        ("the break", ground.break_seconds(crew), numbers.break_seconds),
        ("when a break is due", int(exact(crew.break_after_hours) * 3600), numbers.break_after_seconds),
        ("the payload", int(exact(vehicle.payload_kg) * THOUSAND), numbers.payload_grams),
        ("the space", int(exact(vehicle.space_litres) * THOUSAND), numbers.space_millilitres),
        ("loading again", again, found_again),
        ("each drive", legs, [list(row) for row in numbers.seconds]),
        ("each material", wanted, told),
        ("each material once", len(told), len(numbers.materials)),
    )
    for what, expected, found in pairs:
        yield from same(where, f"{what} in the numbers for the field is right", expected, found)


def _trips(itinerary: Itinerary, ground: Ground) -> list[list[Job]]:
    """Return the jobs of each trip."""
    found: list[list[Job]] = [[]]
    for stop in itinerary.stops:
        if stop.load_again is not None:
            found.append([])
        found[-1] += [ground.jobs[job.id] for job in stop.jobs]
    return found


def _put_on(trips: Sequence[Sequence[Job]], name: str, ground: Ground) -> list[Fraction]:
    """Return how much of a material goes on for each trip: packs are opened once."""
    used, so_far, found = Fraction(0), Fraction(0), []
    for jobs in trips:
        used += taken(jobs, ground).get(name, Fraction(0))
        whole = loaded(ground.farm.materials[name], used, ground)
        found.append(whole - so_far)
        so_far = whole
    return found


def _materials(
    trips: Sequence[Sequence[Job]], near: Sequence[Job], ground: Ground
) -> dict[str, tuple[str, str, float, float, tuple[int, ...], int, int]]:
    """Return what each material of the day weighs and fills, and how many thousandths are on board as it begins."""
    jobs = [job for trip in trips for job in trip]
    used, materials, now = taken(jobs, ground), ground.farm.materials, ground.farm.underway
    names = dict.fromkeys((*(name for name, amount in used.items() if amount), *_names(jobs, ground)))
    aboard = {name: _put_on(trips, name, ground) for name in names}
    brought = dict.fromkeys(names, Fraction(0))
    if now is not None and now.counted:
        brought = {name: exact(now.brought.get(name, 0.0)) for name in materials}
        coming = set(_names(jobs, ground))
        stock = {name: exact(ground.farm.stock[name]) for name in materials}
        aboard = {name: [amount] for name, amount in stock.items() if amount or brought[name] or name in coming}
    for name in (*(use for use, amount in taken(near, ground).items() if amount), *_names(near, ground)):
        aboard.setdefault(name, [Fraction(0)] * len(trips))
        brought.setdefault(name, Fraction(0))
    return {
        name: (
            materials[name].name,
            materials[name].unit,
            materials[name].kg_each.value,
            materials[name].litres_each.value,
            tuple(round(amount * THOUSAND) for amount in put_on),
            round(brought[name] * THOUSAND),
            round(exact(sold.value) * THOUSAND) if (sold := materials[name].sold_by) else 0,
        )
        for name, put_on in aboard.items()
    }


def stock_at_base_is_true(round_: Round, ground: Ground) -> Iterator[tuple[int, str]]:
    """Yield the day and the fault where a return to base would find another stock than is there."""
    stock = {name: round(exact(amount) * THOUSAND) for name, amount in ground.farm.stock.items()}
    days = [_trips(day, ground) for day in round_.itineraries]
    for index, day in enumerate(round_.itineraries):
        for each in day.numbers.materials if day.numbers is not None else ():
            expected = stock.get(each.material)
            if ground.farm.underway is not None:
                expected = 0
            elif expected is not None:
                taken_off = [[round(a * THOUSAND) for a in _put_on(one, each.material, ground)] for one in days]
                expected = max(0, expected - sum(map(sum, taken_off))) + sum(taken_off[index][1:])
            what = "the stock at base in the numbers for the field is right"
            yield from ((index, said) for said in same(day_of(day), what, expected, each.at_base))


def _names(jobs: Sequence[Job], ground: Ground) -> Iterator[str]:
    return (name for name, amount in brought_back(jobs, ground).items() if amount)


def _seconds(ground: Ground, crew: Crew, here: str, there: str) -> int:
    leg = ground.leg(crew, here, there)
    return -1 if leg is None else leg.seconds


def _of_a_stop(
    stop: NumbersStop, jobs: Sequence[Job], itinerary: Itinerary, midnight: int, ground: Ground
) -> Iterator[str]:
    site = ground.sites[jobs[0].site]
    where = f"{day_of(itinerary)}, {site.name}"
    walk = whole_seconds(2 * exact(site.walking_minutes))
    yield from same(where, "the walk in the numbers for the field is right", walk, stop.walk_seconds)
    yield from same(where, "last of the day in the numbers for the field is right", site.last_of_day, stop.last_of_day)
    yield from same(where, "each job has its numbers for the field", len(jobs), len(stop.jobs))
    if len(jobs) != len(stop.jobs):
        return
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
    yield from _of_a_move(where, stop, jobs[0], itinerary, midnight, ground)
    beyond = {job for span in stop.windows for job in span.jobs} - set(range(len(jobs)))
    yield from same(where, "windows in the numbers for the field are of its jobs", set(), beyond)
    for span in stop.windows:
        rising = all(a < b for a, b in pairwise(span.jobs))
        yield from same(where, "the jobs of a window in the numbers for the field rise", expected=True, found=rising)


def _of_a_move(
    where: str, stop: NumbersStop, job: Job, itinerary: Itinerary, midnight: int, ground: Ground
) -> Iterator[str]:
    """Yield where a number of the end of a move is not that of the drive, the other site and its light."""
    move, crew, kind = stop.move, ground.crews[itinerary.crew], ground.kind(job)
    if move is None:
        return
    there = ground.sites[job.to]
    pairs = (
        ("the drive with hives", _seconds(ground, crew, job.site, job.to), move.drive_seconds),
        ("the walk with hives", whole_seconds(2 * exact(there.walking_minutes)), move.walk_seconds),
        ("the set-up for hives", whole_seconds(exact(kind.minutes_a_visit.value)), move.set_up_seconds),
    )
    for what, expected, found in pairs:
        yield from same(where, f"{what} in the numbers for the field is right", expected, found)
    minutes = 0.0 if kind.set_down_minutes_a_hive is None else kind.set_down_minutes_a_hive.value
    hive = 60 * exact(minutes) / ground.hands(crew.people) * exact(there.pace) * exact(crew.pace)
    if abs(exact(move.hive_seconds) - hive) * max(1, job.hives) > NEAR:
        yield from same(where, f"setting down a hive for {job.id} is right", float(hive), move.hive_seconds)
    kg, litres = weight({use.material: exact(use.a_hive.value) for use in kind.brings_back}, ground)
    for what, amount, told in (("kg", kg, move.grams), ("litres", litres, move.millilitres)):
        if abs(exact(told) - amount * THOUSAND) > NEAR:
            yield from same(where, f"{what} of a hive that {job.id} moves are right", float(amount * THOUSAND), told)
    alone = ground.spans(there, itinerary.date, ground.needs([job]))
    spans = [(span.opens, span.closes, span.jobs) for span in move.windows]
    wanted = [(opens - midnight, closes - midnight, (0,)) for opens, closes in alone]
    yield from same(where, "windows for hives on board are those of the light", wanted, sorted(spans))


def _widest(spans: Sequence[Span]) -> list[Span]:
    """Return the spans that lie within no other."""
    every = sorted(set(spans))
    return [one for one in every if not any(o != one and o[0] <= one[0] and one[1] <= o[1] for o in every)]


def _of_a_job(where: str, numbers: NumbersJob, job: Job, itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    crew, kind = ground.crews[itinerary.crew], ground.kind(job)
    overdue = min(MOST_OVERDUE, max(0, (itinerary.date - job.due_by).days)) if job.due_by else 0
    pairs = (
        ("the hives", job.hives, numbers.hives),
        ("the rank", job.rank, numbers.rank),
        ("the weight", ON_TIME + overdue, numbers.weight),
        ("the hives of the whole", job.of_hives or job.hives, numbers.of_hives),
        ("the set-up", whole_seconds(exact(kind.minutes_a_visit.value)), numbers.set_up_seconds),
    )
    for what, expected, found in pairs:
        yield from same(where, f"{what} of {job.id} in the numbers for the field is right", expected, found)
    pace = exact(ground.sites[job.site].pace) * exact(crew.pace)
    hive = 60 * exact(kind.minutes_a_hive.value) / ground.hands(crew.people) * pace
    if abs(exact(numbers.hive_seconds) - hive) * max(1, job.hives) > NEAR:
        yield from same(where, f"the work on a hive for {job.id} is right", float(hive), numbers.hive_seconds)
    yield from _uses(where, job, kind.takes, numbers.takes, job.helpings)
    yield from _uses(where, job, () if job.to else kind.brings_back, numbers.brings_back, 1)


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
