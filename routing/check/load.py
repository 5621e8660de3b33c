"""Loads: what goes out and comes back, what is on board after each stop, and that nothing is overloaded."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from routing.check.cargo import Amounts, Point, brought_back, changes, loaded, packs_of, points, taken, weight_out
from routing.check.exact import decimals, exact, shows
from routing.check.ground import Ground
from routing.check.sentences import broken, day_of, same, stop_of
from routing.farm.models import Job, Material
from routing.round import Itinerary, LoadItem, Round


def _day_jobs(itinerary: Itinerary, ground: Ground) -> list[Job]:
    return [ground.jobs[job.id] for stop in itinerary.stops for job in stop.jobs]


def _load(itinerary: Itinerary, ground: Ground) -> list[Point]:
    visits = ([ground.jobs[job.id] for job in stop.jobs] for stop in itinerary.stops if stop.set_down is None)
    along = (change for jobs in visits for change in changes(jobs, ground))
    return list(points(weight_out(_day_jobs(itinerary, ground), ground), along))


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
    """Yield where the fullest load, its place or the vehicle's limits are not right."""
    where, shown = f"{day_of(itinerary)}, load list", itinerary.load
    vehicle = ground.vehicle(ground.crews[itinerary.crew])
    yield from same(where, "payload_kg is the vehicle's", vehicle.payload_kg, shown.payload_kg)
    yield from same(where, "space_litres is the vehicle's", vehicle.space_litres, shown.space_litres)
    load = _load(itinerary, ground)
    heaviest, largest = max(point.kg for point in load), max(point.litres for point in load)
    yield from _shown(where, "fullest_kg is the largest load", heaviest, shown.fullest_kg)
    yield from _shown(where, "fullest_litres is the largest load", largest, shown.fullest_litres)
    at_kg = [point.place for point in load if point.kg == heaviest]
    at_litres = [point.place for point in load if point.litres == largest]
    yield from _at_one_of(where, "fullest_kg_at is where the load is largest", at_kg, shown.fullest_kg_at)
    yield from _at_one_of(where, "fullest_litres_at is where the load is largest", at_litres, shown.fullest_litres_at)


def _at_one_of(where: str, promise: str, expected: Sequence[str], found: str) -> Iterator[str]:
    if found not in expected:
        yield broken(where, promise, " or ".join(expected), found)


def load_list_goes_out(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where the list of what goes out is not what the day's jobs use, packed as it is sold."""
    used = taken(_day_jobs(itinerary, ground), ground)
    where = f"{day_of(itinerary)}, load list out"
    yield from _same_materials(where, used, itinerary.load.out)
    for item in itinerary.load.out:
        if item.material in used:
            material, amount = ground.farm.materials[item.material], used[item.material]
            line = f"{where}, {item.material}"
            yield from _item(line, item, material, loaded(material, amount, ground))
            yield from same(line, "packs are whole and enough", packs_of(material, amount), item.packs)
            yield from same(line, "the pack is told as it is sold", _pack(material), item.pack)


def load_list_comes_back(itinerary: Itinerary, ground: Ground) -> Iterator[str]:
    """Yield where the list of what comes back is not what the day's jobs bring."""
    back = brought_back(_day_jobs(itinerary, ground), ground)
    where = f"{day_of(itinerary)}, load list back"
    yield from _same_materials(where, back, itinerary.load.back)
    for item in itinerary.load.back:
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
