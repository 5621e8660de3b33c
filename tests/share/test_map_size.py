"""How large a page with a map is, and how many sheets it takes on paper."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from routing.share.map.map import round_map
from routing.share.pages.helper_page import helper_page
from routing.travel.background import Background, RoadClass
from routing.travel.land import AreaKind, Land
from routing.travel.polyline import encode
from routing.travel.roads.land_cut import LARGEST_LAND
from routing.travel.roads.store import LARGEST_BACKGROUND
from tests.share.browser import CHROMIUM, Opener
from tests.share.long_day import long_day
from tests.share.sample import sample_round
from tests.share.test_map_names import crowded_round, land_of

chromium = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no Chromium here")


def texts(characters: int, seed: int) -> tuple[str, ...]:
    """Return ragged rings with about so many characters together, around the sample's base."""
    chance = np.random.default_rng(seed)
    found: list[str] = []
    while sum(map(len, found)) < characters - 200:
        line = chance.integers([5252000, -310000], [5270000, -280000]) + np.cumsum(
            chance.integers(-40, 40, size=(40, 2)), axis=0
        )
        points = [(up, along) for up, along in line.tolist()]
        found.append(encode([*points, points[0]]))
    return tuple(found)


def fullest() -> Background:
    """Return a background with as many characters as may be."""
    kinds: tuple[RoadClass, ...] = ("main", "lane", "track")
    areas: tuple[AreaKind, ...] = ("wood", "water")
    land = land_of(700)
    rings: dict[AreaKind, tuple[tuple[str, ...], ...]] = {
        kind: tuple((ring,) for ring in texts(LARGEST_LAND // 2, n)) for n, kind in enumerate(areas)
    }
    lines = {kind: texts(LARGEST_BACKGROUND // 3, n + 5) for n, kind in enumerate(kinds)}
    return Background(lines, (), "nobody", Land(rings, {}, land.marks[:160], land.road_names))


def test_a_page_with_the_fullest_background_and_eighty_sites_is_below_a_megabyte() -> None:
    background = fullest()
    assert sum(len(text) for lines in background.lines.values() for text in lines) > 0.9 * LARGEST_BACKGROUND
    assert len(round_map(crowded_round(80), background).encode()) < 1_000_000
    assert len(helper_page(long_day(20), 0, roads=background).encode()) < 1_000_000


def sheets(opened: Opener, html: str, file: Path) -> int:
    page = opened(html)
    page.pdf(path=file, prefer_css_page_size=True)
    return len(re.findall(rb"/Type\s*/Page\b", file.read_bytes()))


@chromium
def test_the_map_of_a_day_takes_two_sides(opened: Opener, tmp_path: Path) -> None:
    assert sheets(opened, round_map(sample_round()), tmp_path / "map.pdf") <= 2


@chromium
def test_paper_gets_lines_and_the_screen_a_canvas_again(opened: Opener) -> None:
    page = opened(round_map(sample_round(), fullest()))
    assert page.locator(".leaflet-roads-pane canvas").count() == 1
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert page.locator(".leaflet-roads-pane path.land").count() > 3
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert page.locator(".leaflet-roads-pane path.land").count() == 0
    assert page.locator(".leaflet-roads-pane canvas").count() == 1
