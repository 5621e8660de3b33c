"""Where a vehicle may stop, what can be walked, and what a walker does not cross: from the tags of one way.

Source of the tags and their meaning: wiki.openstreetmap.org (Key:motorroad, Key:bridge, Key:tunnel, Key:junction,
Key:foot, Key:railway, Key:waterway, Tag:natural=water, Street parking).
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import IntEnum

Tags = Mapping[str, str]

ACCESS = ("motorcar", "motor_vehicle", "vehicle", "access")
"""From the narrowest to the widest: the narrowest that is given counts."""

NO_STOPPING_TAGS = tuple(f"parking:{side}:restriction" for side in ("both", "left", "right"))
STOPPING_WAY_TAGS = ("bridge", "tunnel", "motorroad", "expressway", "foot", *NO_STOPPING_TAGS)
BAR_TAGS = ("railway", "waterway", "natural", "water", "name", "ref", "bridge", "tunnel")

_ONE_WAY = frozenset({"yes", "true", "1", "-1", "reverse"})
_BY_LEAVE_OF_THE_OWNER = frozenset({"private", "customers", "delivery", "permit"})
_KEPT_CLEAR = frozenset({"emergency_access", "drive-through"})
_ROUND = frozenset({"roundabout", "circular"})
_WALKED = frozenset(
    {
        *("path", "footway", "bridleway", "cycleway", "pedestrian", "track", "service", "living_street"),
        *("residential", "unclassified", "road", "tertiary", "secondary", "primary", "trunk"),
    }
)
"""Steps are not among them: hives, feed and supers come on a barrow."""
_NOT_ON_FOOT = frozenset({"no", "private", "use_sidepath"})
_RAILS = frozenset({"rail", "light_rail", "narrow_gauge", "preserved", "subway"})
_RIVERS = {"river": "river", "canal": "canal", "riverbank": "river"}
_ROAD_WORDS = {
    "motorway": "motorway",
    "trunk": "trunk road",
    "primary": "main road",
    "living_street": "residential road",
    "residential": "residential road",
    "service": "service road",
    "track": "track",
}


class Why(IntEnum):
    """Why a vehicle does not stop on a way."""

    NOTHING = 0
    NO_STOPPING = 1
    SLIP_ROAD = 2
    BRIDGE = 3
    TUNNEL = 4
    ROUNDABOUT = 5
    KEPT_CLEAR = 6
    PRIVATE = 7
    """Only this can be got over: by the leave of whoever owns it."""

    @property
    def words(self) -> str:
        """The reason as it is told."""
        return _WHY_WORDS[self]


_WHY_WORDS = {
    Why.NOTHING: "",
    Why.NO_STOPPING: "no stopping",
    Why.SLIP_ROAD: "no stopping on a slip road",
    Why.BRIDGE: "no stopping on a bridge",
    Why.TUNNEL: "no stopping in a tunnel",
    Why.ROUNDABOUT: "no stopping on a roundabout",
    Why.KEPT_CLEAR: "to be kept clear",
    Why.PRIVATE: "private",
}


def why_not(tags: Tags) -> Why:
    """Return why no vehicle stops on a way, as far as its tags tell; whether it may drive there is another question.

    A trunk road is one to stop on only where it is a plain road: no motor road, no dual carriageway, open to walkers.
    """
    kind = tags.get("highway", "")
    found = (
        (Why.SLIP_ROAD, kind.endswith("_link")),
        (Why.NO_STOPPING, _fast(tags) or _no_stopping(tags)),
        (Why.TUNNEL, _is(tags, "tunnel")),
        (Why.BRIDGE, _is(tags, "bridge")),
        (Why.ROUNDABOUT, tags.get("junction") in _ROUND),
        (Why.KEPT_CLEAR, tags.get("service") in _KEPT_CLEAR),
        (Why.PRIVATE, next((tags[key] for key in ACCESS if key in tags), "") in _BY_LEAVE_OF_THE_OWNER),
    )
    return next((why for why, holds in found if holds), Why.NOTHING)


def walkable(tags: Tags) -> bool:
    """Return whether somebody with a barrow can walk along a way."""
    if tags.get("highway", "") not in _WALKED or _fast(tags) or tags.get("ford", "no") != "no":
        return False
    foot = tags.get("foot") or ("no" if tags.get("access") == "no" else "yes")
    return foot not in _NOT_ON_FOOT


def bar(tags: Tags) -> str:
    """Return what a walker does not cross but by a way over or under it, in a word; empty where it is no such thing.

    What runs in a tunnel or culvert bars nobody. Streams and ditches are no bar.
    """
    if _is(tags, "tunnel"):
        return ""
    if tags.get("highway", "").removesuffix("_link") == "motorway":
        return "motorway"
    if "highway" in tags:
        return road_words(tags["highway"]) if _fast(tags) else ""
    if tags.get("railway") in _RAILS:
        return "railway"
    if tags.get("natural") == "water" or "water" in tags:
        return "water"
    return _RIVERS.get(tags.get("waterway", ""), "")


def raised(tags: Tags) -> bool:
    """Return whether a way runs on a bridge."""
    return _is(tags, "bridge")


def over_or_under(tags: Tags) -> bool:
    """Return whether a way runs on a bridge or in a tunnel, so that what it meets on the map it does not meet."""
    return _is(tags, "bridge") or _is(tags, "tunnel")


def road_words(highway: str) -> str:
    """Return what a road of this `highway` value is called."""
    return "slip road" if highway.endswith("_link") else _ROAD_WORDS.get(highway, "road")


def label(tags: Tags) -> str:
    """Return the name that a road, a railway or a river goes by; the number first where it is a fast road."""
    by_number = tags.get("highway", "").removesuffix("_link") in {"motorway", "trunk"}
    return next((tags[key] for key in (("ref", "name") if by_number else ("name", "ref")) if tags.get(key)), "")


def _fast(tags: Tags) -> bool:
    kind = tags.get("highway", "").removesuffix("_link")
    shut_in = tags.get("oneway") in _ONE_WAY or tags.get("expressway") == "yes" or tags.get("foot") in _NOT_ON_FOOT
    return kind == "motorway" or tags.get("motorroad") == "yes" or (kind == "trunk" and shut_in)


def _no_stopping(tags: Tags) -> bool:
    both, left, right = (tags.get(key) == "no_stopping" for key in NO_STOPPING_TAGS)
    return both or (left and right)


def _is(tags: Tags, key: str) -> bool:
    return tags.get(key, "no") != "no"
