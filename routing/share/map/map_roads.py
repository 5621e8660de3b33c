"""The roads of a map: the legs along their ways, and the lanes and village names around, from the same extract."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from markupsafe import Markup

from routing.round import Drive, Itinerary, Round
from routing.share.map.map_land import land_values
from routing.share.map.map_shapes import Arrow, Point, arrows, near
from routing.share.pages.inline import script_value, template_text
from routing.share.safety.geo import driven_to
from routing.share.safety.safe import plain_name
from routing.travel.background import Background
from routing.travel.polyline import decode
from routing.travel.thin import thinned

_DECIMALS = 5  # about a metre
_THINNED_METRES = 3.0
_ARROW_SHARE = 0.58  # as on straight legs: a little past the middle
_ENOUGH = 2


def leg_lines(base: Point, itinerary: Itinerary, start: Point | None = None) -> list[list[Point]]:
    """Return the line of each leg: along its way where that is known, else straight; each begins at its place.

    The first begins at `start` where the rest of a day is drawn, else at the base.
    """
    stops = [near(base, *driven_to(stop)) for stop in itinerary.stops]
    drives = [*(stop.drive for stop in itinerary.stops), itinerary.drive_home]
    ends = pairwise([start or base, *stops, base])
    return [[start, *_way(base, drive), end] for drive, (start, end) in zip(drives, ends, strict=True)]


def leg_arrows(lines: Sequence[Sequence[Point]]) -> list[Arrow]:
    """Return an arrow head on each leg, a little past the middle of its line."""
    return [arrow for line in lines for arrow in arrows(_middle(line))]


def lines_note(round_: Round) -> str:
    """Return what the lines between stops are, in a sentence."""
    drives = [drive for it in round_.itineraries for drive in (*(stop.drive for stop in it.stops), it.drive_home)]
    followed = sum(1 for drive in drives if drive.shape)
    stops = [stop for itinerary in round_.itineraries for stop in itinerary.at_sites]
    squares = (
        " A square with a stop's number is where the vehicle stops, the round sign is at the hives, and dots show which"
        " way they lie; on foot it may bend."
    )
    told = squares if any(stop.stopping_place is not None for stop in stops) else ""
    if not followed:
        return f"Straight lines between stops, not roads.{told}"
    rest = "" if followed == len(drives) else " Where no way is known they are straight."
    return f"Lines between stops follow the road map.{told}{rest}"


def roads_script(roads: Background | None, box: str) -> str:
    """Return the script that draws land, roads and names under everything else; nothing where there are none."""
    if roads is None:
        return ""
    names = [
        [round(place.latitude, _DECIMALS), round(place.longitude, _DECIMALS), place.size, _label(place.name)]
        for place in roads.names
    ]
    values = ", ".join(script_value(value) for value in (land_values(roads.land), roads.lines, names))
    return f"{template_text('map_land.js')}\ndrawLand({box}, {values});\n"


def roads_style(roads: Background | None) -> str:
    """Return the style of the roads; nothing where there are none."""
    return "" if roads is None else template_text("map_land.css")


def roads_credit(roads: Background | None) -> str:
    """Return whom the roads are from, to stand on the map; empty where there are none."""
    return "" if roads is None else plain_name(roads.credit)


def _label(name: str) -> str:
    return str(Markup("<bdi>{}</bdi>").format(plain_name(name)))


def _way(base: Point, drive: Drive) -> list[Point]:
    """Return the line driven; nothing where it is not known, or is no line: a saved round may hold any text."""
    try:
        points = decode(drive.shape)
    except ValueError:
        return []
    if not points:
        return []
    line = thinned(np.array(points), _THINNED_METRES).round(_DECIMALS)
    return [near(base, latitude, longitude) for latitude, longitude in line.tolist()]


def _middle(line: Sequence[Point]) -> list[Point]:
    """Return the two ends of a piece of the line that has its arrow at the right place."""
    if len(line) == _ENOUGH:
        return list(line)
    lengths = [np.hypot(b.latitude - a.latitude, b.longitude - a.longitude) for a, b in pairwise(line)]
    target, so_far = _ARROW_SHARE * sum(lengths), 0.0
    for (start, end), length in zip(pairwise(line), lengths, strict=True):
        if so_far + length >= target and length > 0:
            return [start, end]
        so_far += length
    return []
