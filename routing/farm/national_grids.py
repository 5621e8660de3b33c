"""The British and the Irish grid on the earth. The libraries of both are heavy: they are imported with this module.

British by OSTN15, Irish (EPSG:29903) within about 5 m.
"""

from __future__ import annotations

import functools
import math

import pyproj
from convertbng import cutil

from routing.errors import PlaceError
from routing.farm.models import Place

IRISH_GRID = "EPSG:29903"
WORLD = "EPSG:4326"


def british_place(east_metres: float, north_metres: float) -> Place:
    """Return the WGS 84 place of a British National Grid point, by OSTN15.

    Raises PlaceError where OSTN15 has no value: far out at sea, abroad, or off the grid altogether.
    """
    longitudes, latitudes = cutil.convert_lonlat([float(east_metres)], [float(north_metres)])
    latitude, longitude = float(latitudes[0]), float(longitudes[0])
    if not (math.isfinite(latitude) and math.isfinite(longitude)):
        raise PlaceError("the British grid has no land there")
    return Place(latitude=latitude, longitude=longitude)


def on_british(place: Place) -> tuple[float, float]:
    """Return metres east and north on the British National Grid, by OSTN15; no numbers where it has no value."""
    easts, norths = cutil.convert_bng([place.longitude], [place.latitude])
    return float(easts[0]), float(norths[0])


def irish_place(east_metres: float, north_metres: float) -> Place:
    """Return the WGS 84 place of an Irish Grid point, within about 5 m.

    Raises PlaceError outside the area for which the grid is registered.
    """
    transformer, (west, south, east, north) = _irish_grid()
    longitude, latitude = transformer.transform(east_metres, north_metres)
    if not (south <= latitude <= north and west <= longitude <= east):
        raise PlaceError("the Irish grid has no land there")
    return Place(latitude=latitude, longitude=longitude)


def on_irish(place: Place) -> tuple[float, float]:
    """Return metres east and north on the Irish Grid, within about 5 m."""
    east, north = _to_irish_grid().transform(place.longitude, place.latitude)
    return east, north


@functools.cache
def _irish_grid() -> tuple[pyproj.Transformer, tuple[float, float, float, float]]:
    """Return the way from the Irish Grid to WGS 84 and the bounds of the area that it is registered for.

    The bounds are west, south, east and north in degrees. Both are slow to make, so they are made once.
    """
    grid = pyproj.CRS(IRISH_GRID)
    area = grid.area_of_use
    if area is None:
        raise PlaceError(f"the coordinate library knows no area for {IRISH_GRID}")
    return pyproj.Transformer.from_crs(grid, WORLD, always_xy=True), area.bounds


@functools.cache
def _to_irish_grid() -> pyproj.Transformer:
    """Return the way from WGS 84 to the Irish Grid; it is slow to make, so it is made once."""
    return pyproj.Transformer.from_crs(WORLD, IRISH_GRID, always_xy=True)
