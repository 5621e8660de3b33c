"""The key of a plan: what tells one crew's day from every other, and tells nothing of how the sites are called."""

from __future__ import annotations

import hashlib
import json
import re
from typing import Any

from routing.round import Itinerary
from routing.share.safety.positions import degrees

_KEY = re.compile(r"[0-9a-f]{16}")
_BY_RULE = re.compile(r"(due:[^:]*):.*?( part \d+ of \d+)?", re.DOTALL)


def round_key(itinerary: Itinerary) -> str:
    """Return 16 hexadecimal digits that stand for exactly this plan: who, when, where, which jobs, at what times.

    Names are not in it, nor are the sites' ids: else whoever has the key could try names until one fits. A page with
    nicknames has the same key.
    """
    if _KEY.fullmatch(itinerary.plan_key):
        return itinerary.plan_key
    plan: list[Any] = [itinerary.crew, itinerary.date.isoformat(), itinerary.leave.isoformat()]
    for stop in itinerary.stops:
        at = [degrees(stop.latitude), degrees(stop.longitude), stop.start.isoformat()]
        plan.append([*at, *([_nameless(job.id), job.kind, job.hives] for job in stop.jobs)])
    return hashlib.sha256(json.dumps(plan).encode()).hexdigest()[:16]


def _nameless(job: str) -> str:
    """Return the id of a job without its site: that is told by the place."""
    found = _BY_RULE.fullmatch(job)
    return f"{found[1]}{found[2] or ''}" if found else job
