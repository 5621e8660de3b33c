"""What the map's script knows of the land and the roads under a round, as values without any markup of a user."""

from __future__ import annotations

from typing import Any

from routing.share.safety.safe import plain_name
from routing.travel.land import Land

_DECIMALS = 5  # about a metre


def land_values(land: Land) -> dict[str, Any]:
    """Return areas, lines, landmarks and road names; names are set as text by the script, never as markup."""
    return {
        "areas": land.areas,
        "lines": land.lines,
        "marks": [
            [
                round(mark.latitude, _DECIMALS),
                round(mark.longitude, _DECIMALS),
                mark.kind,
                mark.name and plain_name(mark.name),
            ]
            for mark in land.marks
        ],
        "roads": [
            [road.latitude, road.longitude, plain_name(road.text), road.turn, road.metres, road.rank, road.numbered]
            for road in land.road_names
        ],
    }
