"""What jobs take and bring back, and what a vehicle carries at each point of a day, in exact amounts."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from routing.check.exact import exact
from routing.check.ground import Ground
from routing.farm.models import BASE, Job, Material, MaterialUse, Vehicle

Amounts = Mapping[str, Fraction]
"""Units of each material; none is zero."""


@dataclass(frozen=True)
class Point:
    """The load on leaving the base or a site."""

    place: str
    kg: Fraction
    litres: Fraction


def _summed(uses: Iterable[tuple[MaterialUse, int]]) -> Amounts:
    amounts: dict[str, Fraction] = defaultdict(Fraction)
    for use, hives in uses:
        amounts[use.material] += exact(use.a_hive.value) * hives
    return {material: amount for material, amount in amounts.items() if amount}


def taken(jobs: Iterable[Job], ground: Ground) -> Amounts:
    """Return the units of each material that the jobs use."""
    return _summed((use, job.hives * job.helpings) for job in jobs for use in ground.kind(job).takes)


def together(one: Amounts, other: Amounts) -> Amounts:
    """Return the units of each material of both."""
    return {id_: one.get(id_, Fraction(0)) + other.get(id_, Fraction(0)) for id_ in {*one, *other}}


def brought_back(jobs: Iterable[Job], ground: Ground) -> Amounts:
    """Return the units of each material that the jobs bring onto the vehicle to come home."""
    return _summed((use, job.hives) for job in jobs for use in ground.kind(job).brings_back if not job.to)


def carried(jobs: Iterable[Job], ground: Ground) -> Amounts:
    """Return the units of each material that moves among the jobs bring onto the vehicle from one site to the other."""
    return _summed((use, job.hives) for job in jobs for use in ground.kind(job).brings_back if job.to)


def packs_of(material: Material, used: Fraction) -> int | None:
    """Return the whole packs that hold so much, None where the material is not packed."""
    return None if material.sold_by is None else math.ceil(used / exact(material.sold_by.value))


def loaded(material: Material, used: Fraction, ground: Ground) -> Fraction:
    """Return the units that go on the vehicle: whole packs where packed, never more than the stock."""
    packs = packs_of(material, used)
    amount = used if packs is None or material.sold_by is None else packs * exact(material.sold_by.value)
    stock = ground.farm.stock.get(material.id)
    return amount if stock is None else min(amount, exact(stock))


def weight(amounts: Amounts, ground: Ground) -> tuple[Fraction, Fraction]:
    """Return the kilograms and the litres of so much of each material."""
    materials = ground.farm.materials
    kg = sum((amount * exact(materials[id_].kg_each.value) for id_, amount in amounts.items()), Fraction(0))
    litres = sum((amount * exact(materials[id_].litres_each.value) for id_, amount in amounts.items()), Fraction(0))
    return kg, litres


Change = tuple[str, tuple[Fraction, Fraction]]
"""A site, and by how many kilograms and litres the load changes there."""


def changes(jobs: Sequence[Job], ground: Ground) -> tuple[Change, ...]:
    """Return how the load changes in a visit: what is used leaves, the rest comes, moved hives go at their end."""
    less_kg, less_litres = weight(taken(jobs, ground), ground)
    more_kg, more_litres = weight(brought_back(jobs, ground), ground)
    moved_kg, moved_litres = weight(carried(jobs, ground), ground)
    here = (jobs[0].site, (more_kg + moved_kg - less_kg, more_litres + moved_litres - less_litres))
    return (here, *((job.to, (-moved_kg, -moved_litres)) for job in jobs if job.to))


@dataclass(frozen=True)
class Loading:
    """One loading at base: for a trip that follows others, what they left of open packs is on board already."""

    put_on: Amounts
    on_board: Amounts
    """With what was left over."""


def loadings(trips: Iterable[Iterable[Job]], ground: Ground) -> Iterator[Loading]:
    """Yield what is loaded before each trip for its jobs: packs for all that is used until then, less those before."""
    gone: Amounts = {}
    had: dict[str, Fraction] = {}
    if ground.farm.underway is not None and ground.farm.underway.counted:
        yield from (_as_it_is(ground, ground.farm.underway.brought) for _ in trips)
        return
    for jobs in trips:
        in_all = together(gone, taken(jobs, ground))
        whole = {id_: loaded(ground.farm.materials[id_], amount, ground) for id_, amount in in_all.items()}
        put_on = {id_: amount - had.get(id_, Fraction(0)) for id_, amount in whole.items()}
        on_board = {id_: amount - gone.get(id_, Fraction(0)) for id_, amount in whole.items()}
        yield Loading({id_: amount for id_, amount in put_on.items() if amount}, on_board)
        gone, had = in_all, whole


def _as_it_is(ground: Ground, brought: Mapping[str, float]) -> Loading:
    """Return what is on a vehicle that is out already: all that is to be used and all that it brings home."""
    held = {id_: exact(ground.farm.stock[id_]) + exact(brought.get(id_, 0.0)) for id_ in ground.farm.materials}
    there = {id_: amount for id_, amount in held.items() if amount}
    return Loading(there, there)


def used_up(jobs: Sequence[Job], ground: Ground) -> Ground:
    """Return the ground on which a vehicle that is out already has no more on board than these jobs take."""
    farm, need = ground.farm, taken(jobs, ground)
    if farm.underway is None or not farm.underway.counted:
        return ground
    stock = {id_: float(min(exact(had), need.get(id_, Fraction(0)))) for id_, had in farm.stock.items()}
    empty = farm.underway.model_copy(update={"brought": {}})
    return replace(ground, farm=farm.model_copy(update={"stock": stock, "underway": empty}))


Trip = Sequence[Sequence[Job]]
"""The jobs of each visit from one loading at base to the next."""


def points(trips: Sequence[Trip], ground: Ground) -> Iterator[list[Point]]:
    """Yield for each trip of a day the load on leaving base and on leaving each site."""
    all_loadings = loadings(([job for jobs in visits for job in jobs] for visits in trips), ground)
    for visits, loading in zip(trips, all_loadings, strict=True):
        kg, litres = weight(loading.on_board, ground)
        found = [Point(BASE, kg, litres)]
        for jobs in visits:
            for site, (more_kg, more_litres) in changes(jobs, ground):
                kg, litres = kg + more_kg, litres + more_litres
                found.append(Point(site, kg, litres))
        yield found


def carries(vehicle: Vehicle, load: Iterable[Point]) -> bool:
    """Whether the vehicle may carry the load at every point."""
    payload, space = exact(vehicle.payload_kg), exact(vehicle.space_litres)
    return all(point.kg <= payload and point.litres <= space for point in load)


def stock_suffices(used: Amounts, ground: Ground) -> bool:
    """Whether the stock at base holds so much of every material."""
    stock = ground.farm.stock
    return all(amount <= exact(stock[id_]) for id_, amount in used.items() if id_ in stock)
