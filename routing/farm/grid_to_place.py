"""British and Irish grid references to places on the earth.

A reference names the south-west corner of a square; the place given back is the CENTRE of that square, which halves
the largest error: SO 12 34 (1 km) is at most 707 m off, SO 12345 67890 (1 m) at most 0.71 m.
Source: the lettering is that of the Ordnance Survey's "A guide to coordinate systems in Great Britain".
"""

from __future__ import annotations

import functools
import math
import re
from typing import TYPE_CHECKING

from routing.errors import PlaceError
from routing.farm.models import Place

if TYPE_CHECKING:
    import pyproj

LETTERS = "ABCDEFGHJKLMNOPQRSTUVWXYZ"
"""The 25 letters of a five by five block of squares, row by row from the north-west; I is not used."""
SIDE = 5
SQUARE_METRES = 100_000
MOST_DIGITS = 5
REFERENCE = re.compile(r"([A-HJ-Z]{1,2}) ?(?:([0-9]{1,5}) ([0-9]{1,5})|((?:[0-9]{2}){1,5}))")
IRISH_GRID = "EPSG:29903"


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
    return british_place(east, north) if len(letters) > 1 else irish_place(east, north)


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


def british_place(east_metres: float, north_metres: float) -> Place:
    """Return the WGS 84 place of a British National Grid point, by OSTN15.

    Raises PlaceError where OSTN15 has no value: far out at sea, abroad, or off the grid altogether.
    """
    from convertbng import cutil  # noqa: PLC0415 - heavy, and most farms have few references

    longitudes, latitudes = cutil.convert_lonlat([float(east_metres)], [float(north_metres)])
    latitude, longitude = float(latitudes[0]), float(longitudes[0])
    if not (math.isfinite(latitude) and math.isfinite(longitude)):
        raise PlaceError("the British grid has no land there")
    return Place(latitude=latitude, longitude=longitude)


def irish_place(east_metres: float, north_metres: float) -> Place:
    """Return the WGS 84 place of an Irish Grid point, within about 5 m.

    Raises PlaceError outside the area for which the grid is registered.
    """
    transformer, (west, south, east, north) = _irish_grid()
    longitude, latitude = transformer.transform(east_metres, north_metres)
    if not (south <= latitude <= north and west <= longitude <= east):
        raise PlaceError("the Irish grid has no land there")
    return Place(latitude=latitude, longitude=longitude)


@functools.cache
def _irish_grid() -> tuple[pyproj.Transformer, tuple[float, float, float, float]]:
    """Return the way from the Irish Grid to WGS 84 and the bounds of the area that it is registered for.

    The bounds are west, south, east and north in degrees. Both are slow to make, so they are made once.
    """
    import pyproj  # noqa: PLC0415 - heavy, and most farms have no Irish reference

    grid = pyproj.CRS(IRISH_GRID)
    area = grid.area_of_use
    if area is None:
        raise PlaceError(f"the coordinate library knows no area for {IRISH_GRID}")
    return pyproj.Transformer.from_crs(grid, "EPSG:4326", always_xy=True), area.bounds
