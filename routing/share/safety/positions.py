"""Positions as links and numbers: what a phone's own navigation opens, the same decimals in every file."""

from __future__ import annotations

POLE_DEGREES = 90
DECIMALS = 6
"""A tenth of a metre, on the ground a good deal finer than anyone parks."""


def degrees(value: float) -> float:
    """Return decimal degrees as every exported file holds them: rounded, and never minus zero."""
    return round(value, DECIMALS) + 0.0


def degrees_text(value: float) -> str:
    """Return decimal degrees as text with no exponent and no trailing zeros: `52.71`, `-0.000001`."""
    return f"{degrees(value):.{DECIMALS}f}".rstrip("0").rstrip(".")


def geo_uri(latitude: float, longitude: float) -> str:
    """Return the `geo:` link of a place in WGS 84 decimal degrees.

    Source: RFC 5870, section 3.3 (syntax) and 3.4.2 (the poles are written with longitude 0).
    """
    east = 0.0 if abs(degrees(latitude)) == POLE_DEGREES else longitude
    return f"geo:{degrees_text(latitude)},{degrees_text(east)}"
