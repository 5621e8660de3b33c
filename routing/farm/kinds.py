"""The catalogue that comes with the package, and how a farm's own numbers go over it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal

from routing.farm.documents import Keys, as_flag, as_text, as_whole
from routing.farm.faults import Faults, Names, nearest, one_of, plain, quoted
from routing.farm.incompatible import KEYS as APART_KEYS
from routing.farm.incompatible import check_apart, read_apart
from routing.farm.models import JobKind, LightNeed, Material, MaterialUse, Rules
from routing.farm.package_tables import package_table
from routing.farm.rules import MOST_MINUTES, read_rules
from routing.farm.unfit import UnfitError
from routing.farm.values import LONGEST_NOTE, identity

MATERIAL_KEYS = ("name", "unit", "kg_each", "litres_each", "sold_by", "pack")
KIND_KEYS = (
    *("name", "minutes_a_visit", "minutes_a_hive", "takes", "brings_back", "light"),
    *("min_temperature_c", "temperature_source", "people", "cautions"),
    *("max_rain_mm_an_hour", "rain_source", "max_wind_kmh", "wind_source", "before_frost"),
    "set_down_minutes_a_hive",
    *APART_KEYS,
)
MOST_WEATHER = 500.0
"""No limit on rain (mm an hour) or wind (km/h) is larger."""
LARGEST = 100_000.0
"""No kilogram, litre or pack figure of a hive's materials is larger."""


@dataclass(frozen=True)
class Catalogue:
    """Materials, job kinds, rules and the texts of the usual cautions, by their short names."""

    materials: Mapping[str, Material]
    job_kinds: Mapping[str, JobKind]
    rules: Rules
    cautions: Mapping[str, str]


@cache
def load_catalogue() -> Catalogue:
    """Return the catalogue of the package, read once. Raises ValueError where its files are wrong."""
    faults = Faults()
    materials = read_materials(package_table("materials.toml", faults).table("material"), {})
    material_names = Names({key: key for key in materials}, str)
    kinds_document = package_table("job_kinds.toml", faults)
    caution_table = kinds_document.table("caution")
    cautions = {key: caution_table.text(key, longest=LONGEST_NOTE) for key in caution_table}
    kinds = read_job_kinds(kinds_document.table("job_kind"), {}, material_names, cautions)
    rules = read_rules(package_table("rules.toml", faults).table("rules"), None)
    if rules is None or faults.stopping:
        raise ValueError("\n".join(str(fault) for fault in faults.in_order(())))
    return Catalogue(MappingProxyType(materials), MappingProxyType(kinds), rules, MappingProxyType(cautions))


def read_materials(table: Keys, known: Mapping[str, Material]) -> dict[str, Material]:
    """Return the known materials with those of the table over them; faults are noted in its document."""
    materials = dict(known)
    for key in table:
        material = _material(key, table.table(key), known)
        if material is not None:
            materials[key] = material
    return materials


def _material(key: str, keys: Keys, known: Mapping[str, Material]) -> Material | None:
    base = known.get(key)
    if not _begin(key, keys, MATERIAL_KEYS, () if base else ("unit", "kg_each", "litres_each"), known):
        return None
    unit = keys.take("unit", _unit, base.unit if base else "kg")
    kg_each = keys.figure("kg_each", LARGEST, base.kg_each if base else None)
    litres_each = keys.figure("litres_each", LARGEST, base.litres_each if base else None)
    sold_by = keys.figure("sold_by", LARGEST, base.sold_by if base else None)
    name = keys.text("name", base.name if base else key)
    pack = keys.text("pack", base.pack if base else "")
    if sold_by is not None and sold_by.value <= 0:
        keys.fault("sold_by", "sold_by must be above 0")
    if unit == "kg" and kg_each is not None and kg_each.value != 1:
        keys.fault("kg_each", "kg_each must be 1 where the unit is kg")
    if kg_each is None or litres_each is None or not keys.ok:
        return None
    pack = pack or ("pack" if sold_by else "")
    return Material(id=key, name=name, unit=unit, kg_each=kg_each, litres_each=litres_each, sold_by=sold_by, pack=pack)


def read_job_kinds(
    table: Keys, known: Mapping[str, JobKind], materials: Names, cautions: Mapping[str, str]
) -> dict[str, JobKind]:
    """Return the known job kinds with those of the table over them; a caution may be named by its short name."""
    kinds = dict(known)
    for key in table:
        kind = _job_kind(key, table.table(key), known, materials, cautions)
        if kind is not None:
            kinds[key] = kind
    check_apart(table, kinds)
    return kinds


def _job_kind(
    key: str,
    keys: Keys,
    known: Mapping[str, JobKind],
    materials: Names,
    cautions: Mapping[str, str],
) -> JobKind | None:
    base = known.get(key)
    if not _begin(key, keys, KIND_KEYS, () if base else ("minutes_a_visit", "minutes_a_hive"), known):
        return None
    a_visit = keys.figure("minutes_a_visit", MOST_MINUTES, base.minutes_a_visit if base else None)
    a_hive = keys.figure("minutes_a_hive", MOST_MINUTES, base.minutes_a_hive if base else None)
    takes = _uses(keys, "takes", materials) if "takes" in keys else (base.takes if base else ())
    brings = _uses(keys, "brings_back", materials) if "brings_back" in keys else (base.brings_back if base else ())
    light = keys.take("light", _light, base.light if base else LightNeed.DAYLIGHT)
    coldest = base.min_temperature_c if base else None
    temperature_source = base.temperature_source if base else ""
    if "min_temperature_c" in keys:
        coldest = keys.number("min_temperature_c", -50, 50, 0)
        temperature_source = keys.document.source
    temperature_source = keys.text("temperature_source", temperature_source, LONGEST_NOTE)
    most_rain, rain_source = _limit(keys, "max_rain_mm_an_hour", "rain_source", base)
    most_wind, wind_source = _limit(keys, "max_wind_kmh", "wind_source", base)
    before_frost = keys.take("before_frost", as_flag, base.before_frost if base else False)
    people = keys.take("people", as_whole(1, 20), base.people if base else 1)
    set_down = base.set_down_minutes_a_hive if base else None
    if "set_down_minutes_a_hive" in keys:
        set_down = keys.figure("set_down_minutes_a_hive", MOST_MINUTES, set_down)
    words = keys.texts("cautions", LONGEST_NOTE) if "cautions" in keys else (base.cautions if base else ())
    name = keys.text("name", base.name if base else key)
    apart = read_apart(keys, base)
    if a_visit is None or a_hive is None or not keys.ok:
        return None
    return JobKind(
        id=key,
        name=name,
        minutes_a_visit=a_visit,
        minutes_a_hive=a_hive,
        takes=takes,
        brings_back=brings,
        light=light,
        min_temperature_c=coldest,
        temperature_source=temperature_source,
        max_rain_mm_an_hour=most_rain,
        rain_source=rain_source,
        max_wind_kmh=most_wind,
        wind_source=wind_source,
        before_frost=before_frost,
        people=people,
        set_down_minutes_a_hive=set_down,
        cautions=tuple(cautions.get(word, word) for word in words),
        **apart,
    )


def _limit(keys: Keys, key: str, source_key: str, base: JobKind | None) -> tuple[float | None, str]:
    """Return the most of something in which a job should be done, None where it does not matter, and its source."""
    most: float | None = getattr(base, key, None)
    source: str = getattr(base, source_key, "")
    if key in keys:
        most = keys.number(key, 0, MOST_WEATHER, 0)
        source = keys.document.source
    return most, keys.text(source_key, source, LONGEST_NOTE)


def _begin(
    key: str, keys: Keys, known_keys: tuple[str, ...], needed: tuple[str, ...], known: Mapping[str, object]
) -> bool:
    """Check the id and the keys of a material or job kind; a new one that lacks its numbers may be a slip."""
    try:
        identity(key)
    except UnfitError as error:
        keys.fault("", f"has a name that {error}")
    keys.only(*known_keys)
    missing = [name for name in needed if name not in keys]
    if missing:
        keys.fault("", "is a new one and has no " + ", ".join(missing), nearest(key, known))
    return keys.ok


def _uses(keys: Keys, key: str, materials: Names) -> tuple[MaterialUse, ...]:
    table = keys.table(key)
    uses = []
    for material in table:
        if materials.unknown(material):
            table.fault(material, f"names no known material: {quoted(material)}", materials.hint(material))
        figure = table.figure(material, LARGEST, None)
        if figure is not None and figure.value > 0:
            uses.append(MaterialUse(material=material, a_hive=figure))
    return tuple(uses)


def _unit(value: object) -> Literal["kg", "litres", "pieces"]:
    units: dict[str, Literal["kg", "litres", "pieces"]] = {"kg": "kg", "litres": "litres", "pieces": "pieces"}
    if as_text(value) not in units:
        raise UnfitError("is not " + one_of(units))
    return units[as_text(value)]


def _light(value: object) -> LightNeed:
    needs = {plain(need.value): need for need in LightNeed}
    word = as_text(value)
    if plain(word) not in needs:
        raise UnfitError("is not " + one_of(needs))
    return needs[plain(word)]
