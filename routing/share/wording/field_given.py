"""What a crew's page knows to reckon its day anew in the field: numbers and ids that stand on the page already."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from routing.farm.models import Rank
from routing.round import Chance, DayNumbers, Itinerary, MaterialAmount, NumbersMove, NumbersStop, NumbersWindow
from routing.share.safety.safe import plain_name, plain_text

PRECISION = 6
"""Decimals of what one hive takes; the page rounds up after it has multiplied, as the planning does."""


def field_given(itinerary: Itinerary, time_zone: str, chance: Chance | None = None) -> dict[str, Any] | None:
    """Return the numbers of the day as plain lists, None where the day is not reckoned anew in the field.

    With the chance of the round they hold what the page simulates days by.
    """
    numbers = itinerary.numbers
    if numbers is None:
        return None
    start = numbers.midnight.timestamp()
    materials = [item.material for item in numbers.materials]
    rest = next((stop.rest for stop in itinerary.stops if stop.rest is not None), None)
    return {
        "midnight": int(start),
        "zone": time_zone,
        "leave": int(itinerary.leave.timestamp() - start),
        "home": int(itinerary.home.timestamp() - start),
        "home_by": numbers.home_by,
        "break": numbers.break_seconds,
        "break_after": numbers.break_after_seconds,
        "rest": None if rest is None else int(rest.start.timestamp() - start),
        "payload": numbers.payload_grams,
        "space": numbers.space_millilitres,
        "materials": _materials(numbers),
        "base": None
        if numbers.base is None
        else {"trips": numbers.base.trips, "loading": numbers.base.loading_seconds},
        "stops": [{**_stop(stop, materials), "finish": _finish(itinerary, stop, start)} for stop in numbers.stops],
        "seconds": numbers.seconds,
        "spread": None if chance is None or chance.spread is None else chance.spread.model_dump(),
    }


def _materials(numbers: DayNumbers) -> list[dict[str, Any]]:
    return [
        {
            "id": plain_text(item.material),
            "name": plain_name(item.name),
            "unit": plain_text(item.unit, 40),
            "grams": item.grams_each,
            "millilitres": item.millilitres_each,
            "loaded": item.loaded,
            "again": list(item.again),
            "brought": item.brought,
            "atBase": item.at_base,
            "pack": item.pack,
        }
        for item in numbers.materials
    ]


def _stop(stop: NumbersStop, materials: Sequence[str]) -> dict[str, Any]:
    return {
        "at": stop.at,
        "to": stop.to,
        "move": None if stop.move is None else _move(stop.move),
        "walk": stop.walk_seconds,
        "trip": stop.trip,
        "last": stop.last_of_day,
        "windows": _windows(stop.windows),
        "jobs": [
            {
                "hives": job.hives,
                "rank": list(Rank).index(job.rank),
                "weight": job.weight,
                "of": job.of_hives,
                "setUp": job.set_up_seconds,
                "each": round(job.hive_seconds, PRECISION),
                "uses": _amounts(job.takes, materials),
                "brings": _amounts(job.brings_back, materials),
            }
            for job in stop.jobs
        ],
    }


def _finish(itinerary: Itinerary, stop: NumbersStop, start: float) -> int | None:
    """Return when the plan finishes a stop, None for what it leaves out."""
    return int(itinerary.stops[stop.to].finish.timestamp() - start) if stop.to < len(itinerary.stops) else None


def _move(move: NumbersMove) -> dict[str, Any]:
    return {
        "drive": move.drive_seconds,
        "walk": move.walk_seconds,
        "setUp": move.set_up_seconds,
        "each": round(move.hive_seconds, PRECISION),
        "carries": [round(move.grams, PRECISION), round(move.millilitres, PRECISION)],
        "windows": _windows(move.windows),
    }


def _windows(windows: Sequence[NumbersWindow]) -> list[list[int]]:
    return [[span.opens, span.closes, sum(1 << job for job in span.jobs)] for span in windows]


def _amounts(amounts: Sequence[MaterialAmount], materials: Sequence[str]) -> list[list[float]]:
    return [[materials.index(each.material), round(each.thousandths, PRECISION)] for each in amounts]
