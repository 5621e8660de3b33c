"""What all types of the farm are made of: frozen values, ranks, spans of hours, and numbers that carry their source."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field


class Frozen(BaseModel):
    """A value that never changes and accepts no unknown field."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Rank(StrEnum):
    """How much a job matters. Ranks are compared in this order and never summed."""

    NOW = "now"
    """A colony's life hangs on it within days."""
    MUST = "must"
    WANT = "want"
    PASSING = "passing"


Confidence = Literal["V", "V2", "D", "M", "farm"]
"""V read in the publisher's text; V2 read in a secondary page; D arithmetic from those; M from memory or common
practice, not checked; farm: the farmer's own number."""


class Figure(Frozen):
    """A number of the trade with its source beside it."""

    value: float = Field(ge=0, allow_inf_nan=False)
    source: str
    confidence: Confidence


class Hours(Frozen):
    """One span of opening hours in local time; `closes` is after `opens` on the same day."""

    opens: dt.time
    closes: dt.time
