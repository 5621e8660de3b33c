"""The round as one HTML map, complete in itself: it makes no request to any host, and a list beside it says the same.

The only module that uses folium (and imports it at the top, so it is itself imported where a map is wanted). folium
builds the drawing and its script; page, style and Leaflet are put around it here, and nothing else of folium's page.

No text of a user goes through folium: it renders its own script a second time as a Jinja2 template, so that braces in
a name would be run as code. Texts stand in one list in front of the script, and the drawing only names their places.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, cast

import folium
from branca.element import Element, Figure
from folium.elements import MethodCall
from folium.features import DivIcon
from folium.utilities import JsCode
from markupsafe import Markup

from routing.round import Itinerary, LeftOut, ReasonCode, Round, Stop
from routing.share.map.leaflet import Leaflet, leaflet
from routing.share.map.map_days import day_class, days_script, name_tag, person_of
from routing.share.map.map_roads import leg_arrows, leg_lines, lines_note, roads_credit, roads_script, roads_style
from routing.share.map.map_shapes import (
    Arrow,
    Bounds,
    Point,
    bounds_of,
    dash_of,
    frame_shape,
    grid_lines,
    grid_step,
    near,
)
from routing.share.map.national_grid import WORDS as GRID_WORDS
from routing.share.map.national_grid import grid_script, national_grid
from routing.share.pages.inline import content_policy, environment, script_value, template_text
from routing.share.safety.geo import driven_to
from routing.share.safety.trusted import trusted
from routing.share.wording.sheet import Sheet, round_sheet
from routing.share.wording.sheet_crew import CrewSheet, StopSheet
from routing.share.wording.sheet_left_out import LeftOutSheet
from routing.share.wording.stands import spots_of
from routing.travel.background import Background

COLOURS = 5
"""How many line colours `map.css` has; each goes with one dash pattern, so colour is never the only sign."""

_FURTHEST_IN = 14
_UNDER_PINS = -10_000
HOUSE = trusted(
    '<svg class="house" viewBox="0 0 32 30" width="32" height="30" aria-hidden="true">'
    '<path d="M16 2 30 14H26V28H6V14H2Z"/></svg>'
)


@dataclass(frozen=True)
class MapParts:
    """A drawing to stand in a page: the style, the id of the box that it fills, and the script that fills it."""

    style: str
    box: str
    script: str
    """To run after Leaflet's own; it leaves the Leaflet map in a variable of the name `box`."""
    grid: str
    """What the grid lines are, in a sentence or two."""
    lines: str
    """What the lines between stops are, in a sentence."""
    credit: str
    """Whom the roads are from; empty where none are drawn."""
    shape: float
    """How wide a frame is, as a share of its height, that the drawing fills."""
    library: Leaflet


def round_map(round_: Round, roads: Background | None = None) -> str:
    """Return the page with the map, over the roads around where they are given.

    The same round gives the same bytes. No part of it asks any host for anything.
    """
    sheet = round_sheet(round_)
    lefts = zip(round_.left_out, sheet.left_out, strict=True)
    drawn = [(left, words) for left, words in lefts if _is_drawn(round_, left)]
    every = range(len(round_.itineraries))
    parts = _parts(round_, sheet, every, drawn, roads)
    held = f"{template_text('map_linked.js')}if (isHeld()) document.documentElement.classList.add('held');\n"
    parts = replace(parts, script=f"{held}{parts.script}linkHolder({parts.box});\n")
    return _page(sheet, parts, [person_of(round_, index) for index in every])


def crew_map(round_: Round, sheet: Sheet, index: int, roads: Background | None = None) -> MapParts:
    """Return the drawing of the itinerary at `index` alone, with its marks and line as on the whole round's map."""
    return _parts(round_, sheet, [index], (), roads)


def _parts(
    round_: Round,
    sheet: Sheet,
    crews: Sequence[int],
    left_out: Sequence[tuple[LeftOut, LeftOutSheet]],
    roads: Background | None,
) -> MapParts:
    base = Point(round_.base_latitude, round_.base_longitude)
    itineraries = [round_.itineraries[index] for index in crews]
    places = [(stop.latitude, stop.longitude) for itinerary in itineraries for stop in itinerary.stops]
    places += [driven_to(stop) for itinerary in itineraries for stop in itinerary.stops]
    places += [(base.latitude, base.longitude), *((left.latitude, left.longitude) for left, _ in left_out)]
    bounds = bounds_of([near(base, *at) for at in places])
    step = grid_step(bounds, round_.units)
    start = round_.start or base
    drawing = _Drawing(near(base, base.latitude, base.longitude), near(base, start.latitude, start.longitude), round_)
    numbered = national_grid(base, bounds)
    if numbered is None:
        drawing.grid(grid_lines(drawing.centre, bounds, step.metres))
    for index, itinerary in zip(crews, itineraries, strict=True):
        drawing.line(itinerary, index)
    for left, words in left_out:
        drawing.left_out(left, words)
    for index, itinerary in zip(crews, itineraries, strict=True):
        for stop, shown in zip(itinerary.stops, sheet.crews[index].stops, strict=True):
            if not shown.at_base:
                drawing.van(stop, shown, index)
                drawing.stop(stop, shown, sheet.crews[index], index)
    drawing.base(sheet, [sheet.crews[index] for index in crews])
    apart = f"Grid lines are {step.words} apart." if numbered is None else GRID_WORDS
    parts = drawing.parts(bounds, apart, "km" if round_.units == "km" else "miles")
    return replace(
        parts,
        style=parts.style + roads_style(roads),
        script=parts.script
        + grid_script(numbered, parts.box)
        + roads_script(roads, parts.box)
        + days_script(round_, parts.box),
        lines=lines_note(round_),
        credit=roads_credit(roads),
    )


def _is_drawn(round_: Round, left: LeftOut) -> bool:
    """Return whether a left-out entry has a sign of its own: not where its site is a stop, nor before it is due."""
    stops = {stop.site for itinerary in round_.itineraries for stop in itinerary.stops}
    return left.site not in stops and left.reason is not ReasonCode.NOT_DUE


class _Drawing:
    """A folium map that is filled step by step; every element gets its number as its id, so that the bytes repeat."""

    def __init__(self, centre: Point, start: Point, round_: Round) -> None:
        self.centre, self.start, self.round = centre, start, round_
        self._elements = 0
        self._texts: list[str] = []
        self.map = folium.Map(
            location=(centre.latitude, centre.longitude),
            tiles=None,
            max_zoom=18,
            zoom_snap=0.25,
            attribution_control=False,
        )
        self._number(self.map)
        self.map.default_js = []  # scripts and styles from other hosts: Leaflet stands in the page instead
        self.map.default_css = []

    def grid(self, lines: Sequence[Sequence[tuple[float, float]]]) -> None:
        """Draw the distance grid under everything else."""
        self._path(lines, class_name="grid", weight=1)

    def line(self, itinerary: Itinerary, index: int) -> None:
        """Draw the order of the stops, from base and back, with an arrow head on each leg."""
        legs = leg_lines(self.centre, itinerary, self.start)
        whole = [[(point.latitude, point.longitude) for leg in legs for point in leg]]
        day, person = day_class(self.round, index), person_of(self.round, index)
        self._path(whole, class_name=f"under {day}", weight=8, smooth_factor=0)
        self._path(
            whole,
            class_name=f"way way-{person % COLOURS} {day}",
            dash_array=dash_of(person)[0] or None,
            weight=4,
            smooth_factor=0,
            legs=[len(leg) for leg in legs],
        )
        for arrow in leg_arrows(legs):
            self._arrow(arrow, index)

    def stop(self, stop: Stop, shown: StopSheet, crew: CrewSheet, index: int) -> None:
        """Draw a numbered stop with its light left below it."""
        html = trusted('<span class="pin pin-{}">{}</span>').format(self._colour(index), shown.mark)
        html += name_tag(shown.name, shown.light_left)
        popup = trusted(
            "<strong>{} <bdi>{}</bdi></strong><br>Arrive {}, start {}, finish {}<br>{} of light left"
        ).format(shown.mark, shown.name, shown.arrive, shown.start, shown.finish, shown.light_left)
        told = [spot.words for spot in spots_of(stop) if spot.label]
        lines = [f"Crew: {crew.name}", *told, *shown.jobs]
        title = f"Stop {shown.mark}: {shown.name}, {shown.light_left} of light left"
        at = near(self.centre, stop.latitude, stop.longitude)
        marker = self._marker(at, html, _more(popup, lines), title, day=day_class(self.round, index))
        _options(marker)["stop"] = self._text(shown.mark)

    def van(self, stop: Stop, shown: StopSheet, index: int) -> None:
        """Draw where the vehicle stops for a stop, and which way the hives lie, where both are told apart."""
        if stop.stopping_place is None:
            return
        words = spots_of(stop)[0].words
        html = trusted('<span class="van pin-{}">{}</span>').format(self._colour(index), shown.mark)
        popup = trusted("<strong>{} <bdi>{}</bdi></strong>").format(shown.mark, shown.name)
        at = near(self.centre, stop.stopping_place.latitude, stop.stopping_place.longitude)
        hives = near(self.centre, stop.latitude, stop.longitude)
        walk = [[(at.latitude, at.longitude), (hives.latitude, hives.longitude)]]
        self._path(walk, class_name=f"walk {day_class(self.round, index)}", dash_array="1 6", weight=3)
        title, day = f"{shown.mark} {shown.name}. {words}", day_class(self.round, index)
        marker = self._marker(at, html, _more(popup, [words]), title, size=(24, 24), day=day)
        _options(marker)["zIndexOffset"] = _UNDER_PINS // 2

    def left_out(self, left: LeftOut, shown: LeftOutSheet) -> None:
        """Draw a left-out site: a small cross, quieter than what is to be driven to; a tap tells name and reason."""
        html = trusted('<span class="pin pin-out">&times;</span><span class="tag quiet">{}</span>').format(shown.name)
        popup = trusted("<strong><bdi>{}</bdi></strong><br>Left out: {}").format(shown.name, shown.reason)
        title = f"Left out: {shown.name}, {shown.reason}"
        at = near(self.centre, left.latitude, left.longitude)
        marker = self._marker(at, html, _more(popup, [shown.text]), title)
        _options(marker)["zIndexOffset"] = _UNDER_PINS // 4

    def base(self, sheet: Sheet, crews: Sequence[CrewSheet]) -> None:
        """Draw the base, a house, on top; it tells of each time that a crew is back there to load again."""
        again = [(crew, stop) for crew in crews for stop in crew.stops if stop.at_base]
        marks = [stop.mark for _, stop in again]
        html = HOUSE + trusted('<span class="tag">Base{}</span>').format(f", also {', '.join(marks)}" if marks else "")
        popup = trusted("<strong>Base</strong><br><bdi>{}</bdi>").format(sheet.base)
        lines = [f"Stop {stop.mark}: {crew.name} is back, {stop.arrive} to {stop.finish}" for crew, stop in again]
        self._marker(self.centre, html, _more(popup, lines), f"Base: {sheet.base}")

    def _arrow(self, arrow: Arrow, index: int) -> None:
        html = trusted(
            '<svg class="arrow way-{}" viewBox="-8 -8 16 16" width="16" height="16" aria-hidden="true">'
            '<path transform="rotate({})" d="M0-7 6 6 0 3-6 6Z"/></svg>'
        ).format(self._colour(index), arrow.turn)
        icon = self._icon(html, size=(16, 16), anchor=(8, 8), day=day_class(self.round, index))
        marker = folium.Marker((arrow.at.latitude, arrow.at.longitude), interactive=False, keyboard=False)
        _options(marker).update(icon=icon, zIndexOffset=_UNDER_PINS)
        self._add(marker)

    def _marker(
        self, at: Point, html: Markup, popup: Markup, title: str, size: tuple[int, int] = (44, 44), day: str = ""
    ) -> folium.Marker:
        # The icon goes in before the marker: folium would first draw Leaflet's own pin, and that asks for a picture.
        icon = self._icon(html, size=size, anchor=(size[0] // 2, size[1] // 2), day=day)
        marker = folium.Marker((at.latitude, at.longitude), rise_on_hover=True)
        _options(marker).update(icon=icon, title=self._text(title))
        self._add(marker)
        self._add(MethodCall(marker, "bindPopup", self._text(popup), max_width=260))
        return marker

    def _path(
        self,
        lines: Sequence[Sequence[tuple[float, float]]],
        legs: Sequence[int] = (),
        **options: str | float | None,
    ) -> None:
        """Draw lines; `legs` says how many points of the first belong to each drive, for the page's own script."""
        path = folium.PolyLine(lines, interactive=False, **options)  # type: ignore[no-untyped-call]
        if legs:
            _options(path)["legs"] = legs
        self._add(path)

    def _colour(self, index: int) -> int:
        return person_of(self.round, index) % COLOURS

    def _icon(self, html: Markup, size: tuple[int, int], anchor: tuple[int, int], day: str = "") -> DivIcon:
        icon = DivIcon(icon_size=size, icon_anchor=anchor, class_name=f"bare {day}".rstrip())
        _options(icon)["html"] = self._text(html)
        return self._add(icon)

    def _text(self, text: str) -> JsCode:
        """Keep `text` for the list in front of the script, and return its place there."""
        self._texts.append(text)
        return JsCode(f"texts[{len(self._texts) - 1}]")

    def _add[Part: Element](self, part: Part) -> Part:
        self._number(part)
        self.map.add_child(part)
        return part

    def _number(self, part: Element) -> None:
        self._elements += 1
        part._id = str(self._elements)  # noqa: SLF001 -- folium's own ids are random

    def parts(self, bounds: Bounds, grid: str, units: Literal["km", "miles"]) -> MapParts:
        """Return the list of texts and the script that draws everything with them and shows all of `bounds`."""
        figure = cast("Figure", self.map.get_root())
        figure.render()
        name = str(self.map.get_name())
        corners = [
            [round(corner.latitude, 6), round(corner.longitude, 6)] for corner in (bounds.south_west, bounds.north_east)
        ]
        script = f"const texts = {script_value(self._texts)};\n{figure.script.render()}{template_text('map.js')}"
        script += template_text("map_names.js") + template_text("map_grid.js")
        return MapParts(
            style=leaflet().style + template_text("tokens.css") + template_text("sheet.css") + template_text("map.css"),
            box=name,
            script=f'{script}showWholeRound({name}, {corners}, {_FURTHEST_IN}, "{units}");\n',
            grid=grid,
            lines="",
            credit="",
            shape=frame_shape(bounds),
            library=leaflet(),
        )


def _options(element: folium.Marker | folium.PolyLine | DivIcon) -> dict[str, Any]:
    """Return the options of an element; folium writes an element or code among them as its name or as it stands."""
    return cast("dict[str, Any]", element.options)


def _more(popup: Markup, lines: Sequence[str]) -> Markup:
    """Return the popup with each line added, escaped."""
    return popup + trusted("").join(trusted("<br><bdi>{}</bdi>").format(line) for line in lines)


def _page(sheet: Sheet, drawing: MapParts, persons: Sequence[int]) -> str:
    library = drawing.library
    style = drawing.style + template_text("map_page.css")
    return (
        environment()
        .get_template("map.html")
        .render(
            sheet=sheet,
            keys=[dash_of(number) for number in persons],
            persons=persons,
            colours=COLOURS,
            house=HOUSE,
            box=drawing.box,
            grid=drawing.grid,
            lines=drawing.lines,
            credit=drawing.credit,
            licence=library.licence,
            version=library.version,
            policy=content_policy([style], [library.script, drawing.script]),
            style=trusted(style),  # our own files and Leaflet's
            library=trusted(library.script),  # Leaflet's own file
            script=trusted(drawing.script),  # numbers, our own files, and `script_value`
        )
    )
