"""The national grid on the map: its numbers are those of published points, and they are read off where it stands."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from playwright.sync_api import Page

from routing.share.map.map import round_map
from routing.share.map.map_shapes import Point, bounds_of
from routing.share.map.national_grid import national_grid
from routing.travel.polyline import decode
from tests.share.browser import CHROMIUM, Opener
from tests.share.sample import sample_round

chromium = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no Chromium here")

# Source: Ordnance Survey, OSTN15 test points TP09 and TP27, and the published position and Irish grid reference of the
# Spire of Dublin, O 15904 34671; the same as in the tests of grid references.
POINTS = (
    (51.48936565, -0.11992557, "TQ", 530, 178),
    (53.34978, -6.26028, "O", 315, 234),
)


def crossed(lines: list[list[object]], axis: int, at: tuple[float, float]) -> int:
    """Return the last kilometre whose line lies west (axis 1) or south (axis 0) of a point."""
    found = []
    for kilometre, text in lines:
        points = decode(str(text), 5)
        for one, other in pairwise(points):
            low, high = sorted((one[1 - axis], other[1 - axis]))
            if low <= at[1 - axis] <= high:
                share = (at[1 - axis] - one[1 - axis]) / (other[1 - axis] - one[1 - axis])
                if one[axis] + share * (other[axis] - one[axis]) <= at[axis]:
                    found.append(int(str(kilometre)))
    return max(found)


@pytest.mark.parametrize(("latitude", "longitude", "letters", "east", "north"), POINTS)
def test_a_published_point_lies_in_its_square(
    latitude: float, longitude: float, letters: str, east: int, north: int
) -> None:
    point = Point(latitude, longitude)
    grid = national_grid(point, bounds_of([point, Point(latitude + 0.1, longitude + 0.1)]))
    assert grid is not None
    assert crossed(grid["east"], 1, (latitude, longitude)) == east
    assert crossed(grid["north"], 0, (latitude, longitude)) == north
    assert grid["squares"][f"{east // 100},{north // 100}"] == letters


@pytest.mark.parametrize("place", [Point(47.1, 9.5), Point(48.8, 2.3), Point(-52, 0)])
def test_elsewhere_the_map_keeps_its_own_grid(place: Point) -> None:
    assert national_grid(place, bounds_of([place])) is None


def test_a_map_of_the_whole_island_has_every_tenth_line_only() -> None:
    base = Point(52, -2)
    grid = national_grid(base, bounds_of([base, Point(56, -4)]))
    assert grid is not None
    assert {kilometre % 10 for kilometre, _ in grid["east"] + grid["north"]} == {0}


def numbers(page: Page) -> list[str]:
    return page.locator(".grid-number:visible").all_inner_texts()


@chromium
def test_the_numbers_at_the_edge_follow_the_map(opened: Opener) -> None:
    """The base of the sample lies in SJ 35 01: east of line 35 and north of line 01, a kilometre in from near."""
    page = opened(round_map(sample_round()))
    page.evaluate("void map_1.setView([52.605, -2.95], 14, {animate: false})")
    assert "SJ" in numbers(page)
    assert {"35", "36", "01", "02"} <= set(numbers(page))
    page.evaluate("void map_1.setView([52.505, -2.95], 14, {animate: false})")
    assert "SO" in numbers(page)
    assert "90" in numbers(page)
    page.evaluate("void map_1.setZoom(11, {animate: false})")
    assert {text[-1] for text in numbers(page) if text.isdigit()} == {"0"}


@chromium
def test_a_farm_elsewhere_has_a_grid_of_its_own_units_without_numbers(opened: Opener) -> None:
    page = opened(
        round_map(sample_round(base_latitude=47.1, base_longitude=9.5, itineraries=(), left_out=(), units="km"))
    )
    assert page.locator(".map path.grid").count() == 1
    assert numbers(page) == []
    assert "ft" not in page.locator(".leaflet-control-scale").inner_text()
