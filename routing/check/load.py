"""Loads: what goes out and comes back, what is on board after each stop, and that nothing is overloaded."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from routing.check.cargo import Amounts, Point, Trip, brought_back, loadings, packs_of, points, taken
from routing.check.exact import decimals, exact, shows
from routing.check.ground import Ground
from routing.check.sentences import broken, day_of, same, stop_of
from routing.farm.models import Job, Material
from routing.round import Itinerary, LoadItem, LoadList, Round


def _day_jobs(itinerary: Itinerary, ground: Ground) -> list[Job]:
    return [ground.jobs[job.id] for stop in itinerary.stops for job in stop.jobs]


def trips_of(itinerary: Itinerary, ground: Ground) -> list[Trip]:
    """Return the jobs of each visit of each trip: coming back to base to load again parts them."""
    trips: list[list[list[Job]]] = [[]]
    for stop in itinerary.stops:
        if stop.load_again is not None:
            trips.append([])
        elif stop.set_down is None:
            trips[-1].append([ground.jobs[job.id] for job in stop.jobs])
    return list(trips)


@dataclass(frozen=True)
class _Listed:
    """A load list with all that it is held against."""

    where: str
    shown: LoadList
    jobs: list[Job]
    """Of its trip."""
    put_on: Amounts
    points: list[Point]


def _lists(itinerary: Itinerary, ground: Ground) -> Iterator[_Listed]:
    """Yield the load list of each trip of the day."""
    trips = trips_of(itinerary, ground)
    jobs = [[job for visit in trip for job in visit] for trip in trips]
    facts = zip(itinerary.loads, jobs, loadings(jobs, ground), points(trips, ground), strict=True)
    for number, (shown, done, loading, load) in enumerate(facts, start=1):
        again = f" of trip {number}" if number > 1 else ""
        yield _Listed(f"{day_of(itinerary)}, load list{again}", shown, done, loading.put_on, load)


def _load(itinerary: Itinerary, ground: Ground) -> list[Point]:
    """Return the load on leaving base and on leaving each stop, base among them where it is one."""
    return [point for trip in points(trips_of(itinerary, ground), ground) for point in trip]


def _shown(where: str, promise: str, expected: Fraction, found: float) -> Iterator[str]:
    if not shows(found, expected):
        yield broken(where, promise, decimals(expected), found)


def loads_on_leaving_stops(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each stop that is left with another load than shown."""
    load = _load(itinerary, ground)
    for stop, point in zip(itinerary.stops, load[1:], strict=True):
        where = stop_of(itinerary, stop)
        yield from _shown(where, "load_kg is what is on board on leaving", point.kg, stop.load_kg)
        yield from _shown(where, "load_litres is what is on board on leaving", point.litres, stop.load_litres)


def nothing_overloaded(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield each point of the day at which payload or space is passed."""
    vehicle = ground.vehicle(ground.crews[itinerary.crew])
    payload, space = exact(vehicle.payload_kg), exact(vehicle.space_litres)
    for point in _load(itinerary, ground):
        where = f"{day_of(itinerary)}, leaving {point.place}"
        if point.kg > payload:
            found = f"{decimals(point.kg)} kg"
            yield broken(where, "the payload is never passed", f"{decimals(payload)} kg or less", found)
        if point.litres > space:
            found = f"{decimals(point.litres)} litres"
            yield broken(where, "the space is never passed", f"{decimals(space)} litres or less", found)


def fullest_point(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where the fullest load of a trip, its place or the vehicle's limits are not right."""
    vehicle = ground.vehicle(ground.crews[itinerary.crew])
    for listed in _lists(itinerary, ground):
        where, shown, load = listed.where, listed.shown, listed.points
        yield from same(where, "payload_kg is the vehicle's", vehicle.payload_kg, shown.payload_kg)
        yield from same(where, "space_litres is the vehicle's", vehicle.space_litres, shown.space_litres)
        heaviest, largest = max(point.kg for point in load), max(point.litres for point in load)
        yield from _shown(where, "fullest_kg is the largest load", heaviest, shown.fullest_kg)
        yield from _shown(where, "fullest_litres is the largest load", largest, shown.fullest_litres)
        at_kg = [point.place for point in load if point.kg == heaviest]
        at_litres = [point.place for point in load if point.litres == largest]
        yield from _at_one_of(where, "fullest_kg_at is where the load is largest", at_kg, shown.fullest_kg_at)
        yield from _at_one_of(
            where, "fullest_litres_at is where the load is largest", at_litres, shown.fullest_litres_at
        )


def _at_one_of(where: str, promise: str, expected: Sequence[str], found: str) -> Iterator[str]:
    if found not in expected:
        yield broken(where, promise, " or ".join(expected), found)


def load_list_goes_out(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where the list of what goes out on a trip is not what its jobs use, packed as it is sold."""
    for listed in _lists(itinerary, ground):
        where, put_on = f"{listed.where} out", listed.put_on
        yield from _same_materials(where, put_on, listed.shown.out)
        for item in listed.shown.out:
            if item.material in put_on:
                material, amount = ground.farm.materials[item.material], put_on[item.material]
                line = f"{where}, {item.material}"
                yield from _item(line, item, material, amount)
                yield from same(line, "packs are whole and enough", packs_of(material, amount), item.packs)
                yield from same(line, "the pack is told as it is sold", _pack(material), item.pack)


def load_list_comes_back(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where the list of what comes back from a trip is not what its jobs bring."""
    for listed in _lists(itinerary, ground):
        where, back = f"{listed.where} back", brought_back(listed.jobs, ground)
        yield from _same_materials(where, back, listed.shown.back)
        for item in listed.shown.back:
            if item.material in back:
                line, amount = f"{where}, {item.material}", back[item.material]
                yield from _item(line, item, ground.farm.materials[item.material], amount)
                yield from same(line, "what comes back is not in packs", None, item.packs)
                yield from same(line, "what comes back is not in packs, words", "", item.pack)


def _pack(material: Material) -> str:
    if material.sold_by is None:
        return ""
    return f"{material.pack} of {material.sold_by.value:g} {material.unit}"


def _same_materials(where: str, expected: Amounts, items: Sequence[LoadItem]) -> Iterator[str]:
    found = sorted(item.material for item in items)
    if found != sorted(expected):
        wanted = ", ".join(sorted(expected)) or "nothing"
        yield broken(where, "the list has each material once", wanted, ", ".join(found) or "nothing")


def _item(where: str, item: LoadItem, material: Material, carried: Fraction) -> Iterator[str]:
    yield from same(where, "the material's name is right", material.name, item.name)
    yield from same(where, "the unit is right", material.unit, item.unit)
    yield from _shown(where, "the amount is what is carried", carried, item.amount)
    yield from _shown(where, "kg are as loaded", carried * exact(material.kg_each.value), item.kg)
    yield from _shown(where, "litres are as loaded", carried * exact(material.litres_each.value), item.litres)


def stock_is_enough(round_: Round, ground: Ground) -> Iterator[str]:
    """Yield each material of which all crews together use more than there is."""
    used = taken((job for day in round_.itineraries for job in _day_jobs(day, ground)), ground)
    for material, stock in sorted(ground.farm.stock.items()):
        amount = used.get(material, Fraction(0))
        if amount > exact(stock):
            promise = f"the stock of {material} serves all crews"
            yield broken("the round", promise, f"{decimals(exact(stock))} or less", decimals(amount))
