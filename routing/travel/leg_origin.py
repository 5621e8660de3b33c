"""How a drive is known; apart from the matrix of legs, so that a page in words needs no arrays."""

from enum import StrEnum


class LegOrigin(StrEnum):
    """Where a leg's minutes came from; the words are shown to the farmer."""

    ESTIMATE = "estimate from straight line"
    KNOWN = "known drive"
    KNOWN_VIA = "known drives joined"
    ROAD = "road map"
