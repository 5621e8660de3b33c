"""An end by the clock for all that a thread does until then: solvers and loops deep inside give up when it has come.

What explains a plan asks many small searches through many layers; an end that each of them hands on would stand in all
of their signatures. It is for what may be left away: whoever sets an end says what holds without the answer.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_END: ContextVar[float] = ContextVar("end", default=math.inf)


class TimeOverError(Exception):
    """The end has come before the answer."""


@contextmanager
def within(end: float | None) -> Iterator[None]:
    """Have all that is done inside end at this instant of `time.monotonic`; None sets no end of its own."""
    token = _END.set(_END.get() if end is None else min(end, _END.get()))
    try:
        yield
    finally:
        _END.reset(token)


def over() -> bool:
    """Return whether the end has come."""
    end = _END.get()
    return end < math.inf and time.monotonic() >= end


def heed() -> None:
    """Raise TimeOverError where the end has come."""
    if over():
        raise TimeOverError
