"""What a new calendar file says of the one it replaces: which events changed, and which are gone."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from icalendar import Calendar, Event

MOST_REVISIONS = 86_399
"""Beyond this the stamp would pass to the next day; nobody plans a day that often."""


def revised(events: Sequence[Event], previous: str, dates: Sequence[dt.date]) -> list[Event]:
    """Return the events with SEQUENCE and DTSTAMP set, and after them, cancelled, those of `dates` that are gone.

    SEQUENCE is that of the same event in `previous`, one more where anything in it changed, or 0 for a new one.
    A `previous` that is no calendar counts as none. Source: RFC 5545, sections 3.8.7.2, 3.8.7.4 and 3.8.1.11.
    """
    old = _events_of(previous)
    first = min(dates, default=dt.date.min)
    for event in events:
        uid = str(event["UID"])
        _stamp(event, first, _next_sequence(event, old.get(uid)))
    kept = {str(event["UID"]) for event in events}
    gone = [_cancelled(event) for uid, event in old.items() if uid not in kept and _date_of(event) in dates]
    for event in gone:
        _stamp(event, first, _next_sequence(event, old[str(event["UID"])]))
    return [*events, *gone]


def _events_of(text: str) -> dict[str, Event]:
    try:
        calendar = Calendar.from_ical(text) if text else None
    except ValueError:
        return {}
    if not isinstance(calendar, Calendar):
        return {}
    events = [event for event in calendar.walk("VEVENT") if isinstance(event, Event)]
    whole = {"UID", "DTSTART", "DTEND"}
    return {str(event["UID"]): event for event in events if whole <= set(event) and not event.errors}


def _sequence_of(event: Event) -> int:
    try:
        return min(max(int(event.get("SEQUENCE", 0)), 0), MOST_REVISIONS)
    except (TypeError, ValueError):
        return 0


def _next_sequence(event: Event, old: Event | None) -> int:
    if old is None:
        return 0
    changed = _content(event) != _content(old)
    return min(_sequence_of(old) + changed, MOST_REVISIONS)


def _content(event: Event) -> bytes:
    """Return the event as bytes without what a revision itself changes."""
    bare = event.copy(recursive=True)
    for name in ("SEQUENCE", "DTSTAMP"):
        bare.pop(name, None)
    content: bytes = bare.to_ical()
    return content


def _stamp(event: Event, first: dt.date, sequence: int) -> None:
    event.pop("SEQUENCE", None)
    event.pop("DTSTAMP", None)
    event.add("sequence", sequence)
    event.add("dtstamp", dt.datetime.combine(first, dt.time(), dt.UTC) + dt.timedelta(seconds=sequence))


def _date_of(event: Event) -> dt.date | None:
    start = event.decoded("DTSTART")
    return start.date() if isinstance(start, dt.datetime) else None


def _cancelled(old: Event) -> Event:
    """Return an event that tells a calendar to strike out the old one; its name, place and notes do not go with it."""
    event = Event()
    for name in ("UID", "DTSTART", "DTEND"):
        event[name] = old[name]
    event.add("summary", "Visit cancelled")
    event.add("status", "CANCELLED")
    return event
