"""How a broken promise is said: who, where, which promise, what was expected and what was found."""

from __future__ import annotations

from collections.abc import Iterator

from routing.round import Itinerary, LeftOut, Stop

WHOLE = "the round"


def day_of(itinerary: Itinerary) -> str:
    """Return the words for one crew's day."""
    return f"crew {itinerary.crew} on {itinerary.date}"


def stop_of(itinerary: Itinerary, stop: Stop) -> str:
    """Return the words for one stop of a crew's day."""
    return f"{day_of(itinerary)}, stop {stop.number} at {stop.site}"


def left_of(left: LeftOut) -> str:
    """Return the words for one entry of what is left out."""
    return f"left out at {left.site} ({', '.join(job.id for job in left.jobs)})"


def broken(where: str, promise: str, expected: object, found: object) -> str:
    """Return one sentence on a broken promise."""
    return f"{where}: {promise}: expected {expected}, found {found}"


def same(where: str, promise: str, expected: object, found: object) -> Iterator[str]:
    """Yield a sentence where the two differ; yes and no are not taken for 1 and 0."""
    if expected != found or isinstance(expected, bool) is not isinstance(found, bool):
        yield broken(where, promise, expected, found)
