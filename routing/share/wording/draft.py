"""Days that a person puts in order, in words: what breaks where, and never `before dark` of what breaks.

A day that keeps every rule is worded as any round's; of one that does not, each stop says what it breaks.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

from routing.round import Breach, Itinerary, Round, Rule
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording import words
from routing.share.wording.day_line import DayLine, day_line
from routing.share.wording.sheet_crew import CrewSheet
from routing.share.wording.words import count, duration, short_date

MOST_NAMED = 3
"""So many places that break are named in the headline; the rest are counted."""


@dataclass(frozen=True)
class StopMarks:
    """What one stop of an itinerary breaks, a sentence each."""

    told: tuple[str, ...] = ()
    brief: str = ""
    """In a few words, to stand in place of the light left; empty where nothing is broken."""
    no_hours: bool = False
    """Whether it has no hours on that day, so that none may be shown."""


@dataclass(frozen=True)
class DayMarks:
    """What one crew's day breaks: by stop of its itinerary, in order, and as a whole."""

    stops: tuple[StopMarks, ...]
    whole: tuple[str, ...]
    home: str
    """In a few words, where the crew comes home too late."""


def broken_headline(round_: Round, breaches: Sequence[Breach], crews: Mapping[str, str]) -> str:
    """Return what is said first of days that break a rule; `crews` has the name of each crew by its id."""
    places: dict[str, None] = {}
    for breach in breaches:
        day = day_of(round_, breach.crew, breach.date)
        stops = [] if day is None else [stop for stop in day.stops if stop.jobs]
        whose = plain_name(crews.get(breach.crew, breach.crew))
        if breach.stop is not None and breach.stop < len(stops):
            places[plain_name(stops[breach.stop].name)] = None
        else:
            places[f"{'home of' if breach.rule is Rule.HOME else 'the day of'} {whose}"] = None
    listed = list(places)
    more = len(listed) - MOST_NAMED
    named = ", ".join(listed[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
    return f"This does not hold yet: {count(len(breaches), 'rule')} broken ({named})."


def day_of(round_: Round, crew: str, date: dt.date) -> Itinerary | None:
    """Return a crew's itinerary on a date, None where it has none."""
    return next((day for day in round_.itineraries if (day.crew, day.date) == (crew, date)), None)


def day_marks(day: Itinerary, breaches: Sequence[Breach]) -> DayMarks:
    """Return what a crew's day breaks, laid to the stops of its itinerary.

    A breach counts stops at which jobs are done; where hives are set down or base is come back to is none.
    """
    own = [breach for breach in breaches if (breach.crew, breach.date) == (day.crew, day.date)]
    found, number = [], -1
    for stop in day.stops:
        number += bool(stop.jobs)
        found.append(_marks([breach for breach in own if stop.jobs and breach.stop == number]))
    whole = [breach for breach in own if breach.stop is None]
    home = next((f"{duration(breach.seconds)} too late" for breach in whole if breach.rule is Rule.HOME), "")
    return DayMarks(tuple(found), tuple(plain_text(breach.text) for breach in whole), home)


def _marks(own: Sequence[Breach]) -> StopMarks:
    if not own:
        return StopMarks()
    late = max((breach.seconds for breach in own), default=0)
    brief = f"{duration(late)} too late" if late else own[0].rule.value if len(own) == 1 else f"{len(own)} rules broken"
    no_hours = any(breach.rule is Rule.DATE for breach in own)
    instead = {Rule.DATE: "not on this day", Rule.ABLE: "not this crew", Rule.LAST: "must not come here"}
    brief = brief if late or len(own) > 1 else instead.get(own[0].rule, f"too much: {brief}")
    return StopMarks(tuple(plain_text(breach.text) for breach in own), brief, no_hours)


def draft_line(round_: Round, index: int, crew: CrewSheet, marks: DayMarks) -> DayLine:
    """Return the day line of the itinerary at `index` with what breaks in place of the light left."""
    line = day_line(round_, index, crew)
    rows = list(line.rows)
    for number, mark in enumerate(marks.stops, start=1):
        if mark.brief:
            light = None if mark.no_hours else rows[number].light
            rows[number] = replace(rows[number], told=mark.brief, broken=True, light=light)
    if marks.whole:
        rows[-1] = replace(rows[-1], told=marks.home or "see below", broken=True)
    return replace(line, rows=tuple(rows))


def crew_day_words(crew_name: str, date: dt.date, *, several_days: bool) -> str:
    """Return whose day it is: the name, and the date where there are several."""
    return f"{plain_name(crew_name)}, {short_date(date)}" if several_days else plain_name(crew_name)


def said(told: str, round_: Round, breaches: Sequence[Breach], crews: Mapping[str, str]) -> str:
    """Return what is read out after a change: what was done, and whether the days hold."""
    done = plain_text(told)
    if breaches:
        return f"{done}. {broken_headline(round_, breaches, crews)} {plain_text(breaches[0].text)}"
    zone = ZoneInfo(round_.time_zone)
    homes = [words.clock(words.minute_reached(day.home), day.date, zone) for day in round_.itineraries]
    return f"{done}. Every rule is kept; home {', '.join(homes)}." if homes else f"{done}. Nothing is planned."
