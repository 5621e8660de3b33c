"""The job kinds and the materials that the Farm view lets one change."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from routing.desk.farm_field import FarmField, Group, Kind, Way
from routing.desk.farm_make import Maker
from routing.farm.kinds import load_catalogue
from routing.farm.models import Farm, JobKind, LightNeed, Material
from routing.share.safety.safe import plain_name
from routing.share.wording.farm_numbers import kind_numbers

NO_LIMIT = "it does not matter"
UNITS: tuple[str, ...] = ("kg", "litres", "pieces")
LIMITS = {
    "min_temperature_c": "temperature_source",
    "max_rain_mm_an_hour": "rain_source",
    "max_wind_kmh": "wind_source",
}
"""Each limit of the weather with the key of its source."""


def short_cautions(cautions: Iterable[str]) -> tuple[str, ...]:
    """Return cautions, those of the catalogue by their short names."""
    short = {text: name for name, text in load_catalogue().cautions.items()}
    return tuple(short.get(text, text) for text in cautions)


@dataclass(frozen=True)
class Work:
    """Makes the values of job kinds and materials."""

    farm: Farm
    make: Maker

    def kinds(self) -> Iterator[Group]:
        """Yield the job kinds by their names."""
        for kind in kind_numbers(self.farm):
            at: Way = kind.numbers[0].way[:2]
            model = self.farm.job_kinds[str(at[1])]
            figures = (self.make.figure(number) for number in kind.numbers if number.way)
            fields = (
                self.make.one((*at, "name"), model.name, Kind.TEXT),
                *figures,
                *self._set_down(at, model),
                self.make.one((*at, "people"), model.people, Kind.NUMBER),
                self.make.one((*at, "light"), model.light.value, Kind.CHOICE, (need.value for need in LightNeed)),
                self.make.one((*at, "before_frost"), model.before_frost, Kind.TRUTH),
                *(self._limit(at, key, model) for key in LIMITS),
                self.make.lines((*at, "cautions"), short_cautions(model.cautions)),
                *self._apart(at, model),
            )
            yield Group(kind.name, fields, self._own(at), kind.id, kind.cautions)

    def materials(self) -> Iterator[Group]:
        """Yield the materials by their names."""
        for material in sorted(self.farm.materials.values(), key=lambda one: (one.name.casefold(), one.id)):
            at: Way = ("material", material.id)
            yield Group(
                plain_name(material.name), tuple(self._material(at, material)), self._own(at), plain_name(material.id)
            )

    def _material(self, at: Way, material: Material) -> Iterator[FarmField]:
        yield self.make.one((*at, "name"), material.name, Kind.TEXT)
        yield self.make.one((*at, "unit"), material.unit, Kind.CHOICE, UNITS)
        yield self.make.a_figure((*at, "kg_each"), material.kg_each, "")
        yield self.make.a_figure((*at, "litres_each"), material.litres_each, "")
        yield self.make.a_figure((*at, "sold_by"), material.sold_by, "it is not packed")
        yield self.make.one((*at, "pack"), material.pack, Kind.TEXT)

    def _own(self, at: Way) -> str:
        """Return what takes a table out of farm.toml, empty where it says nothing of it."""
        return json.dumps(at) if self.make.said.value(at) is not None else ""

    def _set_down(self, at: Way, model: JobKind) -> Iterator[FarmField]:
        if model.set_down_minutes_a_hive is None:
            yield self.make.a_figure((*at, "set_down_minutes_a_hive"), None, "it moves no hives to another site")

    def _limit(self, at: Way, key: str, model: JobKind) -> FarmField:
        value: float | None = getattr(model, key)
        source: str = "" if value is None else getattr(model, LIMITS[key])
        return self.make.beside(self.make.one((*at, key), value, Kind.NUMBER, unsaid=NO_LIMIT), LIMITS[key], source)

    def _apart(self, at: Way, model: JobKind) -> Iterator[FarmField]:
        kinds: Mapping[str, JobKind] = self.farm.job_kinds
        yield self.make.one((*at, "stays_until"), model.stays_until, Kind.CHOICE, ("", *sorted(kinds)))
        made = self.make.ticked((*at, "not_with"), model.not_with, sorted(kinds.keys() - {model.id}))
        yield self.make.beside(made, "not_with_source", model.not_with_source)
