"""Recomputes every promise of a round by its own arithmetic; shares no code with the planning."""

from routing.check.fits import still_fits
from routing.check.promises import broken_promises, require_good

__all__ = ["broken_promises", "require_good", "still_fits"]
