"""From a place on the earth to the British or Irish grid reference of the square that it lies in.

A reference names the south-west corner of its square, so digits are cut and never rounded.
Source: the lettering is that of the Ordnance Survey's "A guide to coordinate systems in Great Britain".
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from routing import farm
from routing.farm.grid_to_place import LETTERS, MOST_DIGITS, SIDE, SQUARE_METRES
from routing.farm.models import Place

BRITISH_EAST_METRES, BRITISH_NORTH_METRES = 700_000, 1_300_000
"""How far the lettered squares of the British grid reach."""
IRISH_METRES = 500_000
"""How far the lettered squares of the Irish grid reach, both ways."""


@dataclass(frozen=True)
class Box:
    """An area between two meridians and two parallels, degrees."""

    west: float
    south: float
    east: float
    north: float

    def holds(self, place: Place) -> bool:
        """Return whether the place lies inside."""
        return self.south <= place.latitude <= self.north and self.west <= place.longitude <= self.east


IRELAND = Box(-10.56, 51.39, -5.34, 55.43)
"""Source: the area of use of EPSG:29903 in the EPSG dataset."""
KINTYRE = Box(-5.9, 55.25, -5.34, 55.43)
"""The one corner of `IRELAND` that is Scottish: between Torr Head and the Mull. From memory of the map."""
FRANCE = (Box(1.4, 48, 10, 51.1), Box(-2.5, 48, 10, 50.45))
"""The British grid's datum shift has values here, but the French coast is no part of it. From memory of the map."""


def grid_reference(place: Place, digits: int = 4) -> str:
    """Return the reference with `digits` (1 to 5) each way, such as `SO 3784 5347`, or an empty text off both grids.

    Four digits each way name a square of 10 m. British references are by OSTN15, Irish ones within about 5 m.

    Raises ValueError for another number of digits.
    """
    if not 1 <= digits <= MOST_DIGITS:
        raise ValueError(f"a grid reference has 1 to {MOST_DIGITS} digits each way, not {digits}")
    if IRELAND.holds(place) and not KINTYRE.holds(place):
        return _irish(place, digits)
    if any(box.holds(place) for box in FRANCE):
        return ""
    return _british(place, digits)


def _british(place: Place, digits: int) -> str:
    east, north = farm.national_grids.on_british(place)
    # A place off the grid comes back as no number, and every comparison with that is false.
    if not (0 <= east < BRITISH_EAST_METRES and 0 <= north < BRITISH_NORTH_METRES):
        return ""
    origin_row, origin_column = divmod(LETTERS.index("S"), SIDE)
    block_east, block_north = (int(metres // (SIDE * SQUARE_METRES)) for metres in (east, north))
    block = LETTERS[SIDE * (origin_row - block_north) + origin_column + block_east]
    return f"{block}{_square(east, north, digits)}"


def _irish(place: Place, digits: int) -> str:
    east, north = farm.national_grids.on_irish(place)
    if not (0 <= east < IRISH_METRES and 0 <= north < IRISH_METRES):
        return ""
    return _square(east, north, digits)


def _square(east: float, north: float, digits: int) -> str:
    """Return the letter of the 100 km square inside its block of 500 km and the digits inside the square."""
    column, row = (int(metres // SQUARE_METRES) % SIDE for metres in (east, north))
    size = 10 ** (MOST_DIGITS - digits)
    inside = [f"{math.floor(metres % SQUARE_METRES / size):0{digits}}" for metres in (east, north)]
    return f"{LETTERS[SIDE * (SIDE - 1 - row) + column]} {' '.join(inside)}"
