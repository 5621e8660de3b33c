"""The farm-wide rules: how they are read from the package's defaults and from farm.toml."""

from __future__ import annotations

import itertools
from typing import Literal

from routing.farm.documents import Keys
from routing.farm.models import DriveBand, Figure, Rules
from routing.farm.roads import read_road_rules
from routing.farm.unfit import UnfitError
from routing.farm.values import LONGEST_NOTE

RULE_FIGURES = (
    *("light_margin_minutes", "flying_stops_minutes_after_sunset", "extra_hands_share", "call_in_minutes"),
    *("move_nearer_than_metres", "move_farther_than_km"),
)
RULE_KEYS = (
    *(*RULE_FIGURES, "drive_bands", "drive_bands_source", "drive_factor", "units", "emergency_number"),
    *("finish_early_minutes", "roads"),
)
BAND_KEYS = ("straight_km", "detour_factor", "speed_kmh")
MOST_MINUTES = 1440.0
HIGHEST = {"extra_hands_share": 1.0, "move_nearer_than_metres": 10_000.0, "move_farther_than_km": 100.0}
"""Of the figures that are no minutes."""


def read_rules(keys: Keys, base: Rules | None) -> Rules | None:
    """Return the rules with those of the table over them, or None with faults noted."""
    keys.only(*RULE_KEYS)
    if base is None:
        keys.needs(*RULE_FIGURES, "drive_bands", "drive_bands_source")
    given: dict[str, object] = {}
    for key in RULE_FIGURES:
        figure = keys.figure(key, HIGHEST.get(key, MOST_MINUTES), getattr(base, key, None))
        given[key] = figure
    _check_call_in(keys, given["call_in_minutes"])
    _check_moves(keys, given["move_nearer_than_metres"], given["move_farther_than_km"])
    if "drive_bands" in keys:
        given["drive_bands"] = _drive_bands(keys)
        given["drive_bands_source"] = keys.text("drive_bands_source", keys.document.source, LONGEST_NOTE)
    given["drive_factor"] = keys.number("drive_factor", 0.1, 10, base.drive_factor if base else 1)
    given["roads"] = read_road_rules(keys.table("roads"), base.roads if base else None)
    given["units"] = keys.take("units", _distance_unit, base.units if base else "miles")
    given["emergency_number"] = keys.text("emergency_number", base.emergency_number if base else "112", 20)
    early = keys.number("finish_early_minutes", 0, MOST_MINUTES, base.finish_early_minutes if base else 0)
    given["finish_early_minutes"] = early
    if not keys.ok:
        return None
    return base.model_copy(update=given) if base else Rules.model_validate(given)


def _check_call_in(keys: Keys, figure: object) -> None:
    if isinstance(figure, Figure) and figure.value < 1:
        keys.fault("call_in_minutes", "call_in_minutes must be at least 1")


def _check_moves(keys: Keys, nearer: object, farther: object) -> None:
    if isinstance(nearer, Figure) and isinstance(farther, Figure) and nearer.value > farther.value * 1000:
        keys.fault("move_nearer_than_metres", "move_nearer_than_metres is farther than move_farther_than_km")


def _distance_unit(value: object) -> Literal["km", "miles"]:
    if value == "km":
        return "km"
    if value == "miles":
        return "miles"
    raise UnfitError("is neither km nor miles")


def _drive_bands(keys: Keys) -> tuple[DriveBand, ...]:
    """Return the bands in order of distance; a farther place must never be quicker to reach."""
    bands = []
    for table in keys.tables("drive_bands"):
        table.only(*BAND_KEYS)
        table.needs(*BAND_KEYS)
        bands.append(
            DriveBand(
                straight_km=table.number("straight_km", 0, 5000, 0),
                detour_factor=table.number("detour_factor", 1, 5, 1),
                speed_kmh=table.number("speed_kmh", 1, 200, 1),
            )
        )
    bands.sort(key=lambda band: band.straight_km)
    if not bands:
        keys.fault("drive_bands", "drive_bands has no band")
    elif keys.ok and not all(minutes_grow(nearer, farther) for nearer, farther in itertools.pairwise(bands)):
        keys.fault("drive_bands", "drive_bands make a farther place quicker to reach than a nearer one")
    return tuple(bands)


def minutes_grow(nearer: DriveBand, farther: DriveBand) -> bool:
    """Return whether driving minutes grow all the way from one band to the next.

    Between bands the detour d and the speed v are straight lines in the distance s, and minutes go as s d / v. Their
    slope has the sign of (d + s d') v - s d v', which has no turning point where s and v are positive: so it is enough
    to look at both ends.
    """
    span = farther.straight_km - nearer.straight_km
    if span <= 0:
        return False
    detour_slope = (farther.detour_factor - nearer.detour_factor) / span
    speed_slope = (farther.speed_kmh - nearer.speed_kmh) / span
    return all(
        (band.detour_factor + band.straight_km * detour_slope) * band.speed_kmh
        > band.straight_km * band.detour_factor * speed_slope
        for band in (nearer, farther)
    )
