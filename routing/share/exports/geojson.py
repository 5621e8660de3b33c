"""The round as GeoJSON for maps and map programs: base, stops, the way of each crew, what is left out."""

from __future__ import annotations

import json
from itertools import pairwise
from typing import Any

from routing.round import Itinerary, Round
from routing.share.map.way import Point, way_points
from routing.share.safety.positions import degrees
from routing.share.safety.safe import plain_name
from routing.share.wording.sheet import Sheet, round_sheet
from routing.share.wording.stands import spots_of
from routing.share.wording.visits import NO_LINES, PrivateLines, Visit, round_visits

HALF_TURN, FULL_TURN = 180, 360


def round_geojson(round_: Round, private: PrivateLines = NO_LINES) -> str:
    """Return a feature collection as JSON ending with a newline; `role` says what each feature is.

    Positions are longitude then latitude, and a line that crosses the antimeridian is cut there.
    Source: RFC 7946, sections 3.1.1, 3.1.9 and 3.3.
    """
    sheet = round_sheet(round_)
    features = [
        _feature("base", _point(round_.base_latitude, round_.base_longitude), name=sheet.base),
        *(feature for visit in round_visits(round_, private) for feature in (*_van(visit), _stop(visit))),
        *(_way(round_, itinerary) for itinerary in round_.itineraries),
        *_left_out(round_, sheet),
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}, ensure_ascii=False, indent=1) + "\n"


def _feature(role: str, geometry: dict[str, Any], **properties: object) -> dict[str, Any]:
    return {"type": "Feature", "geometry": geometry, "properties": {"role": role, **properties}}


def _position(latitude: float, longitude: float) -> list[float]:
    return [degrees(longitude), degrees(latitude)]


def _point(latitude: float, longitude: float) -> dict[str, Any]:
    return {"type": "Point", "coordinates": _position(latitude, longitude)}


def _van(visit: Visit) -> list[dict[str, Any]]:
    """Return where the vehicle stops, where that is told apart from the hives: those stand at the stop's own point."""
    told = visit.stop.stopping_place
    if told is None:
        return []
    point, text = _point(told.latitude, told.longitude), spots_of(visit.stop)[0].words
    return [_feature("van stops", point, mark=visit.sheet.mark, name=visit.sheet.name, crew=visit.crew.name, text=text)]


def _stop(visit: Visit) -> dict[str, Any]:
    stop = visit.stop
    return _feature(
        "stop" if stop.load_again is None else "load again",
        _point(stop.latitude, stop.longitude),
        mark=visit.sheet.mark,
        name=visit.sheet.name,
        crew=visit.crew.name,
        number=stop.number,
        arrive=stop.arrive.isoformat(),
        start=stop.start.isoformat(),
        finish=stop.finish.isoformat(),
        light_left_seconds=stop.light_left_seconds if stop.load_again is None else None,
        load_kg=stop.load_kg,
        jobs=list(visit.sheet.jobs),
        notes=list(visit.lines),
        **({"text": spots_of(stop)[-1].words} if stop.stopping_place else {}),
    )


def _way(round_: Round, itinerary: Itinerary) -> dict[str, Any]:
    lines = _cut(way_points(round_, itinerary))
    geometry = (
        {"type": "LineString", "coordinates": lines[0]}
        if len(lines) == 1
        else {"type": "MultiLineString", "coordinates": lines}
    )
    return _feature(
        "way",
        geometry,
        crew=plain_name(itinerary.crew_name),
        date=itinerary.date.isoformat(),
        leave=itinerary.leave.isoformat(),
        home=itinerary.home.isoformat(),
        drive_seconds=itinerary.drive_seconds,
        distance_metres=itinerary.distance_metres,
    )


def _left_out(round_: Round, sheet: Sheet) -> list[dict[str, Any]]:
    return [
        _feature(
            "left out",
            _point(left.latitude, left.longitude),
            name=words.name,
            jobs=list(words.jobs),
            reason=words.reason,
            text=words.text,
        )
        for left, words in zip(round_.left_out, sheet.left_out, strict=True)
    ]


def _cut(points: tuple[Point, ...]) -> list[list[list[float]]]:
    """Return the lines of a way, one where it stays on its side of the antimeridian; a lone point is its own end."""
    if len(points) == 1:
        points = points * 2
    lines = [[_position(*points[0])]]
    for (latitude, longitude), (next_latitude, next_longitude) in pairwise(points):
        if abs(next_longitude - longitude) > HALF_TURN:
            side = HALF_TURN if longitude > 0 else -HALF_TURN
            beyond = next_longitude + (FULL_TURN if side > 0 else -FULL_TURN)
            share = (side - longitude) / (beyond - longitude)
            crossing = latitude + share * (next_latitude - latitude)
            lines[-1].append(_position(crossing, side))
            lines.append([_position(crossing, -side)])
        lines[-1].append(_position(next_latitude, next_longitude))
    return lines
