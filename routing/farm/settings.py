"""farm.toml: the base, crews, vehicles, the farm's own numbers and the stock."""

from __future__ import annotations

import re
import zoneinfo
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from routing import farm
from routing.errors import PlaceError
from routing.farm.crews import read_crews, read_vehicles
from routing.farm.documents import Document, Keys, as_number, parse_document
from routing.farm.faults import Faults, Names, nearest, plain, quoted
from routing.farm.find_settings import read_finder
from routing.farm.finder import Finder
from routing.farm.forecast import FORECAST_URL
from routing.farm.kinds import Catalogue, load_catalogue, read_job_kinds, read_materials
from routing.farm.location import located, nowhere
from routing.farm.models import Base, Crew, JobKind, Material, Place, Rules, Vehicle
from routing.farm.plain_files import NOTHING, Instead
from routing.farm.roads import RoadMap, read_road_map
from routing.farm.rules import read_rules
from routing.farm.texts import read_text
from routing.farm.unfit import UnfitError
from routing.farm.ways import Ways, ways_of
from routing.farm.year import SeasonRules
from routing.farm.year_rules import YEAR_TABLES, read_year

FILE = "farm.toml"
SOURCE = "farm.toml"
TOP_KEYS = (
    *(
        "name",
        "time_zone",
        "base",
        "crew",
        "vehicle",
        "job_kind",
        "material",
        "rules",
        "stock",
        "weather",
        "roads",
        "find",
    ),
    *YEAR_TABLES,
)
BASE_KEYS = ("name", "place", "latitude", "longitude", "loading_minutes")
MOST_STOCK = 10_000_000.0
LONGEST_URL = 1000
WEB_ADDRESS = re.compile(r"https?://[^\s/?#]+(/[^\s#]*)?(\?[^\s#]*)?")
NO_REACHES = Names({}, str.casefold, complete=False)


@dataclass(frozen=True)
class Settings:
    """What farm.toml says. `base` and `rules` are None where they had faults."""

    name: str
    time_zone: str
    base: Base | None
    crews: tuple[Crew, ...]
    vehicles: dict[str, Vehicle]
    materials: dict[str, Material]
    job_kinds: dict[str, JobKind]
    rules: Rules | None
    stock: dict[str, float]
    season: SeasonRules | None
    """The rules of the year; None where they had faults."""
    kind_names: Names
    """The job kinds as jobs.csv may name them, by id or by name."""
    reaches: Names
    """The special needs of sites that some vehicle meets."""
    roads: RoadMap
    weather_url: str = FORECAST_URL
    finder: Finder | None = None


def read_settings(folder: Path, faults: Faults, instead: Instead = NOTHING) -> Settings:
    """Return what farm.toml says over the package's catalogue; faults are noted and leave gaps."""
    catalogue = load_catalogue()
    text = read_text(folder / FILE, faults, "it names the base, the crews and the vehicles", instead)
    top = None if text is None else parse_document(text, FILE, faults, SOURCE)
    if top is None:
        top = Keys({}, (), Document(FILE, Faults()))
        return replace(_settings(top, catalogue, folder), kind_names=Names({}, complete=False), reaches=NO_REACHES)
    return _settings(top, catalogue, folder)


def ways_in(folder: Path) -> Ways:
    """Return how the country of a farm folder writes, as far as its farm.toml can be read."""
    return ways_of(read_settings(folder, Faults()).time_zone)


def _settings(top: Keys, catalogue: Catalogue, folder: Path) -> Settings:
    top.only(*TOP_KEYS)
    top.needs("base", "crew", "vehicle")
    material_table, kind_table = top.table("material"), top.table("job_kind")
    materials = read_materials(material_table, catalogue.materials)
    material_names = _names(materials, material_table)
    kinds = read_job_kinds(kind_table, catalogue.job_kinds, material_names, catalogue.cautions)
    vehicle_tables = top.tables("vehicle")
    vehicles = read_vehicles(vehicle_tables)
    vehicle_names = _names(vehicles, [str(keys.peek("id")) for keys in vehicle_tables])
    base = _base(top.table("base")) if "base" in top else None
    time_zone = _time_zone(top, base.place if base else None)
    crews = read_crews(top.tables("crew"), vehicle_names, ways_of(time_zone))
    for key, found in (("crew", crews), ("vehicle", vehicles)):
        if not found and top.ok:
            top.fault(key, f"has no {key}", f"write one under [[{key}]]")
    return Settings(
        name=top.text("name") or "Farm",
        time_zone=time_zone,
        base=base,
        crews=crews,
        vehicles=vehicles,
        materials=materials,
        job_kinds=kinds,
        rules=read_rules(top.table("rules"), catalogue.rules),
        stock=_stock(top.table("stock"), material_names),
        season=read_year(top, kinds, material_names),
        kind_names=_kind_names(kinds, kind_table),
        reaches=_reaches(vehicles, vehicle_names),
        weather_url=_weather_url(top.table("weather")),
        finder=read_finder(top.table("find")),
        roads=read_road_map(top.table("roads"), folder),
    )


def _names(known: Iterable[str], written: Iterable[str]) -> Names:
    """Return names that must be written exactly; those written but not known had faults."""
    ids = {name: name for name in known}
    return Names(ids, str, frozenset(written) - ids.keys())


def _kind_names(kinds: Mapping[str, JobKind], written: Iterable[str]) -> Names:
    by_name = {plain(kind.name): key for key, kind in kinds.items()}
    ids = by_name | {plain(key): key for key in kinds}
    return Names(ids, plain, frozenset(plain(key) for key in written))


def _reaches(vehicles: Mapping[str, Vehicle], names: Names) -> Names:
    ids = {need.casefold(): need for vehicle in vehicles.values() for need in vehicle.reaches}
    return Names(ids, str.casefold, complete=bool(vehicles) and not names.faulty)


def _base(keys: Keys) -> Base | None:
    keys.only(*BASE_KEYS)
    pair = [_coordinate(keys, key) for key in ("latitude", "longitude")]
    try:
        place = located(keys.text("place"), *pair)
    except PlaceError as error:
        if keys.ok:
            keys.fault("place", str(error))
        return None
    if nowhere(place):
        keys.warn("place", "is at latitude 0, longitude 0, in the sea off Africa", "was the place left out?")
    loading = keys.number("loading_minutes", 0, 480, 15)
    return Base(name=keys.text("name", "Base"), place=place, loading_minutes=loading) if keys.ok else None


def _coordinate(keys: Keys, key: str) -> str:
    """Return a coordinate as the text that `located` reads; a number is written out in full."""
    return keys.take(key, lambda value: value if isinstance(value, str) else _written_out(as_number(value)), "")


def _written_out(value: float) -> str:
    return f"{value:.9f}".rstrip("0").rstrip(".")


def _time_zone(top: Keys, place: Place | None) -> str:
    """Return the zone that is given, else the one in which the base lies."""
    if "time_zone" in top:
        return top.take("time_zone", _known_zone, "")
    if place is None:
        return ""
    found = farm.zones.zone_at(place)
    if not found:
        top.fault("time_zone", "no time zone is known for the base", 'give one: time_zone = "Europe/London"')
    return found


def _known_zone(value: object) -> str:
    if not isinstance(value, str):
        raise UnfitError('is not a time zone: write a name such as "Europe/London"')
    try:
        zoneinfo.ZoneInfo(value)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError) as error:
        hint = nearest(value, zoneinfo.available_timezones()) or 'write a name such as "Europe/London"'
        raise UnfitError(f"is not a time zone: {hint}") from error
    return value


def _weather_url(keys: Keys) -> str:
    """Return where a forecast is asked for: a whole address of the web."""
    keys.only("url")
    url = keys.text("url", FORECAST_URL, LONGEST_URL)
    if not WEB_ADDRESS.fullmatch(url):
        keys.fault("url", f"url {quoted(url)} is not an address of the web", f'write url = "{FORECAST_URL}"')
    return url


def _stock(keys: Keys, materials: Names) -> dict[str, float]:
    """Return units at base of each material that the table names."""
    stock = {}
    for material in keys:
        if materials.unknown(material):
            keys.fault(material, f"names no known material: {quoted(material)}", materials.hint(material))
        stock[material] = keys.number(material, 0, MOST_STOCK, 0)
    return stock
