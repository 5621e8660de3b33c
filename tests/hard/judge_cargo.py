"""Whether what is on board is right at every stop, and whether a lone worker's calls are."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from fractions import Fraction

from routing.round import LoadList, Stop
from tests.hard.complaint import clock, span
from tests.hard.made import Made
from tests.hard.world import Amounts, World, number, up

ROUNDED = 0.0011
"""Shown kilograms and litres may be off by so much."""


def judge_loads(made: Made) -> Iterator[tuple[str, str]]:
    """Yield where there are too many returns, needless ones, or too few; then where a number of a load is wrong."""
    if len(made.cuts) + 1 > made.outing.day.trips:
        yield "too many trips", f"{len(made.cuts) + 1} trips"
    if made.cuts and made.outing.carried(made.calls, ()):
        yield "needless return", "one trip carries it all"
    if not made.outing.carried(made.calls, made.cuts):
        yield "overloaded", "payload or space is passed"
    world = made.outing.world
    before = (Fraction(0),) * len(world.materials)
    used, index = before, 0
    stops = iter(made.itinerary.stops)
    last: Stop | None = None
    for trip, end in enumerate((*made.cuts, len(made.calls))):
        calls = made.calls[index:end]
        in_all = _plus(used, world.total(sum(call.jobs for call in calls)))
        loaded = world.loaded(in_all)
        back = (Fraction(0),) * len(world.materials)
        for work in world.of(sum(call.jobs for call in calls)):
            back = _plus(back, work.back)
        yield from _list(world, made.itinerary.loads[trip], _plus(loaded, before, -1), back)
        board = _plus(loaded, used, -1)
        if last is not None:
            yield from _on_board(world, last, board)
        for call in calls:
            for work in world.of(call.jobs):
                board = _plus(_plus(board, work.uses, -1), work.back)
                yield from _on_board(world, next(stops), _plus(board, work.carried)) if work.job.to else ()
            yield from _on_board(world, next(stops), board)
        last = next(stops, None)
        before, used, index = loaded, in_all, end


def _on_board(world: World, stop: Stop, board: Amounts) -> Iterator[tuple[str, str]]:
    kilograms, litres = _weigh(world, board)
    if abs(float(kilograms) - stop.load_kg) > ROUNDED or abs(float(litres) - stop.load_litres) > ROUNDED:
        yield "load on board", f"stop {stop.number}: {stop.load_kg} kg, must be {float(kilograms):.3f}"


def _list(world: World, shown: LoadList, out: Amounts, back: Amounts) -> Iterator[tuple[str, str]]:
    for items, true, what in ((shown.out, out, "out"), (shown.back, back, "back")):
        amounts = {item.material: item.amount for item in items}
        for material, amount in zip(world.materials, true, strict=True):
            if abs(amounts.get(material, 0) - float(amount)) > ROUNDED:
                yield "load list", f"{what} {material} {amounts.get(material, 0)}, must be {float(amount)}"


def _plus(one: Amounts, other: Amounts, sign: int = 1) -> Amounts:
    return tuple(a + sign * b for a, b in zip(one, other, strict=True))


def _weigh(world: World, board: Amounts) -> tuple[Fraction, Fraction]:
    kilograms = sum((a * k for a, k in zip(board, world.kilograms, strict=True)), Fraction(0))
    litres = sum((a * k for a, k in zip(board, world.litres, strict=True)), Fraction(0))
    return kilograms, litres


def judge_calls(made: Made) -> Iterator[tuple[str, str]]:
    """Yield where a lone worker's calls are too far apart or missing."""
    itinerary, world = made.itinerary, made.outing.world
    at = world.at
    if itinerary.people != 1:
        if itinerary.call_ins:
            yield "call-ins", "calls of a crew of several"
        return
    times = [at(call.by) for call in itinerary.call_ins]
    longest = up(number(world.farm.rules.call_in_minutes))
    needed = {at([stop for stop in itinerary.stops if stop.load_again is None][-1].finish), at(itinerary.home)}
    if not needed <= set(times) or len(times) != len(set(times)):
        yield "call-ins", f"calls {[clock(time, dt.UTC) for time in times]}: last finish and home once each are needed"
    before = at(itinerary.leave)
    for time in times:
        if time - before > longest:
            yield "call-ins", f"{span(time - before)} without a call"
        before = time
    for call in itinerary.call_ins:
        places = _places(made, at(call.by))
        if call.where not in places:
            yield (
                "call-in where",
                f"{clock(at(call.by), world.zone)} at {call.where}, must be {' or '.join(sorted(places))}",
            )


def _places(made: Made, moment: int) -> set[str]:
    """Return where the crew is at an instant, or both ends of its drive, by name; at base also on coming home."""
    itinerary, at = made.itinerary, made.outing.world.at
    base = made.outing.world.farm.base.name
    before, left = base, at(itinerary.leave)
    for stop in itinerary.stops:
        if left <= moment < at(stop.arrive):
            return {before, stop.name}
        left = at(stop.finish)
        if stop.rest is not None:
            left = max(left, at(stop.rest.start) + stop.rest.seconds)
        if at(stop.arrive) <= moment <= left:
            return {stop.name, *([base] if moment >= at(itinerary.home) else [])}
        before = stop.name
    return {before, base} if moment < at(itinerary.home) else {base}
