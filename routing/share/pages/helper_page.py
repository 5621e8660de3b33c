"""One crew's day as one HTML file for a phone in a field with no signal: everything in it, nothing asked of any host.

It imports the map and with it folium at the top, so it is itself imported only where a page is wanted.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from routing.round import Round
from routing.share.map.background import OPENSTREETMAP, Tiles
from routing.share.map.last_way import last_ways
from routing.share.map.map import HOUSE, crew_map
from routing.share.map.map_days import person_of
from routing.share.map.map_shapes import dash_of
from routing.share.pages.day_figure import day_figure
from routing.share.pages.inline import content_policy, environment, script_value, template_text
from routing.share.safety.private import Private, SitePrivate
from routing.share.safety.trusted import trusted
from routing.share.wording.emergency import ACCESS
from routing.share.wording.helper_sheet import helper_sheet, page_names
from routing.share.wording.sheet import Sheet, round_sheet
from routing.travel.background import Background

NOTHING_PRIVATE: Private = MappingProxyType[str, SitePrivate]({})

STYLES = ("helper.css", "field.css", "day_line.css", "last_way.css", "helper_print.css")

FIELD_SCRIPTS = (
    "field_load.js",
    "field_days.js",
    "field_reach.js",
    "field_frame.js",
    "field_search.js",
    "field_beam.js",
    "field_answer.js",
    "field_start.js",
    "field_state.js",
    "field_words.js",
    "field_told.js",
    "field_chance.js",
    "field_order.js",
    "field_worker.js",
    "field_screen.js",
    "field_kept.js",
)

LIST_SCRIPTS = (
    "second_store.js",
    "helper_keep.js",
    "helper_list.js",
    "helper_report.js",
    "helper_place.js",
    *FIELD_SCRIPTS,
    "helper_fold.js",
    "helper_start.js",
)
"""In this order; they work without the map, so that a fault there leaves the list alive."""


def helper_pages(
    round_: Round,
    private: Private = NOTHING_PRIVATE,
    *,
    roads: Background | None = None,
) -> Mapping[str, str]:
    """Return each crew's page by its file name, in the order of the round's itineraries."""
    names, sheet = page_names(round_), round_sheet(round_)
    return {name: _page(round_, sheet, index, private, roads=roads) for index, name in enumerate(names)}


def helper_page(
    round_: Round,
    index: int,
    private: Private = NOTHING_PRIVATE,
    tiles: Tiles = OPENSTREETMAP,
    roads: Background | None = None,
) -> str:
    """Return the page of the itinerary at `index`; the same input gives the same bytes.

    Gate codes, phone numbers and private notes are in it only for sites that `private` names. Raises IndexError where
    there is no such itinerary.
    """
    return _page(round_, round_sheet(round_), index, private, tiles, roads)


def _page(
    round_: Round,
    sheet: Sheet,
    index: int,
    private: Private,
    tiles: Tiles = OPENSTREETMAP,
    roads: Background | None = None,
) -> str:
    page = helper_sheet(round_, sheet, index, private)
    drawing = crew_map(round_, sheet, index, roads)
    style = drawing.style + "".join(template_text(name) for name in STYLES)
    style += f":root {{ --shape: {drawing.shape}; }}\n"
    list_script = "".join(template_text(name) for name in LIST_SCRIPTS)
    calls = f"linkMap({drawing.box}, helper);\nstartBackground({drawing.box}, helper.given.tiles);\n"
    map_script = drawing.script + template_text("helper_map.js") + calls
    return (
        environment()
        .get_template("helper.html")
        .render(
            page=page,
            crew=page.crew,
            line=day_figure(round_, index, page.crew),
            last=last_ways(round_, round_.itineraries[index], [stop.mark for stop in page.crew.stops], roads),
            sheet=sheet,
            drawing=drawing,
            dash=dash_of(person_of(round_, index))[1],
            access=ACCESS,
            house=HOUSE,
            credit=tiles.credit,
            given=trusted(script_value({**page.given, "tiles": tiles.given()})),  # see `script_value`
            policy=content_policy([style], [list_script, drawing.library.script, map_script], tiles.host, workers=True),
            style=trusted(style),  # our own files and Leaflet's
            list_script=trusted(list_script),  # our own files
            library=trusted(drawing.library.script),  # Leaflet's own file
            map_script=trusted(map_script),  # numbers, our own files, and `script_value`
        )
    )
