"""The round as GPX 1.1 for a satellite navigation device: places, the order to visit them, the line to drive.

gpxpy is imported at the top: only the share command comes here.
"""

from __future__ import annotations

from gpxpy.gpx import GPX, GPXRoute, GPXRoutePoint, GPXTrack, GPXTrackPoint, GPXTrackSegment, GPXWaypoint

from routing.round import Itinerary, Round
from routing.share.map.way import way_points
from routing.share.safety.geo import driven_to
from routing.share.safety.positions import degrees
from routing.share.safety.safe import plain_name
from routing.share.wording.sheet import round_sheet
from routing.share.wording.stands import HIVES, spots_of
from routing.share.wording.visits import NO_LINES, PrivateLines, Visit, round_visits

HALF_TURN = 180


def round_gpx(round_: Round, private: PrivateLines = NO_LINES) -> str:
    """Return base and stops as waypoints, and for each crew a route over its stops and a track along its way.

    Source: GPX 1.1 schema (topografix.com/GPX/1/1): order of elements; longitude from -180 up to, not with, 180.
    """
    visits = round_visits(round_, private)
    sheet = round_sheet(round_)
    gpx = GPX()
    gpx.creator = "outyard"
    gpx.name = f"{sheet.title}: {sheet.farm}"
    gpx.description = " ".join(sheet.estimates) or None
    gpx.waypoints = [_base(round_), *(point for visit in visits for point in _waypoints(visit))]
    for number, itinerary in enumerate(round_.itineraries, start=1):
        of_crew = [visit for visit in visits if visit.itinerary is itinerary]
        gpx.routes.append(_route(round_, itinerary, of_crew, number))
        gpx.tracks.append(_track(round_, itinerary, number))
    return gpx.to_xml(version="1.1") + "\n"


def _east(longitude: float) -> float:
    value = degrees(longitude)
    return -value if value == HALF_TURN else value


def _base(round_: Round) -> GPXWaypoint:
    return GPXWaypoint(
        degrees(round_.base_latitude), _east(round_.base_longitude), name=plain_name(round_.base_name), type="base"
    )


def _waypoints(visit: Visit) -> list[GPXWaypoint]:
    """Return where the vehicle stops and where the hives are, each under its name, or one point for both."""
    return [
        GPXWaypoint(
            degrees(spot.latitude),
            _east(spot.longitude),
            name=f"{visit.title} - {spot.label}" if spot.label else visit.title,
            description="\n".join((*([spot.words] if spot.label else []), *visit.lines)),
            type="hives" if spot.label == HIVES else "stop",
        )
        for spot in spots_of(visit.stop)
    ]


def _way_name(round_: Round, itinerary: Itinerary) -> str:
    """Return the crew's name, in a round of several days with the date: a device lists ways by name alone."""
    name = plain_name(itinerary.crew_name)
    return name if len(round_.dates) == 1 else f"{itinerary.date.isoformat()} {name}"


def _route(round_: Round, itinerary: Itinerary, visits: list[Visit], number: int) -> GPXRoute:
    route = GPXRoute(name=_way_name(round_, itinerary), number=number)
    base = (degrees(round_.base_latitude), _east(round_.base_longitude))
    name = plain_name(round_.base_name)
    stops = ((degrees(up), _east(along), each.title) for each in visits for up, along in [driven_to(each.stop)])
    for latitude, longitude, title in ((*base, name), *stops, (*base, name)):
        route.points.append(GPXRoutePoint(latitude, longitude, name=title))
    return route


def _track(round_: Round, itinerary: Itinerary, number: int) -> GPXTrack:
    track = GPXTrack(name=_way_name(round_, itinerary), number=number)
    points = [GPXTrackPoint(latitude, _east(longitude)) for latitude, longitude in way_points(round_, itinerary)]
    track.segments.append(GPXTrackSegment(points))
    return track
