"""farm.toml: where the road map lies, how a vehicle drives, and the rules for driving on a map."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from routing.farm.documents import Keys, as_text
from routing.farm.faults import one_of, quoted
from routing.farm.models import ROAD_CREDIT, Drives, Figure, RoadRules
from routing.farm.plain_files import open_plain
from routing.farm.unfit import UnfitError

HOW_DRIVEN: dict[str, Drives] = {"van": "van", "van with trailer": "van with trailer", "4x4": "4x4"}
FIGURES = {
    "lane_kmh": (5.0, 130.0),
    "track_kmh": (2.0, 60.0),
    "gate_minutes": (0.0, 30.0),
    "walking_kmh": (1.0, 10.0),
    "barrow_factor": (1.0, 5.0),
    "furthest_walk_metres": (10.0, 5000.0),
}
"""Each rule with its least and its most."""

TABLES = {"speeds_kmh": (2.0, 130.0), "limits_kmh": (10.0, 130.0)}
"""Each table of rules with the least and the most of its values."""


MOST_MAP_BYTES = 10**12
"""All roads of the earth take a tenth of it; systems show some files that never end as larger."""


@dataclass(frozen=True)
class RoadMap:
    """Where the extract lies, None for none, and whom it is from."""

    path: Path | None
    credit: str


def as_drives(value: object) -> Drives:
    """Return how a vehicle drives. Raises UnfitError."""
    if as_text(value) not in HOW_DRIVEN:
        raise UnfitError("is not " + one_of(HOW_DRIVEN))
    return HOW_DRIVEN[as_text(value)]


def read_road_map(keys: Keys, folder: Path) -> RoadMap:
    """Return what `[roads]` says; a file that is not there is a fault."""
    keys.only("map", "credit")
    name = keys.text("map", longest=500)
    credit = keys.text("credit", ROAD_CREDIT)
    if not name:
        if "map" in keys and keys.ok:
            keys.fault("map", "map is empty", "name the extract, or leave [roads] out")
        return RoadMap(None, credit)
    path = folder / name
    if why := _no_map(path):
        keys.fault("map", f"map {quoted(name)} {why}", "maps/README.md tells how to get one")
        return RoadMap(None, credit)
    return RoadMap(path, credit)


def _no_map(path: Path) -> str:
    """Return why a path cannot be a road map's, an empty text where it can."""
    try:
        with open_plain(path) as file:
            size = os.fstat(file.fileno()).st_size
    except FileNotFoundError:
        return "is no file in the farm folder"
    except OSError as error:
        return f"cannot be read: {error.strerror or type(error).__name__}"
    return "is larger than any map" if size > MOST_MAP_BYTES else ""


def read_road_rules(keys: Keys, base: RoadRules | None) -> RoadRules | None:
    """Return the road rules with those of the table over them, or None with faults noted."""
    keys.only(*FIGURES, *TABLES)
    given: dict[str, object] = {}
    for key, (least, most) in FIGURES.items():
        figure = keys.figure(key, most, getattr(base, key, None))
        _at_least(keys, key, figure, least)
        given[key] = figure
    for key, (least, most) in TABLES.items():
        table, known = keys.table(key), getattr(base, key, {})
        if base is not None:
            table.only(*known)
        found = {name: table.figure(name, most, known.get(name)) for name in dict.fromkeys((*known, *table))}
        for name, figure in found.items():
            _at_least(table, name, figure, least)
        given[key] = found
    if base is None:
        keys.needs(*FIGURES, *TABLES)
    return RoadRules.model_validate(given) if keys.ok else None


def _at_least(keys: Keys, key: str, figure: Figure | None, least: float) -> None:
    if figure is not None and figure.value < least:
        keys.fault(key, f"{key} must be at least {least:g}")
