"""What a vehicle may use and how fast: from the tags of one way or node of the road map.

Source of the tags and their meaning: wiki.openstreetmap.org (Key:highway, Key:access, Key:tracktype, Key:barrier,
Key:ford, Key:maxspeed, Key:lanes).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from routing.farm.models import Drives, RoadRules
from routing.travel.roads.may_stop import ACCESS, STOPPING_WAY_TAGS

Tags = Mapping[str, str]

KEPT_WAY_TAGS = (
    *("highway", "name", "ref", "oneway", "junction", "maxspeed", "lanes", "width", "narrow", "passing_places"),
    *("surface", "tracktype", "ford", "access", "vehicle", "motor_vehicle", "motorcar", "service"),
    *STOPPING_WAY_TAGS,
)
KEPT_NODE_TAGS = ("barrier", "ford", "access", "vehicle", "motor_vehicle", "locked")

_KMH_PER_MPH = 1.609344
_SHUT = frozenset({"no", "emergency", "psv", "bus", "official", "military"})
_FARM_ONLY = frozenset({"agricultural", "forestry", "agricultural;forestry", "forestry;agricultural"})
_BY_LEAVE = frozenset({"private", "destination", "delivery", "customers", "permit", "permissive"}) | _FARM_ONLY
_PAVED = frozenset({"asphalt", "paved", "concrete", "concrete:plates", "concrete:lanes", "chipseal", "paving_stones"})
_OPENS = frozenset({"gate", "lift_gate", "swing_gate", "hampshire_gate", "sliding_gate"})
_PASSES = frozenset({"cattle_grid", "toll_booth", "border_control", "height_restrictor", "entrance", "kerb", "coupure"})
_ONEWAY = {"yes": "yes", "true": "yes", "1": "yes", "-1": "-1", "reverse": "-1"}
_NARROW_METRES = 4.0
_DUAL = frozenset({"trunk", "primary"})


class Crossing(Enum):
    """What a barrier or ford at a node means to a vehicle."""

    OPEN = "open"
    GATE = "gate"
    SHUT = "shut"


@dataclass(frozen=True)
class Passage:
    """A way as one sort of vehicle drives it."""

    highway: str
    kmh: int
    oneway: str
    """`yes`, `-1` or empty."""
    name: str
    ref: str
    by_leave: bool
    """Only as the last or first stretch: private, or for farm and forest traffic."""


def passage(tags: Tags, drives: Drives, rules: RoadRules) -> Passage | None:
    """Return how a vehicle drives a way, or None where it may not.

    Tracks are for a 4x4, for others only where they are of grade 1 or paved. Fords are for a 4x4 alone. Ways for farm
    and forest traffic are for a 4x4, as a last stretch.
    """
    kind = tags.get("highway", "").removesuffix("_link")
    access = next((tags[key] for key in ACCESS if key in tags), "yes")
    off_road = drives == "4x4"
    if access in _SHUT or (access in _FARM_ONLY and not off_road):
        return None
    if kind == "track":
        if not (off_road or tags.get("tracktype") == "grade1" or tags.get("surface") in _PAVED):
            return None
    elif kind not in rules.speeds_kmh:
        return None
    wet = tags.get("ford", "no") != "no"
    if wet and (not off_road or tags["ford"] == "stepping_stones"):
        return None
    return Passage(
        highway="unclassified" if kind == "track" else tags["highway"],
        kmh=max(1, round(_kmh(tags, kind, drives, rules, wet=wet))),
        oneway="yes" if tags.get("junction") in {"roundabout", "circular"} else _ONEWAY.get(tags.get("oneway", ""), ""),
        name=_name(tags, kind, wet=wet),
        ref=tags.get("ref", ""),
        by_leave=access in _BY_LEAVE,
    )


def crossing(tags: Tags, drives: Drives) -> Crossing:
    """Return what a barrier or ford at a node means to a vehicle; a barrier that is not known is shut."""
    if tags.get("ford", "no") != "no" and (drives != "4x4" or tags["ford"] == "stepping_stones"):
        return Crossing.SHUT
    barrier = tags.get("barrier", "")
    if not barrier or barrier in _PASSES:
        return Crossing.OPEN
    access = next((tags[key] for key in ACCESS if key in tags), "")
    if tags.get("locked") == "yes" or access in _SHUT:
        return Crossing.SHUT
    if barrier in _OPENS:
        return Crossing.GATE
    return Crossing.OPEN if access in {"yes", "permissive", "designated"} else Crossing.SHUT


def posted_kmh(text: str) -> float | None:
    """Return a posted limit in km/h, or None where the text is not a plain number of km/h or mph."""
    found = re.fullmatch(r"(\d{1,3})(?:\s*(mph|km/h|kmh))?", text.strip())
    if found is None or int(found[1]) == 0:
        return None
    return int(found[1]) * (_KMH_PER_MPH if found[2] == "mph" else 1.0)


def single_track(tags: Tags) -> bool:
    """Return whether a way is too narrow for two vehicles to pass, as far as its tags tell."""
    if tags.get("oneway", "no") not in {"no", ""}:
        return False
    width = re.fullmatch(r"(\d{1,2}(?:\.\d+)?)(?:\s*m)?", tags.get("width", ""))
    return (
        tags.get("lanes") == "1"
        or tags.get("narrow") == "yes"
        or tags.get("passing_places", "no") != "no"
        or (width is not None and float(width[1]) < _NARROW_METRES)
    )


def _kmh(tags: Tags, kind: str, drives: Drives, rules: RoadRules, *, wet: bool) -> float:
    if kind == "track" or wet:
        return rules.track_kmh.value
    towed = "trailer" if drives == "van with trailer" else "van"
    dual = kind in _DUAL and tags.get("oneway") == "yes"
    sort = "motorway" if kind == "motorway" else "dual" if dual else "single"
    bounds = [rules.speeds_kmh[kind].value, rules.limits_kmh[f"{towed} {sort}"].value]
    posted = posted_kmh(tags.get("maxspeed", ""))
    if posted is not None:
        bounds.append(posted)
    if single_track(tags):
        bounds.append(rules.lane_kmh.value)
    return min(bounds)


def _name(tags: Tags, kind: str, *, wet: bool) -> str:
    name = tags.get("name", "") or ("track" if kind == "track" else "")
    return f"{name or 'ford'} (ford)".replace("ford (ford)", "ford") if wet else name
