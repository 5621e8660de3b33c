"""British and Irish grid references to places on the earth.

A reference names the south-west corner of a square; the place given back is the CENTRE of that square, which halves
the largest error: SO 12 34 (1 km) is at most 707 m off, SO 12345 67890 (1 m) at most 0.71 m.
Source: the lettering is that of the Ordnance Survey's "A guide to coordinate systems in Great Britain".
"""

from __future__ import annotations

import re

from routing import farm
from routing.errors import PlaceError
from routing.farm.models import Place

LETTERS = "ABCDEFGHJKLMNOPQRSTUVWXYZ"
"""The 25 letters of a five by five block of squares, row by row from the north-west; I is not used."""
SIDE = 5
SQUARE_METRES = 100_000
MOST_DIGITS = 5
REFERENCE = re.compile(r"([A-HJ-Z]{1,2}) ?(?:([0-9]{1,5}) ([0-9]{1,5})|((?:[0-9]{2}){1,5}))")


def looks_like_grid(text: str) -> bool:
    """Return whether an upper-case text is one or two letters and then only digits and spaces, if anything."""
    return re.fullmatch(r"[A-Z]{1,2}[ 0-9]*", text) is not None


def grid_place(text: str) -> Place:
    """Return the centre of the square of an upper-case reference. Raises PlaceError with the bare reason."""
    found = REFERENCE.fullmatch(text)
    if not found:
        raise PlaceError("a grid reference has an even number of digits, 2 to 10, after one or two letters without I")
    letters, east_digits, north_digits, digits = found.groups()
    if digits:
        east_digits, north_digits = digits[: len(digits) // 2], digits[len(digits) // 2 :]
    if len(east_digits) != len(north_digits):
        raise PlaceError("the two groups of a grid reference need the same number of digits")
    size = 10 ** (MOST_DIGITS - len(east_digits))
    corner_east, corner_north = _square(letters)
    east = corner_east + (int(east_digits) + 0.5) * size
    north = corner_north + (int(north_digits) + 0.5) * size
    grids = farm.national_grids
    return grids.british_place(east, north) if len(letters) > 1 else grids.irish_place(east, north)


def _square(letters: str) -> tuple[int, int]:
    """Return easting and northing in metres of the south-west corner of the lettered square.

    One letter counts from the Irish false origin; of two, the first names a square of 500 km, S being at the origin.
    """
    row, column = divmod(LETTERS.index(letters[-1]), SIDE)
    east, north = column, SIDE - 1 - row
    if len(letters) > 1:
        origin_row, origin_column = divmod(LETTERS.index("S"), SIDE)
        row, column = divmod(LETTERS.index(letters[0]), SIDE)
        east += SIDE * (column - origin_column)
        north += SIDE * (origin_row - row)
    return east * SQUARE_METRES, north * SQUARE_METRES
