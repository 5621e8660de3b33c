"""Who is who in a round: crews of one name on different days are one person or team with several days."""

from __future__ import annotations

from routing.round import Itinerary, Round


def days_of(round_: Round, day: Itinerary) -> tuple[Itinerary, ...]:
    """Return all days of whoever makes this one, by date; crews that go by one name on one date are not the same."""
    named = [other for other in round_.itineraries if other.crew_name == day.crew_name]
    if len({other.date for other in named}) < len(named):
        named = [other for other in named if other.crew == day.crew]
    return tuple(sorted(named, key=lambda other: other.date))


def crew_total(round_: Round) -> int:
    """Return how many different crews go out, whatever the number of their days."""
    first = [days_of(round_, day)[0] for day in round_.itineraries]
    return len({(day.crew, day.date) for day in first})


def day_words(round_: Round, day: Itinerary) -> str:
    """Return `day 1 of 3` where whoever makes this day has several, else nothing."""
    days = days_of(round_, day)
    return f"day {days.index(day) + 1} of {len(days)}" if len(days) > 1 else ""
