"""The land of a farm for a page that draws its own pins: the scripts and styles, and the values that they draw."""

from __future__ import annotations

from typing import Any

from routing.share.map.leaflet import leaflet
from routing.share.map.map_land import land_values
from routing.share.map.map_roads import roads_credit
from routing.share.pages.inline import template_text
from routing.share.safety.safe import plain_name
from routing.travel.background import Background

_DECIMALS = 5


def around_script() -> str:
    """Return Leaflet, with its licence, and what draws the land: `drawLand(map, land, lines, names)`."""
    library = leaflet()
    own = "".join(template_text(name) for name in ("map_grid.js", "map_names.js", "map_land.js"))
    return f"/*\n{library.licence.replace('*/', '* /')}\n*/\n{library.script}\n{own}"


def around_style() -> str:
    """Return the styles of Leaflet, of pins and of the land."""
    return leaflet().style + template_text("map.css") + template_text("map_land.css")


def around_values(roads: Background | None) -> dict[str, Any]:
    """Return what `drawLand` is given, and whom it is from; nothing where there is no road map.

    Names of places are plain text here: the page makes elements of them.
    """
    if roads is None:
        return {}
    names = [
        [round(place.latitude, _DECIMALS), round(place.longitude, _DECIMALS), place.size, plain_name(place.name)]
        for place in roads.names
    ]
    return {"land": land_values(roads.land), "lines": roads.lines, "names": names, "credit": roads_credit(roads)}
