"""What the land of a map is, from the tags of an area, a line or a point.

Source of the tags and their meaning: wiki.openstreetmap.org (Map features; Key:landuse, Key:natural, Key:waterway,
Key:railway, Key:man_made, Key:barrier, Key:contour, Key:historic, Tag:amenity=place_of_worship).
"""

from __future__ import annotations

from collections.abc import Mapping

from routing.travel.land import AreaKind, LineKind, MarkKind

Tags = Mapping[str, str]

LAND_KEYS = ("natural", "landuse", "water", "waterway", "leisure", "railway", "barrier", "highway", "contour")
MARK_KEYS = ("amenity", "man_made", "historic", "natural", "railway", "tourism", "barrier")

_LANDUSE: dict[str, AreaKind] = {
    **dict.fromkeys(("forest",), "wood"),
    **dict.fromkeys(("residential", "commercial", "industrial", "retail", "construction"), "built"),
    **dict.fromkeys(("farmyard", "quarry", "greenhouse_horticulture"), "yard"),
    **dict.fromkeys(("reservoir", "basin"), "water"),
    **dict.fromkeys(("farmland", "meadow", "grass", "orchard", "vineyard", "allotments", "cemetery"), "field"),
}
_NATURAL: dict[str, AreaKind] = {
    "wood": "wood",
    "water": "water",
    "wetland": "marsh",
    **dict.fromkeys(("heath", "scrub", "moor", "bare_rock", "scree", "fell"), "rough"),
    "grassland": "field",
}
_RAILS = frozenset({"rail", "light_rail", "narrow_gauge", "preserved"})
_SIDINGS = frozenset({"yard", "siding", "spur", "crossover"})
_WATERWAYS: dict[str, LineKind] = {
    **dict.fromkeys(("river", "canal"), "river"),
    **dict.fromkeys(("stream", "ditch", "drain", "brook"), "stream"),
}
_PATHS = frozenset({"path", "footway", "bridleway"})
_TOWERS = frozenset({"tower", "mast", "chimney", "windmill", "water_tower", "lighthouse", "communications_tower"})
_GATES = frozenset({"gate", "lift_gate", "swing_gate", "hampshire_gate", "sliding_gate"})
_CASTLES = frozenset({"castle", "ruins", "monument", "fort", "tower"})
_MARKS: tuple[tuple[MarkKind, str, frozenset[str]], ...] = (
    ("church", "amenity", frozenset({"place_of_worship"})),
    ("peak", "natural", frozenset({"peak"})),
    ("tower", "man_made", _TOWERS),
    ("castle", "historic", _CASTLES),
    ("station", "railway", frozenset({"station", "halt"})),
    ("gate", "barrier", _GATES),
    ("inn", "amenity", frozenset({"pub"})),
)
"""What, its key and that key's values, the first that fits."""


def area_kind(tags: Tags) -> AreaKind | None:
    """Return what an area of the map is drawn as, None where it is not drawn."""
    if tags.get("waterway") == "riverbank" or "water" in tags:
        return "water"
    found = _NATURAL.get(tags.get("natural", "")) or _LANDUSE.get(tags.get("landuse", ""))
    return found or ("field" if tags.get("leisure") in {"park", "golf_course"} else None)


def line_kind(tags: Tags) -> LineKind | None:
    """Return what a line of the map is drawn as, None where it is not drawn: what runs underground is not seen."""
    if tags.get("tunnel", "no") != "no":
        return None
    if tags.get("railway") in _RAILS and tags.get("service") not in _SIDINGS:
        return "rail"
    if water := _WATERWAYS.get(tags.get("waterway", "")):
        return water
    if tags.get("highway") in _PATHS and tags.get("footway") not in {"sidewalk", "crossing"}:
        return "path"
    if tags.get("barrier") == "hedge":
        return "hedge"
    return "contour" if tags.get("contour") == "elevation" else None


def mark_kind(tags: Tags) -> MarkKind | None:
    """Return which landmark a point or building is, None where it is none."""
    return next((kind for kind, key, values in _MARKS if tags.get(key) in values), None)
