"""What the bee farmer writes down: the farm, its sites, crews, vehicles, job kinds and jobs.

All types are frozen. Numbers of the trade are `Figure`s, which carry their source and how sure it is.
Amounts are in the unit that the name states; people write minutes and kilograms, so these types do too.
"""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from pathlib import Path
from typing import Literal

from pydantic import Field

from routing.errors import Fault
from routing.farm.basics import Confidence, Figure, Frozen, Hours, Rank
from routing.farm.by_id import ById
from routing.farm.finder import Finder
from routing.farm.forecast import FORECAST_URL, Forecast
from routing.farm.road_rules import DriveBand, RoadRules
from routing.farm.year import SeasonRules

__all__ = [
    "Confidence",
    "DriveBand",
    "Figure",
    "Frozen",
    "Hours",
    "Rank",
    "RoadRules",
]  # also known by this module's name; its own need no mention

BASE = "base"
"""The id of the base in every list of places; no site may use it."""

ROAD_CREDIT = "\N{COPYRIGHT SIGN} OpenStreetMap contributors"
"""Source: the attribution that openstreetmap.org/copyright asks for, under the Open Database Licence."""


class LightNeed(StrEnum):
    """The light that a job kind needs; each value is the words used in the files."""

    DAYLIGHT = "daylight"
    TWILIGHT = "twilight will do"
    ANY = "any"
    AFTER_FLYING = "after flying stops"


class Place(Frozen):
    """A point on the earth, WGS 84 decimal degrees."""

    latitude: float = Field(ge=-90, le=90, allow_inf_nan=False)
    longitude: float = Field(ge=-180, le=180, allow_inf_nan=False)


class Material(Frozen):
    """Something that goes on the vehicle or comes back on it, counted in `unit`s."""

    id: str
    name: str
    unit: Literal["kg", "litres", "pieces"]
    kg_each: Figure
    """Kilograms that one unit weighs (1 where the unit is kg)."""
    litres_each: Figure
    """Litres of vehicle space that one unit takes."""
    sold_by: Figure | None = None
    """How many units are in one pack as it is sold (12.5 for a 12.5 kg box), None where it is not packed."""
    pack: str = ""
    """What a pack is called, singular: `box`, `drum`; empty where not packed."""


class MaterialUse(Frozen):
    """So many units of one material for each hive worked."""

    material: str
    a_hive: Figure


class JobKind(Frozen):
    """A sort of work: its time, materials, light, warmth and people, and what to beware of."""

    id: str
    name: str
    minutes_a_visit: Figure
    """Set-up once a visit (gate, suit, smoker, pack up). Jobs done in one visit share one set-up: the longest."""
    minutes_a_hive: Figure
    """Minutes of one person for each hive."""
    takes: tuple[MaterialUse, ...] = ()
    brings_back: tuple[MaterialUse, ...] = ()
    light: LightNeed = LightNeed.DAYLIGHT
    min_temperature_c: float | None = None
    """Coldest air in which it should be done, degrees Celsius; None where cold does not matter."""
    temperature_source: str = ""
    max_rain_mm_an_hour: float | None = None
    """Most rain in which it should be done; None where rain does not matter."""
    rain_source: str = ""
    max_wind_kmh: float | None = None
    """Strongest mean wind in which it should be done, kilometres an hour; None where wind does not matter."""
    wind_source: str = ""
    before_frost: bool = False
    """Whether it should be done before the first frost that is forecast."""
    people: int = Field(default=1, ge=1, le=20)
    set_down_minutes_a_hive: Figure | None = None
    """Minutes of one person for each hive at the other site, where hives are moved to one; None where the kind moves
    none. What it `brings_back` is then on the vehicle from one site to the other and does not come home."""
    cautions: tuple[str, ...] = ()
    stays_until: str = ""
    """What it puts into or onto the hives stays until this job kind is done; empty where nothing stays."""
    not_with: tuple[str, ...] = ()
    """Job kinds that it may not be planned beside, nor while what one of the two left on the hives is still there."""
    not_with_source: str = ""


class Site(Frozen):
    """One out-apiary."""

    id: str
    name: str
    place: Place
    parking: Place | None = None
    """Where the vehicle is left, where the farm says so: what is driven to, and where the walk begins."""
    hives: int = Field(ge=0)
    nucs: int = Field(default=0, ge=0)
    hours: tuple[Hours, ...] = ()
    """When the site may be entered, in order, not overlapping; empty means at all times."""
    closed_weekdays: frozenset[int] = frozenset()
    """0 is Monday, as in `datetime.date.weekday`."""
    closed_dates: frozenset[dt.date] = frozenset()
    vehicle_needed: str = ""
    """What a vehicle must be able to reach, such as `4x4`; empty where any vehicle can."""
    walking_minutes: float = Field(default=0, ge=0, le=240, allow_inf_nan=False)
    """One way from where the vehicle is parked to the hives; 0 where the farm does not say."""
    last_of_day: bool = False
    """Suspect disease: no healthy site may follow it on a round."""
    pace: float = Field(default=1, gt=0, le=10, allow_inf_nan=False)
    """Hive minutes here are multiplied by this; learned from the record, 1 where nothing is."""
    notes: str = ""
    gate_code: str = ""
    phone: str = ""
    private_notes: str = ""
    line: int = 0

    @property
    def colonies(self) -> int:
        """Hives and nucs together: how many a job is for when it does not say."""
        return self.hives + self.nucs


class Job(Frozen):
    """One job kind wanted at one site."""

    id: str
    """`jobs.csv:7` for the row it came from: unique in the farm."""
    site: str
    kind: str
    hives: int = Field(ge=1)
    not_before: dt.date | None = None
    due_by: dt.date | None = None
    promised: dt.date | None = None
    """The one date on which it may be done, as agreed with the landowner; `not_before` and `due_by` then are it too."""
    rank: Rank = Rank.WANT
    note: str = ""
    to: str = ""
    """The site that its hives are moved to; empty where none are moved, or home to base."""
    of_hives: int = 0
    """Of a part of a job that is shared out: the hives of the whole job; 0 where the job is whole."""
    helpings: int = Field(default=1, ge=1)
    """Each hive takes so many times what the kind takes: a feed as large as it must be to last."""
    line: int = 0


Drives = Literal["van", "van with trailer", "4x4"]
"""How a vehicle drives on the road map: which ways it may use and how fast."""


class Vehicle(Frozen):
    """A vehicle: what it may carry and where it may go."""

    id: str
    name: str
    payload_kg: float = Field(gt=0, allow_inf_nan=False)
    """What may be loaded with the crew and the usual tools already in it."""
    space_litres: float = Field(gt=0, allow_inf_nan=False)
    reaches: frozenset[str] = frozenset()
    """The special needs of sites that it meets, such as `4x4`; plain sites need none."""
    drives: Drives = "van"
    """Which ways of a road map it may use and how fast; nothing to do with `reaches`."""


MOST_TRIPS = 6
"""More often no crew leaves base in a day."""


class Crew(Frozen):
    """One or more people who travel together in one vehicle."""

    id: str
    name: str
    people: int = Field(ge=1, le=20)
    vehicle: str
    earliest_start: dt.time
    """When loading at base may begin."""
    home_by: dt.time
    """When the vehicle must be back; at or before `earliest_start` it means the next day."""
    home_before_dark: bool = False
    """Home by civil dusk at base where that is sooner than `home_by`; no limit where there is no dusk that day."""
    break_minutes: float = Field(default=20, ge=0, le=240, allow_inf_nan=False)
    break_after_hours: float = Field(default=6, gt=0, le=24, allow_inf_nan=False)
    """A crew away from base for longer than this takes its break at one of the stops."""
    trips_a_day: int = Field(default=2, ge=1, le=MOST_TRIPS)
    """How often it may leave base in a day: where one load is not enough it comes back to load again."""
    days_off_weekdays: frozenset[int] = frozenset()
    days_off_dates: frozenset[dt.date] = frozenset()
    pace: float = Field(default=1, gt=0, le=10, allow_inf_nan=False)
    """This crew's hive minutes are multiplied by this; learned from the record, 1 where nothing is."""


class Base(Frozen):
    """The yard where the vehicle is loaded and the day starts and ends."""

    name: str
    place: Place
    loading_minutes: float = Field(default=15, ge=0, le=480, allow_inf_nan=False)


class Rules(Frozen):
    """Farm-wide settings, each with a sourced default in `routing/farm/defaults/rules.toml`."""

    light_margin_minutes: Figure
    """Working light begins this long after sunrise and ends this long before sunset."""
    flying_stops_minutes_after_sunset: Figure
    extra_hands_share: Figure
    """Each further person counts for this share of one in hive minutes; set-up and walking do not shrink."""
    call_in_minutes: Figure
    """A lone worker calls in at least this often, and on leaving the last site and at home."""
    drive_bands: tuple[DriveBand, ...]
    """Points of the straight-line estimate in order of distance; between them values are interpolated."""
    drive_bands_source: str
    drive_factor: float = Field(default=1, gt=0, le=10, allow_inf_nan=False)
    """All drive times, estimated or from the road map, are multiplied by this; the farmer tunes it."""
    units: Literal["km", "miles"] = "miles"
    emergency_number: str = "112"
    finish_early_minutes: float = Field(default=0, ge=0, le=1440, allow_inf_nan=False)
    """Every window is planned to close, and every crew to be home, this long before it must."""
    move_nearer_than_metres: Figure | None = None
    """Hives moved less far find home again. Always given where the rules were read from the package's defaults."""
    move_farther_than_km: Figure | None = None
    """Hives moved farther find home again; in between, foragers fly back to the old stand. Given likewise."""
    roads: RoadRules | None = None
    """Always given where the rules were read from the package's defaults."""


class KnownDrive(Frozen):
    """Drive minutes that the farmer knows; they hold both ways unless the way back has its own row."""

    start: str
    end: str
    minutes: float = Field(ge=0, le=1440, allow_inf_nan=False)
    line: int = 0


class Underway(Frozen):
    """Where a crew stands in the middle of its day, when it can go on from there, and what it had and has."""

    name: str
    place: Place
    at: dt.time
    break_after_hours: float = 0
    """After how many hours away the crew takes a break; in its `Crew` stands how many of them are left. 0: as there."""
    counted: bool = False
    """Whether all that is on the vehicle is known: the stock is then what is on it to be used, and all of it weighs."""
    brought: dict[str, float] = Field(default_factory=dict)
    """Units of each material that the vehicle brings home from what is done."""


class TableNames(Frozen):
    """Where the tables of a farm stand, as sentences name it: a file, or a sheet of the farm's workbook."""

    sites: str = "sites.csv"
    jobs: str = "jobs.csv"
    drives: str = "drives.csv"


_SITES: ById[Site] = ById()


class Farm(Frozen):
    """Everything the bee farmer wrote down, checked and complete."""

    name: str
    folder: Path
    time_zone: str
    """IANA name, such as `Europe/London`."""
    base: Base
    sites: tuple[Site, ...]
    jobs: tuple[Job, ...]
    job_kinds: dict[str, JobKind]
    materials: dict[str, Material]
    vehicles: dict[str, Vehicle]
    crews: tuple[Crew, ...]
    rules: Rules
    stock: dict[str, float] = Field(default_factory=dict)
    """Units of each material at base; a material that is not named is not short."""
    known_drives: tuple[KnownDrive, ...] = ()
    underway: Underway | None = None
    """Set only while the rest of a day is planned: the first drive starts here and not at base."""
    season: SeasonRules | None = None
    """The rules of the year; None where a farm is made without them, so that nothing falls due by itself."""
    tables: TableNames = TableNames()
    """Where its tables stand, or would stand."""
    warnings: tuple[Fault, ...] = ()
    forecast: Forecast | None = None
    """The weather at base as it is forecast; None where there is no forecast."""
    weather_url: str = FORECAST_URL
    """Where a forecast is fetched from, only when asked."""
    finder: Finder | None = None
    """What may be asked where a place is; None where farm.toml names no such service."""
    road_map: Path | None = None
    """An OpenStreetMap extract; drives are straight-line estimates where there is none."""
    road_credit: str = ROAD_CREDIT
    """Whom the road map is from; stands on every map drawn from it."""
    spreads: dict[str, Figure] = Field(default_factory=dict)
    """How far days stray from plans, as the farm's record teaches it: fields of `Spread`; the rest are defaults."""

    def site(self, site_id: str) -> Site:
        """Return the site with this id. Raises KeyError."""
        return _SITES.of(self.sites)[site_id]

    def row_of(self, job: Job) -> str:
        """Return where the row of a job stands, as faults name it: `jobs.csv:7` or `farm.xlsx, Jobs:7`."""
        return f"{self.tables.jobs}:{job.line}"

    def crew(self, crew_id: str) -> Crew:
        """Return the crew with this id. Raises KeyError."""
        for crew in self.crews:
            if crew.id == crew_id:
                return crew
        raise KeyError(crew_id)
