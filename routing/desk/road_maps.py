"""The road maps that may be chosen at the desk, and what the form for a new farm shows."""

from __future__ import annotations

from pathlib import Path

from routing import stages
from routing.desk.given import Given
from routing.desk.state import Desk
from routing.errors import AskedError
from routing.share.safety.safe import plain_name, plain_text

MOST_MAPS = 50
SHOWN = 300


def new_farm_values(desk: Desk) -> dict[str, object]:
    """Return what the form for a new farm shows."""
    maps = [plain_name(path.name) for path in maps_at(desk)]
    return {
        "maps": maps,
        "farms_folder": plain_text(str(desk.farms), SHOWN),
        "downloads": plain_text(str(desk.downloads), SHOWN),
    }


def maps_at(desk: Desk, *, with_farm: bool = False) -> list[Path]:
    """Return the road maps that may be chosen: those in the downloads, and those of the farm where that is asked."""
    return stages.begin.maps_in([*([desk.folder] if with_farm else []), desk.downloads])[:MOST_MAPS]


def map_chosen(desk: Desk, given: Given, *, with_farm: bool = False) -> Path | None:
    """Return the road map that is meant, None for none. Raises AskedError where the list has changed."""
    found = maps_at(desk, with_farm=with_farm)
    number = given.whole("map", 0, MOST_MAPS)
    if number is None:
        return None
    if number >= len(found) or plain_name(found[number].name) != given.text("map_name"):
        raise AskedError("the list of road maps has changed; load the page again")
    return found[number]
