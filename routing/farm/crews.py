"""The crews and vehicles of farm.toml."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from routing.farm.documents import Keys, as_truth, as_whole
from routing.farm.faults import Names, quoted
from routing.farm.kinds import LARGEST
from routing.farm.models import BASE, MOST_TRIPS, Crew, Vehicle
from routing.farm.roads import as_drives
from routing.farm.unfit import UnfitError
from routing.farm.values import DaysOff, days_by, identity
from routing.farm.ways import ANY, Ways
from routing.farm.written_forms import sensible

VEHICLE_KEYS = ("id", "name", "payload_kg", "space_litres", "reaches", "drives")
CREW_KEYS = (
    *("id", "name", "people", "vehicle", "earliest_start", "home_by"),
    *("home_before_dark", "break_minutes", "break_after_hours", "trips_a_day", "days_off"),
)

DAYS_A_WEEK = 7


def read_vehicles(tables: list[Keys]) -> dict[str, Vehicle]:
    """Return the vehicles by id; faults are noted and their tables left out."""
    vehicles: dict[str, Vehicle] = {}
    for keys in tables:
        keys.only(*VEHICLE_KEYS)
        keys.needs("id", "payload_kg", "space_litres")
        vehicle_id = _new_id(keys, vehicles)
        payload_kg = keys.number("payload_kg", 1, LARGEST, 1)
        space_litres = keys.number("space_litres", 1, 1_000_000, 1)
        reaches = frozenset(word for word in keys.texts("reaches") if word)
        name = keys.text("name", vehicle_id)
        drives = keys.take("drives", as_drives, "van")
        if keys.ok:
            vehicles[vehicle_id] = Vehicle(
                id=vehicle_id,
                name=name,
                payload_kg=payload_kg,
                space_litres=space_litres,
                reaches=reaches,
                drives=drives,
            )
    return vehicles


def read_crews(tables: list[Keys], vehicles: Names, ways: Ways = ANY) -> tuple[Crew, ...]:
    """Return the crews, each in one of the vehicles; faults are noted and their tables left out."""
    crews: dict[str, Crew] = {}
    for keys in tables:
        keys.only(*CREW_KEYS)
        keys.needs("id", "vehicle", "earliest_start", "home_by")
        crew = _crew(keys, _new_id(keys, crews), vehicles, ways)
        if crew is None:
            continue
        sharing = [
            other.id for other in crews.values() if other.vehicle == crew.vehicle and _may_work_together(other, crew)
        ]
        if sharing:
            keys.warn(
                "vehicle",
                f"vehicle {quoted(crew.vehicle)} is shared with crew {quoted(sharing[0])}",
                "on a day when both work, only the crew listed first goes out",
            )
        crews[crew.id] = crew
    return tuple(crews.values())


def _may_work_together(one: Crew, other: Crew) -> bool:
    """Return whether there is a day of the week on which both work."""
    return len({*one.days_off_weekdays, *other.days_off_weekdays}) < DAYS_A_WEEK


def _crew(keys: Keys, crew_id: str, vehicles: Names, ways: Ways) -> Crew | None:
    vehicle = keys.text("vehicle")
    if vehicle and vehicles.unknown(vehicle):
        keys.fault("vehicle", f"vehicle {quoted(vehicle)} is not in the file", vehicles.hint(vehicle))
    people = keys.take("people", as_whole(1, 20), 1)
    start, home_by = keys.time("earliest_start"), keys.time("home_by")
    home_before_dark = keys.take("home_before_dark", as_truth, default=False)
    break_minutes = keys.number("break_minutes", 0, 240, 20)
    break_after_hours = keys.number("break_after_hours", 0.1, 24, 6)
    trips_a_day = keys.take("trips_a_day", as_whole(1, MOST_TRIPS), 2)
    off = keys.take("days_off", lambda value: _days_off(value, ways), DaysOff())
    name = keys.text("name", crew_id)
    if start is None or home_by is None or not keys.ok:
        return None
    return Crew(
        id=crew_id,
        name=name,
        people=people,
        vehicle=vehicle,
        earliest_start=start,
        home_by=home_by,
        home_before_dark=home_before_dark,
        break_minutes=break_minutes,
        break_after_hours=break_after_hours,
        trips_a_day=trips_a_day,
        days_off_weekdays=off.weekdays,
        days_off_dates=off.dates,
    )


def _new_id(keys: Keys, taken: Mapping[str, object]) -> str:
    """Return the table's id, noting a fault where it is not fit to be one or is taken."""
    name = keys.text("id")
    if not name:
        if "id" in keys:
            keys.fault("id", "id is empty")
        return ""
    try:
        identity(name)
    except ValueError as error:
        keys.fault("id", f"id {quoted(name)} {error}")
    if name.casefold() in {other.casefold() for other in taken}:
        keys.fault("id", f"id {quoted(name)} is used twice")
    if name.casefold() == BASE:
        keys.fault("id", f"id {quoted(name)} means the base")
    return name


def _days_off(value: object, ways: Ways) -> DaysOff:
    """Return the days of a list of words and TOML dates, or of one text."""
    if isinstance(value, str):
        return days_by(ways)(value)
    if not isinstance(value, list):
        raise UnfitError('is not a list: write ["Sun", "2026-12-25"]')
    weekdays: frozenset[int] = frozenset()
    dates: frozenset[dt.date] = frozenset()
    for part in value:
        if isinstance(part, dt.date) and not isinstance(part, dt.datetime):
            dates |= {sensible(part)}
            continue
        if not isinstance(part, str):
            raise UnfitError('has a part that is no day: write ["Sun", "2026-12-25"]')
        some = days_by(ways)(part)
        weekdays, dates = weekdays | some.weekdays, dates | some.dates
    return DaysOff(weekdays, dates)
