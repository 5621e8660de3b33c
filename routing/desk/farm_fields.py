"""The values of farm.toml that the Farm view lets one change: each as it is in effect, with where it comes from."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from routing.errors import AskedError
from routing.farm.documents import Document, parse_document
from routing.farm.faults import Faults
from routing.farm.models import Crew, Farm, LightNeed, Vehicle
from routing.farm.settings import FILE
from routing.farm.workbook_cells import number_text
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording.farm_numbers import Number, kind_numbers, rule_numbers, year_numbers

type Way = tuple[str | int, ...]
UNSAID = "not said in farm.toml: this is what counts then"
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
DRIVES = ("van", "van with trailer", "4x4")


class Kind(StrEnum):
    """What may be written into a value."""

    TEXT = "text"
    TIME = "time"
    NUMBER = "number"
    TRUTH = "truth"
    CHOICE = "choice"
    WORDS = "words"
    FIGURE = "figure"


@dataclass(frozen=True)
class FarmField:
    """One value that may be changed."""

    way: Way
    name: str
    value: str
    """As it is in effect, and as it is typed."""
    kind: Kind
    source: str
    said: bool
    """Whether farm.toml says it."""
    sure: str = ""
    choices: tuple[str, ...] = ()
    needed: bool = False
    """Whether farm.toml has to say it."""

    @property
    def key(self) -> str:
        """What the page sends back for it."""
        return json.dumps(self.way)


@dataclass(frozen=True)
class Group:
    """Values that belong together, under a heading."""

    title: str
    fields: tuple[FarmField, ...]
    drop: str = ""
    """What the page sends to take the whole table out of farm.toml, empty where it stays."""
    about: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Said:
    """What farm.toml says, and where."""

    table: Mapping[str, object]
    document: Document = field(default_factory=lambda: Document(FILE, Faults()))

    def value(self, way: Sequence[str | int]) -> object:
        """Return what stands at the end of a way, None where nothing does."""
        found: Any = self.table
        for step in way:
            try:
                found = found[step]
            except (LookupError, TypeError):
                return None
        return found

    def where(self, way: Sequence[str | int]) -> str:
        """Return where it stands: `farm.toml, line 27`."""
        line = self.document.line(tuple(way))
        return f"{FILE}, line {line}" if line else FILE


def said_in(text: str) -> Said:
    """Return what a text of farm.toml says. Raises AskedError where it is not TOML."""
    keys = parse_document(text, FILE, Faults())
    if keys is None:
        raise AskedError(f"{FILE} cannot be read: mend it first")
    return Said(tomllib.loads(text), keys.document)


@dataclass(frozen=True)
class FarmFields:
    """Every value of a farm that may be changed, in groups."""

    base: Group
    crews: tuple[Group, ...]
    vehicles: tuple[Group, ...]
    stock: Group
    rules: tuple[Group, ...]
    kinds: tuple[Group, ...]
    year: tuple[Group, ...]

    @property
    def groups(self) -> Iterator[Group]:
        """All of them."""
        yield from (self.base, *self.crews, *self.vehicles, self.stock, *self.rules, *self.kinds, *self.year)

    def find(self, key: str) -> FarmField:
        """Return the field that a page means. Raises AskedError where there is none."""
        for group in self.groups:
            for one in group.fields:
                if one.key == key:
                    return one
        raise AskedError("the farm has no such value any more; load the page again")


def fields_of(farm: Farm, said: Said) -> FarmFields:
    """Return every value that may be changed of a farm as its files say it."""
    make = _Make(farm, said)
    return FarmFields(
        base=Group("Base", make.base()),
        crews=tuple(make.crew(number, crew) for number, crew in enumerate(farm.crews)),
        vehicles=tuple(make.vehicle(number, vehicle) for number, vehicle in enumerate(farm.vehicles.values())),
        stock=Group("Stock at base", tuple(make.stock())),
        rules=(Group("How the farm works", make.settings()), *make.rules()),
        kinds=tuple(make.kinds()),
        year=tuple(make.year()),
    )


@dataclass(frozen=True)
class _Make:
    farm: Farm
    said: Said

    def base(self) -> tuple[FarmField, ...]:
        base = self.farm.base
        return (
            self.one(("base", "name"), "name", base.name, Kind.TEXT),
            self.one(("base", "loading_minutes"), "loading minutes", base.loading_minutes, Kind.NUMBER),
        )

    def crew(self, number: int, crew: Crew) -> Group:
        at = ("crew", number)
        vehicles = tuple(self.farm.vehicles)
        off = [WEEKDAYS[day] for day in sorted(crew.days_off_weekdays)]
        off += [day.isoformat() for day in sorted(crew.days_off_dates)]
        fields = (
            self.one((*at, "name"), "name", crew.name, Kind.TEXT),
            self.one((*at, "people"), "people", crew.people, Kind.NUMBER),
            self.one((*at, "vehicle"), "vehicle", crew.vehicle, Kind.CHOICE, vehicles, needed=True),
            self.one((*at, "earliest_start"), "earliest start", f"{crew.earliest_start:%H:%M}", Kind.TIME, needed=True),
            self.one((*at, "home_by"), "home by", f"{crew.home_by:%H:%M}", Kind.TIME, needed=True),
            self.one((*at, "home_before_dark"), "home before dark", crew.home_before_dark, Kind.TRUTH),
            self.one((*at, "break_minutes"), "break minutes", crew.break_minutes, Kind.NUMBER),
            self.one((*at, "break_after_hours"), "break after hours", crew.break_after_hours, Kind.NUMBER),
            self.one((*at, "trips_a_day"), "trips a day", crew.trips_a_day, Kind.NUMBER),
            self.one((*at, "days_off"), "days off", ", ".join(off), Kind.WORDS),
        )
        return Group(plain_name(crew.name), fields, json.dumps(["crew", crew.id]), crew.id)

    def vehicle(self, number: int, vehicle: Vehicle) -> Group:
        at = ("vehicle", number)
        reaches = ", ".join(sorted(vehicle.reaches))
        fields = (
            self.one((*at, "name"), "name", vehicle.name, Kind.TEXT),
            self.one((*at, "payload_kg"), "payload kg", vehicle.payload_kg, Kind.NUMBER, needed=True),
            self.one((*at, "space_litres"), "space litres", vehicle.space_litres, Kind.NUMBER, needed=True),
            self.one((*at, "reaches"), "reaches", reaches, Kind.WORDS),
            self.one((*at, "drives"), "drives as", vehicle.drives, Kind.CHOICE, DRIVES),
        )
        return Group(plain_name(vehicle.name), fields, json.dumps(["vehicle", vehicle.id]), vehicle.id)

    def stock(self) -> Iterator[FarmField]:
        stock = self.farm.stock
        for material in sorted(
            self.farm.materials.values(), key=lambda one: (one.id not in stock, one.name.casefold())
        ):
            amount = stock.get(material.id)
            value = "" if amount is None else number_text(amount)
            name = f"{plain_name(material.name)}, {material.unit}"
            yield self.one(("stock", material.id), name, value, Kind.NUMBER, unsaid="not counted, so never short")

    def settings(self) -> tuple[FarmField, ...]:
        rules = self.farm.rules
        return (
            self.one(("name",), "name of the farm", self.farm.name, Kind.TEXT),
            self.one(("rules", "units"), "units", rules.units, Kind.CHOICE, ("miles", "km")),
            self.one(("rules", "emergency_number"), "emergency number", rules.emergency_number, Kind.TEXT),
            self.one(
                ("rules", "finish_early_minutes"), "finish early minutes", rules.finish_early_minutes, Kind.NUMBER
            ),
            self.one(("rules", "drive_factor"), "drive factor", rules.drive_factor, Kind.NUMBER),
        )

    def rules(self) -> Iterator[Group]:
        for title, numbers in rule_numbers(self.farm):
            yield Group(title, tuple(self.figure(number) for number in numbers))

    def kinds(self) -> Iterator[Group]:
        for kind in kind_numbers(self.farm):
            at = kind.numbers[0].way[:2]
            model = self.farm.job_kinds[at[1]]
            lights = tuple(need.value for need in LightNeed)
            fields = (
                self.one((*at, "name"), "name", model.name, Kind.TEXT),
                *(self.figure(number) for number in kind.numbers if number.way),
                self.one((*at, "people"), "people", model.people, Kind.NUMBER),
                self.one((*at, "light"), "light", model.light.value, Kind.CHOICE, lights),
                self.one((*at, "before_frost"), "before the first frost", model.before_frost, Kind.TRUTH),
                self.limit(at, "min_temperature_c", model.min_temperature_c, model.temperature_source),
                self.limit(at, "max_rain_mm_an_hour", model.max_rain_mm_an_hour, model.rain_source),
                self.limit(at, "max_wind_kmh", model.max_wind_kmh, model.wind_source),
            )
            own = json.dumps(at) if self.said.value(at) is not None else ""
            yield Group(kind.name, fields, own, kind.id, kind.cautions)

    def year(self) -> Iterator[Group]:
        for rule in year_numbers(self.farm):
            about = f"{rule.kind}, {rule.rank}: {rule.when}"
            yield Group(about, tuple(self.figure(number) for number in rule.numbers), "", rule.id, (rule.source,))

    def limit(self, at: Way, name: str, value: float | None, source: str) -> FarmField:
        shown = "" if value is None else number_text(value)
        made = self.one((*at, name), name.replace("_", " "), shown, Kind.NUMBER, unsaid="it does not matter")
        return made if value is None or made.said else _from(made, source)

    def figure(self, number: Number) -> FarmField:
        said = self.said.value(number.way) is not None
        where = f"{number.source} ({self.said.where(number.way)})" if said else number.source
        return FarmField(number.way, number.name, number.value, Kind.FIGURE, where, said, number.sure)

    def one(
        self,
        way: Way,
        name: str,
        value: str | float,
        kind: Kind,
        choices: tuple[str, ...] = (),
        *,
        needed: bool = False,
        unsaid: str = UNSAID,
    ) -> FarmField:
        if isinstance(value, bool):
            value = "yes" if value else "no"
        text = value if isinstance(value, str) else number_text(value)
        said = self.said.value(way) is not None
        source = self.said.where(way) if said else unsaid
        return FarmField(way, name, text, kind, source, said, "the farm's own" if said else "", choices, needed)


def _from(made: FarmField, source: str) -> FarmField:
    return FarmField(made.way, made.name, made.value, made.kind, plain_text(source), made.said, made.sure)
