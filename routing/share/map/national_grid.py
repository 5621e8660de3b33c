"""The national grid over a map of Britain or Ireland: lines a kilometre apart, with numbers and letters to read."""

from __future__ import annotations

from typing import Any

import numpy as np
import pyproj

from routing.farm.models import Place
from routing.farm.place_to_grid import grid_reference
from routing.share.map.map_shapes import Bounds, Point
from routing.share.pages.inline import script_value
from routing.travel.polyline import encode

FINE_KILOMETRES = 150
"""Over a wider map only every tenth line is drawn."""
WIDEST_KILOMETRES = 1_500
_SQUARE = 100
"""Kilometres of a lettered square."""
_PIECE = 10
"""Kilometres of a line that are drawn straight: at 60 degrees north that is within 4 m of the line."""
_AROUND = 1.2
"""The grid reaches so many times the longer side of the bounds from their middle."""
_DECIMALS = 5
_POLE, _FARTHEST_EAST = 90, 180
"""Degrees, of latitude and of longitude."""
_BRITISH, _IRISH = "EPSG:27700", "EPSG:29903"

WORDS = (
    "Grid lines are the national grid's, 1 km apart, from afar 10 km. To read out where a place is: the letters in the "
    "corner, the number at the foot of the line on its left, the number at the side of the line below it."
)


def national_grid(base: Point, bounds: Bounds) -> dict[str, Any] | None:
    """Return the grid around a map's bounds as the page's script draws it; None off both grids.

    `east` and `north` are lines, from west and from south: kilometres from the grid's origin, and an encoded polyline
    of five decimals. `squares` has the letters of each square of 100 km by its column and row from that origin.
    The British grid is within about 5 m of OSTN15, the Irish one of its own.
    """
    letters = _letters(base.latitude, base.longitude)
    if not letters:
        return None
    grid = _IRISH if len(letters) == 1 else _BRITISH
    there = pyproj.Transformer.from_crs("EPSG:4326", grid, always_xy=True)
    back = pyproj.Transformer.from_crs(grid, "EPSG:4326", always_xy=True)
    west, south, east, north = _kilometres(there, bounds)
    if max(east - west, north - south) > WIDEST_KILOMETRES:
        return None
    step = 1 if max(east - west, north - south) <= FINE_KILOMETRES else _PIECE
    ups = _from_to(south, north, _PIECE)
    alongs = _from_to(west, east, _PIECE)
    return {
        "east": [[at, _line(back, [(at, up) for up in ups])] for at in _from_to(west, east, step)],
        "north": [[at, _line(back, [(along, at) for along in alongs])] for at in _from_to(south, north, step)],
        "squares": _squares(back, (west, south, east, north), len(letters)),
    }


def grid_script(grid: dict[str, Any] | None, box: str) -> str:
    """Return the script that draws the grid on the map in `box`; nothing where there is none."""
    return "" if grid is None else f"drawGrid({box}, {script_value(grid)});\n"


def _kilometres(there: pyproj.Transformer, bounds: Bounds) -> tuple[int, int, int, int]:
    """Return a box around the bounds that fills a frame of any form and more: west, south, east and north."""
    ups = np.array([bounds.south_west.latitude, bounds.north_east.latitude])
    alongs = np.array([bounds.south_west.longitude, bounds.north_east.longitude])
    shrink = np.cos(np.radians(ups.mean()))
    half = _AROUND * max(np.ptp(ups), np.ptp(alongs) * shrink)
    ups = ups.mean() + np.array([-half, half])
    alongs = alongs.mean() + np.array([-half, half]) / shrink
    easts, norths = there.transform(np.repeat(alongs, 2), np.tile(ups, 2))
    low = [int(np.floor(min(values) / 1000 / _PIECE)) * _PIECE for values in (easts, norths)]
    high = [int(np.ceil(max(values) / 1000 / _PIECE)) * _PIECE for values in (easts, norths)]
    return low[0], low[1], high[0], high[1]


def _from_to(first: int, last: int, step: int) -> list[int]:
    return list(range(first, last + 1, step))


def _line(back: pyproj.Transformer, kilometres: list[tuple[int, int]]) -> str:
    easts, norths = np.array(kilometres).T * 1000.0
    alongs, ups = back.transform(easts, norths)
    units = np.round(np.stack([ups, alongs], axis=1) * 10**_DECIMALS).astype(int)
    return encode(map(tuple, units.tolist()))


def _squares(back: pyproj.Transformer, box: tuple[int, int, int, int], letters: int) -> dict[str, str]:
    """Return the letters of each square that the box touches, where a place in it has a reference on this grid."""
    west, south, east, north = box
    found = {}
    for column in range(west // _SQUARE, east // _SQUARE + 1):
        for row in range(south // _SQUARE, north // _SQUARE + 1):
            for along, up in ((50, 50), (20, 20), (80, 20), (20, 80), (80, 80), (2, 2), (98, 2), (2, 98), (98, 98)):
                place = back.transform((column * _SQUARE + along) * 1000.0, (row * _SQUARE + up) * 1000.0)
                name = _letters(place[1], place[0])
                if len(name) == letters:
                    found[f"{column},{row}"] = name
                    break
    return found


def _letters(latitude: float, longitude: float) -> str:
    """Return the letters of a place's reference; none off both grids."""
    if not (abs(latitude) <= _POLE and abs(longitude) <= _FARTHEST_EAST):
        return ""
    return grid_reference(Place(latitude=latitude, longitude=longitude)).split(" ")[0]
