"""What goes on the vehicle for each trip of a day, and what comes back, as it is shown."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from routing.farm.models import BASE
from routing.planning.model.demands import THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.load import Loads, trip_loads
from routing.planning.model.problem import Order
from routing.planning.model.timing import Timeline
from routing.round import LoadItem, LoadList

PLACES = 3
"""Decimals of shown kilograms and litres."""


@dataclass(frozen=True)
class Trip:
    """The stops of an order from one loading at base to the next."""

    first: int
    end: int
    load: Loads


def trips_of(instance: Instance, order: Order, times: Timeline) -> list[Trip]:
    """Return the trips of an order: one, and one more for each time base is come back to."""
    cuts = [one.before for one in times.returns]
    found = trip_loads(instance.problem, order, cuts)
    return [Trip(first, end, load) for (first, end), load in zip(pairwise((0, *cuts, len(order))), found, strict=True)]


def load_list(instance: Instance, route: int, order: Order, trip: Trip) -> LoadList:
    """Return what a trip loads, what it brings back, and where the vehicle is fullest."""
    load, stops = trip.load, order[trip.first : trip.end]
    vehicle = instance.farm.vehicles[instance.crews[route].vehicle]
    where = [BASE, *(instance.sites[instance.problem.visits[planned.visit].place - 1].id for planned in stops)]
    grams, millilitres = load.grams_within, load.millilitres_within
    heaviest, fullest = grams.index(max(grams)), millilitres.index(max(millilitres))
    return LoadList(
        out=tuple(_item(instance, supply, amount, out=True) for supply, amount in enumerate(load.loaded) if amount),
        back=tuple(_item(instance, supply, amount, out=False) for supply, amount in enumerate(load.brought) if amount),
        fullest_kg=round(grams[heaviest] / THOUSAND, PLACES),
        fullest_kg_at=where[heaviest],
        payload_kg=vehicle.payload_kg,
        fullest_litres=round(millilitres[fullest] / THOUSAND, PLACES),
        fullest_litres_at=where[fullest],
        space_litres=vehicle.space_litres,
    )


def _item(instance: Instance, supply: int, amount: int, *, out: bool) -> LoadItem:
    facts = instance.farm.materials[instance.materials[supply]]
    numbers = instance.problem.supplies[supply]
    packed = out and facts.sold_by is not None
    return LoadItem(
        material=facts.id,
        name=facts.name,
        amount=amount / THOUSAND,
        unit=facts.unit,
        packs=-(-amount // numbers.pack) if packed else None,
        pack=f"{facts.pack} of {facts.sold_by.value:g} {facts.unit}" if packed and facts.sold_by else "",
        kg=round(amount * numbers.grams_each / THOUSAND, PLACES),
        litres=round(amount * numbers.millilitres_each / THOUSAND, PLACES),
    )
