"""The round as an iCalendar file: one event for each visit, with its place and an alarm before leaving for it.

icalendar is imported at the top: only the share command comes here.
"""

from __future__ import annotations

import datetime as dt
import json
import uuid
from collections import Counter
from zoneinfo import ZoneInfo

from icalendar import Alarm, Calendar, Event

from routing.round import Itinerary, Round, Stop
from routing.share.exports.ical_update import revised
from routing.share.exports.ical_zone import zone_component
from routing.share.safety.geo import driven_to
from routing.share.safety.positions import degrees, degrees_text
from routing.share.safety.safe import plain_name
from routing.share.wording.stands import spots_of
from routing.share.wording.visits import NO_LINES, PrivateLines, Visit, round_visits
from routing.share.wording.words import minute_at_stop, minute_by

PRODUCT = "-//outyard//round//EN"

ALARM_MINUTES = 10
"""How long before leaving for a visit the alarm goes off; our own choice, no source."""

_VISITS = uuid.UUID("5d0f5b0e-3c0a-4f3f-9d53-6f6e1c1f7a55")
"""Name space of the visits' identifiers, drawn once at random. Source of the scheme: RFC 9562, section 5.5."""

_MINUTE = dt.timedelta(minutes=1)


def round_calendar(round_: Round, private: PrivateLines = NO_LINES, previous: str = "") -> str:
    """Return the calendar with CRLF line ends, folded at 75 octets.

    An event is known by farm, date and site, so that reading a later file into the same calendar moves it. `previous`
    is the file that this one replaces, if any: changed events get the next SEQUENCE, and visits of the same dates that
    are gone come as cancelled. DTSTAMP is midnight UTC of the first date plus a second for each revision: it does not
    tell when the file was made, so that the same round gives the same bytes. Source: RFC 5545; UID: RFC 7986.
    """
    events = [_event(round_, visit, uid) for visit, uid in _identified(round_, private)]
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    events = revised(events, previous, round_.dates)
    if any("TZID" in event["DTSTART"].params for event in events):
        calendar.add_component(zone_component(round_.time_zone, min(round_.dates), max(round_.dates)))
    for event in events:
        calendar.add_component(event)
    text: bytes = calendar.to_ical()
    return text.decode()


def _identified(round_: Round, private: PrivateLines) -> list[tuple[Visit, str]]:
    """Return each visit with its identifier; a site visited twice on a date has two."""
    seen: Counter[tuple[str, dt.date]] = Counter()
    found = []
    for visit in round_visits(round_, private):
        where = (visit.stop.site, visit.itinerary.date)
        name = json.dumps([round_.farm, visit.itinerary.date.isoformat(), visit.stop.site, seen[where]])
        found.append((visit, str(uuid.uuid5(_VISITS, name))))
        seen[where] += 1
    return found


def _event(round_: Round, visit: Visit, uid: str) -> Event:
    stop = visit.stop
    starts = minute_at_stop(stop.arrive, stop.window_closes)
    ends = max(minute_at_stop(stop.finish, stop.window_closes), starts + _MINUTE)
    zone = ZoneInfo(round_.time_zone)
    event = Event()
    event.add("uid", uid)
    event.add("summary", f"{visit.title}: {visit.work}")
    event.add("dtstart", _moment(starts, zone))
    event.add("dtend", _moment(ends, zone))
    event.add("location", f"{visit.sheet.name} ({_place_words(stop)})")
    event.add("geo", tuple(degrees(value) for value in driven_to(stop)))
    event.add("description", "\n".join(visit.lines))
    event.add_component(_alarm(round_, visit, starts))
    return event


def _place_words(stop: Stop) -> str:
    """Return the site's place, or where the vehicle stops and where the hives are."""
    if stop.stopping_place is None:
        return f"{degrees_text(stop.latitude)}, {degrees_text(stop.longitude)}"
    return "; ".join(spot.words for spot in spots_of(stop))


def _moment(moment: dt.datetime, zone: ZoneInfo) -> dt.datetime:
    """Return the local time, but UTC in the second pass of an hour that comes twice: TZID would mean the first.

    Source: RFC 5545, section 3.3.5 (a local time that occurs twice is its first occurrence).
    """
    local = moment.astimezone(zone)
    return moment.astimezone(dt.UTC) if local.fold else local


def _alarm(round_: Round, visit: Visit, starts: dt.datetime) -> Alarm:
    leaves, place = _leaving(round_, visit.itinerary, visit.stop.number)
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", f"In {ALARM_MINUTES} minutes leave {place} for {visit.sheet.name}")
    alarm.add("trigger", minute_by(leaves) - ALARM_MINUTES * _MINUTE - starts)
    return alarm


def _leaving(round_: Round, itinerary: Itinerary, number: int) -> tuple[dt.datetime, str]:
    """Return when and from where the crew leaves for the stop of this number."""
    before = next((stop for stop in itinerary.stops if stop.number == number - 1), None)
    if before is None:
        return itinerary.leave, plain_name(round_.base_name)
    return before.finish, plain_name(before.name)
