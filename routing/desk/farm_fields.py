"""Every value of farm.toml that the Farm view lets one change, in groups, with those of crews, vehicles and base."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial

from routing.desk.farm_field import FarmField, Group, Kind, Said, Table, Way
from routing.desk.farm_make import Maker
from routing.desk.farm_work import Work
from routing.desk.farm_year import Year
from routing.errors import AskedError
from routing.farm.models import Crew, Farm, Vehicle
from routing.farm.rules import BAND_KEYS
from routing.farm.workbook_cells import number_text
from routing.share.safety.safe import plain_name
from routing.share.wording.farm_keys import BAND_COLUMNS, band_words
from routing.share.wording.farm_numbers import FEED, RULES, rule_numbers

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
DRIVES = ("van", "van with trailer", "4x4")
FIND = '["find"]'
"""What the page sends to take the service for finding places out."""


@dataclass(frozen=True)
class FarmFields:
    """Every value of a farm that may be changed, in groups."""

    base: Group
    crews: tuple[Group, ...]
    vehicles: tuple[Group, ...]
    stock: Group
    materials: tuple[Group, ...]
    rules: tuple[Group, ...]
    kinds: tuple[Group, ...]
    year: tuple[Group, ...]

    @property
    def groups(self) -> Iterator[Group]:
        """All of them."""
        yield from (self.base, *self.crews, *self.vehicles, self.stock, *self.materials)
        yield from (*self.rules, *self.kinds, *self.year)

    @property
    def lists(self) -> Mapping[tuple[str, ...], int]:
        """What values may be chosen from, each list once, with its number."""
        found = dict.fromkeys(one.choices for group in self.groups for one in group.fields if one.choices)
        return {choices: number for number, choices in enumerate(found)}

    def find(self, key: str) -> FarmField:
        """Return the field that a page means. Raises AskedError where there is none."""
        for group in self.groups:
            for one in group.fields:
                if one.key == key:
                    return one
        raise AskedError("the farm has no such value any more; load the page again")


def fields_of(farm: Farm, said: Said, maps: Iterable[str] = ()) -> FarmFields:
    """Return every value that may be changed of a farm as its files say it; `maps` are the road maps in its folder."""
    make = Maker(said)
    own = _Own(farm, make)
    work = Work(farm, make)
    year = Year(farm, make, farm.season) if farm.season is not None else None
    return FarmFields(
        base=Group("Base", own.base()),
        crews=tuple(own.crew(number, crew) for number, crew in enumerate(farm.crews)),
        vehicles=tuple(own.vehicle(number, vehicle) for number, vehicle in enumerate(farm.vehicles.values())),
        stock=Group("Stock at base", tuple(own.stock())),
        materials=tuple(work.materials()),
        rules=(own.settings(), own.sources(tuple(maps)), *own.finder(), *own.rules(year)),
        kinds=tuple(work.kinds()),
        year=(year.season(), *year.due()) if year else (),
    )


@dataclass(frozen=True)
class _Own:
    farm: Farm
    make: Maker

    def base(self) -> tuple[FarmField, ...]:
        base = self.farm.base
        return (
            self.make.one(("base", "name"), base.name, Kind.TEXT),
            self.make.one(("base", "loading_minutes"), base.loading_minutes, Kind.NUMBER),
        )

    def crew(self, number: int, crew: Crew) -> Group:
        off = [WEEKDAYS[day] for day in sorted(crew.days_off_weekdays)]
        off += [day.isoformat() for day in sorted(crew.days_off_dates)]

        one = partial(self._counted, ("crew", number), crew.id)
        fields = (
            one("name", crew.name, Kind.TEXT),
            one("people", crew.people, Kind.NUMBER),
            one("vehicle", crew.vehicle, Kind.CHOICE, self.farm.vehicles, needed=True),
            one("earliest_start", f"{crew.earliest_start:%H:%M}", Kind.TIME, needed=True),
            one("home_by", f"{crew.home_by:%H:%M}", Kind.TIME, needed=True),
            one("home_before_dark", crew.home_before_dark, Kind.TRUTH),
            one("break_minutes", crew.break_minutes, Kind.NUMBER),
            one("break_after_hours", crew.break_after_hours, Kind.NUMBER),
            one("trips_a_day", crew.trips_a_day, Kind.NUMBER),
            one("days_off", ", ".join(off), Kind.WORDS),
        )
        return Group(plain_name(crew.name), fields, json.dumps(["crew", crew.id]), crew.id)

    def vehicle(self, number: int, vehicle: Vehicle) -> Group:
        one = partial(self._counted, ("vehicle", number), vehicle.id)
        fields = (
            one("name", vehicle.name, Kind.TEXT),
            one("payload_kg", vehicle.payload_kg, Kind.NUMBER, needed=True),
            one("space_litres", vehicle.space_litres, Kind.NUMBER, needed=True),
            one("reaches", ", ".join(sorted(vehicle.reaches)), Kind.WORDS),
            one("drives", vehicle.drives, Kind.CHOICE, DRIVES),
        )
        return Group(plain_name(vehicle.name), fields, json.dumps(["vehicle", vehicle.id]), vehicle.id)

    def _counted(
        self,
        at: Way,
        whose: str,
        key: str,
        value: str | float,
        kind: Kind,
        choices: Iterable[str] = (),
        *,
        needed: bool = False,
    ) -> FarmField:
        """Return a value of one of several tables that farm.toml counts."""
        return self.make.one((*at, key), value, kind, choices, needed=needed, whose=whose)

    def stock(self) -> Iterator[FarmField]:
        stock = self.farm.stock
        for material in sorted(
            self.farm.materials.values(), key=lambda one: (one.id not in stock, one.name.casefold())
        ):
            name = f"{plain_name(material.name)}, {material.unit}"
            amount, unsaid = stock.get(material.id), "not counted, so never short"
            yield self.make.one(("stock", material.id), amount, Kind.NUMBER, name=name, unsaid=unsaid)

    def settings(self) -> Group:
        rules, zone = self.farm.rules, "not said in farm.toml: that of where the base lies"
        fields = (
            self.make.one(("name",), self.farm.name, Kind.TEXT, name="name of the farm"),
            self.make.one(("time_zone",), self.farm.time_zone, Kind.TEXT, unsaid=zone),
            self.make.one(("rules", "units"), rules.units, Kind.CHOICE, ("miles", "km"), name="distances in"),
            self.make.one(("rules", "emergency_number"), rules.emergency_number, Kind.TEXT),
            self.make.one(("rules", "finish_early_minutes"), rules.finish_early_minutes, Kind.NUMBER),
            self.make.one(("rules", "drive_factor"), rules.drive_factor, Kind.NUMBER),
        )
        return Group("How the farm works", fields)

    def sources(self, maps: tuple[str, ...]) -> Group:
        """Return where the roads and the weather come from."""
        said = self.make.said.value(("roads", "map"))
        now = said if isinstance(said, str) else ""
        there = dict.fromkeys((*([now] if now else []), *maps))
        none = "no road map: drives are estimated from the straight line"
        fields = (
            self.make.one(("roads", "map"), now, Kind.CHOICE, there, unsaid=none),
            self.make.one(("roads", "credit"), self.farm.road_credit, Kind.TEXT),
            self.make.one(("weather", "url"), self.farm.weather_url, Kind.TEXT, name="address of the forecast"),
        )
        return Group("Road map and weather", fields)

    def finder(self) -> Iterator[Group]:
        """Yield the service that may be asked where a place is, where there is one."""
        finder = self.farm.finder
        if finder is not None:
            fields = (
                self.make.one(("find", "url"), finder.url, Kind.TEXT, needed=True),
                self.make.one(("find", "terms"), finder.terms, Kind.TEXT),
                self.make.one(("find", "seconds"), finder.seconds, Kind.NUMBER),
            )
            yield Group("Finding places by their names", fields, FIND)

    def rules(self, year: Year | None) -> Iterator[Group]:
        more = {RULES: (self._bands(),), FEED: tuple(year.feed()) if year else ()}
        for title, numbers in rule_numbers(self.farm):
            yield Group(title, (*(self.make.figure(number) for number in numbers), *more.get(title, ())))

    def _bands(self) -> FarmField:
        way: Way = ("rules", "drive_bands")
        rules = self.farm.rules
        usual = [tuple(number_text(getattr(band, key)) for key in BAND_KEYS) for band in rules.drive_bands]
        rows = tuple(self.make.as_said(way, BAND_KEYS) or usual)
        table = Table(BAND_COLUMNS, rows, keys=BAND_KEYS)
        return self.make.rows(way, band_words(rows), table, "drive_bands_source", rules.drive_bands_source)
