"""Working light: when work may be done at a place on a date."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass


@dataclass(frozen=True)
class Window:
    """A span of time in which a visit's work must lie; both ends zone-aware, whole seconds, `opens < closes`."""

    opens: dt.datetime
    closes: dt.datetime
