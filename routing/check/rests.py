"""Where in a stop its break lies: before the work or after it, as the stop shows it."""

from __future__ import annotations

from routing.check.exact import instant
from routing.round import Stop


def before_work(stop: Stop) -> bool:
    """Whether the stop's break is shown before its work is finished; False where there is none."""
    return stop.rest is not None and instant(stop.rest.start) < instant(stop.finish)


def rest_end(stop: Stop) -> int | None:
    """Return the instant at which the stop's break ends, None where there is none."""
    return None if stop.rest is None else instant(stop.rest.start) + stop.rest.seconds


def ready(stop: Stop) -> int:
    """Return the instant from which the work may start: on arrival, or when a break before it ends."""
    end = rest_end(stop) if before_work(stop) else None
    return instant(stop.arrive) if end is None else end


def left_at(stop: Stop) -> int:
    """Return the instant at which the crew goes on: on finishing, or when a break after the work ends."""
    end = None if before_work(stop) else rest_end(stop)
    return instant(stop.finish) if end is None else end
