"""The sites, as a table to work in, with the map beside it, where places are pointed at, looked up and moved."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from starlette.responses import JSONResponse, Response

from routing import stages
from routing.desk.given import Given
from routing.desk.serving import changed, page, shown
from routing.desk.state import Desk
from routing.desk.tables import told
from routing.errors import AskedError, OutyardError, PlaceError
from routing.farm.models import Farm, Place
from routing.farm.place_to_grid import grid_reference
from routing.farm.places import parse_place
from routing.share import map as maps
from routing.share.safety.safe import plain_name, plain_text
from routing.travel.named import Named

LONGEST_NAME = 200


def sites(desk: Desk, _given: Given) -> Response:
    """Show the table of sites and the map."""
    try:
        farm = _ground(desk)
        asking, roads = stages.find.before_asking(farm), farm.road_map is not None
    except OutyardError:  # told where the farm is read; the table is still of use
        asking, roads = "", False
    values = {"name": "sites", "has_private": True, "asking": plain_text(asking), "roads": roads}
    return page(desk, "sites.html", values, title="Sites", here="/sites")


@cache
def _script() -> str:
    return maps.around.around_script()


@cache
def _style() -> str:
    return maps.around.around_style()


def script(desk: Desk, _given: Given) -> Response:
    """Give the map's library and what draws the land."""
    del desk
    return Response(_script(), media_type="text/javascript", headers={"cache-control": "no-cache"})


def style(desk: Desk, _given: Given) -> Response:
    """Give the map's styles."""
    del desk
    return Response(_style(), media_type="text/css", headers={"cache-control": "no-cache"})


def land(desk: Desk, _given: Given) -> Response:
    """Give the land around the farm out of its own road map, nothing where it has none."""
    try:
        return JSONResponse(maps.around.around_values(stages.find.land(_ground(desk))))
    except OutyardError as error:
        return JSONResponse({"trouble": plain_text(str(error))})


def look(desk: Desk, given: Given) -> Mapping[str, object]:
    """Say where a text means: a place as a cell `place` may have it, else what bears the name."""
    text = given.text("text", LONGEST_NAME)
    if not text:
        raise AskedError("write a name, a grid reference or coordinates")
    try:
        return {"found": [_told(Named(text, "", parse_place(text)))]}
    except PlaceError as error:
        if not any(letter.isalpha() for letter in text):
            raise AskedError(str(error)) from None
    found = stages.find.found(_ground(desk), text)
    return {"found": [_told(one) for one in found]}


def ask(desk: Desk, given: Given) -> Mapping[str, object]:
    """Ask the service that farm.toml names; the words go to it."""
    text = given.text("text", LONGEST_NAME)
    if not text:
        raise AskedError("write the name to ask for")
    return {"found": [_told(one) for one in stages.find.asked(_ground(desk), text)]}


def _told(one: Named) -> dict[str, object]:
    place = one.place
    return {"name": plain_name(one.name), "kind": one.kind, "latitude": place.latitude, "longitude": place.longitude}


def spot(desk: Desk, given: Given) -> Mapping[str, object]:
    """Say of a place what it is called on the grid, which road is nearest and how far the walk is."""
    place = _place(given)
    lines = [_words(place)]
    try:
        lines += stages.find.road_near(_ground(desk), place)
    except OutyardError as error:
        lines.append(plain_text(str(error)))
    return {"about": lines}


def base(desk: Desk, given: Given) -> Mapping[str, object]:
    """Move the base to a place."""
    place = _place(given)
    outcome = desk.edits.move_base(place)
    lines = [] if outcome.kept else [outcome.said, *(plain_text(str(fault)) for fault in outcome.faults)]
    return {"outcome": told(outcome), "lines": [line for line in lines if line] or ["The base is moved."]}


def _ground(desk: Desk) -> Farm:
    """Return the farm as far as a map needs it: its tables may be unfinished, or have faults."""
    return stages.read.ground(desk.folder)


def _place(given: Given) -> Place:
    north, east = given.number("latitude", -90, 90), given.number("longitude", -180, 180)
    if north is None or east is None:
        raise AskedError("point to a place first")
    return Place(latitude=north, longitude=east)


def _words(place: Place) -> str:
    grid = grid_reference(place)
    return f"{place.latitude:.5f}, {place.longitude:.5f}" + (f" ({grid})" if grid else "")


ROUTES = [
    shown("/sites", sites),
    shown("/sites/map.js", script, without_farm=True),
    shown("/sites/map.css", style, without_farm=True),
    shown("/sites/land", land),
    changed("/sites/look", look, alone=False),
    changed("/sites/ask", ask, alone=False),
    changed("/sites/spot", spot, alone=False),
    changed("/sites/base", base),
]
