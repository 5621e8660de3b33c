"""Recomputes every promise of a round by its own arithmetic; shares no code with the planning."""

from routing.check.fits import still_fits
from routing.check.judgement import Beside, Broken, BrokenDay, Judgement
from routing.check.mending import what_holds
from routing.check.promises import broken_promises, judged, require_good

__all__ = [
    "Beside",
    "Broken",
    "BrokenDay",
    "Judgement",
    "broken_promises",
    "judged",
    "require_good",
    "still_fits",
    "what_holds",
]
