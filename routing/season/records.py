"""What is known of days that are done: how long visits and drives took."""

from __future__ import annotations

import datetime as dt

from pydantic import Field

from routing.farm.models import Frozen

MOST_MINUTES = 2880
"""A visit of more than two days is a slip."""


class VisitRecord(Frozen):
    """One visit as it was: all kinds of work done in one stop, for so many hives each."""

    site: str
    kinds: tuple[str, ...] = Field(min_length=1)
    crew: str
    people: int = Field(ge=1, le=20)
    date: dt.date
    hives: int = Field(ge=0)
    hives_of: dict[str, int] = Field(default_factory=dict)
    """For each kind of which another number of hives is known than `hives`, that number."""
    minutes: float = Field(gt=0, le=MOST_MINUTES, allow_inf_nan=False)
    """From parking to being back at the vehicle: walk, set-up and work, without the break."""


class DriveRecord(Frozen):
    """One drive as it was, between two places (site ids or `base`)."""

    start: str
    end: str
    planned_seconds: float = Field(gt=0, allow_inf_nan=False)
    """As the farm's own figures had it, before anything was learned."""
    actual_seconds: float = Field(gt=0, allow_inf_nan=False)
