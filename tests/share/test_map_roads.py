"""Roads on the map and turns on the terminal: from anyone's data, bounded, credited and inert."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from routing.farm.folder import read_farm
from routing.round import Round
from routing.share.map.map import round_map
from routing.share.wording.turns import print_turns, turn_lines
from routing.stages.write import background
from routing.travel.background import Background, PlaceName
from routing.travel.roads.extract import Extract
from routing.travel.roads.store import LARGEST_BACKGROUND, write_store
from routing.travel.roads.store import background as cut_out
from routing.travel.thin import thinned
from tests.share.browser import CHROMIUM, Opener
from tests.share.sample import sample_round

DEMO = Path(__file__).parents[2] / "examples" / "hollin-vale"
NASTY = "<script>alert(1)</script> ${x} {{ 7*7 }} </script><!--"
chromium = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no Chromium here")


@pytest.fixture(scope="module")
def demo(hollin_vale: Round) -> tuple[Round, Background]:
    roads = background(read_farm(DEMO), hollin_vale)
    assert roads is not None
    return hollin_vale, roads


def test_without_a_road_map_the_page_says_lines_are_straight() -> None:
    html = round_map(sample_round())
    assert "Straight lines between stops, not roads." in html
    assert "drawLand" not in html
    assert "credit" not in html


def test_the_demo_s_map_is_small_repeats_and_names_whose_it_is(demo: tuple[Round, Background]) -> None:
    html = round_map(*demo)
    assert html == round_map(*demo)
    assert "Lines between stops follow the road map" in html
    assert "Map: <bdi>Invented map of Hollin Vale</bdi>" in html
    assert len(html.encode()) < 1_000_000


def test_a_county_s_background_stays_within_its_bound(tmp_path: Path) -> None:
    """Fifteen thousand lanes of forty points each, every point a bend of 30 m: over 1 million characters as they are."""
    chance = np.random.default_rng(1)
    extract = Extract()
    for way in range(15_000):
        start = chance.integers([520_000_000, -30_000_000], [524_000_000, -24_000_000])
        points = start + np.cumsum(chance.integers(-3000, 3000, size=(40, 2)), axis=0)
        extract.nodes.extend(range(40))
        extract.latitudes.extend(points[:, 0].tolist())
        extract.longitudes.extend(points[:, 1].tolist())
        extract.ways.append(way)
        extract.tags.append({"highway": ("unclassified", "track", "tertiary", "primary")[way % 4]})
        extract.starts.append(len(extract.nodes))
    write_store(extract, tmp_path / "lines.npz")
    roads = cut_out(tmp_path / "lines.npz", (52.0, -3.0, 52.4, -2.4), "test")
    size = sum(len(line) for lines in roads.lines.values() for line in lines)
    assert 0 < size <= LARGEST_BACKGROUND
    assert roads.lines["main"]
    assert len(round_map(sample_round(), roads).encode()) < 1_000_000


def test_thinning_keeps_ends_and_stays_close() -> None:
    """A bend of 11 m (1e-4 degrees) in the middle goes at 20 m and stays at 5 m."""
    line = np.array([[52.0, -3.0], [52.0001, -2.995], [52.0, -2.99]])
    assert thinned(line, 20).tolist() == [line[0].tolist(), line[2].tolist()]
    assert thinned(line, 5).tolist() == line.tolist()


def test_turns_are_told_for_every_drive_and_cleaned(demo: tuple[Round, Background]) -> None:
    round_, _ = demo
    day = round_.itineraries[0]
    lines = turn_lines(round_)
    assert len(lines) == len(day.stops) + 1
    assert all(turn.endswith(("miles)", "yards)")) for _, turns in lines for turn in turns)
    drive = day.stops[0].drive.model_copy(update={"turns": ("Turn left onto \x1b[31mRed\u202e [bold]Lane. (1 miles)",)})
    stops = (day.stops[0].model_copy(update={"drive": drive}), *day.stops[1:])
    hostile = round_.model_copy(update={"itineraries": (day.model_copy(update={"stops": stops}),)})
    out = io.StringIO()
    print_turns(hostile, Console(file=out, width=100))
    assert "\x1b" not in out.getvalue()
    assert "\u202e" not in out.getvalue()
    assert "[bold]Lane" in out.getvalue()


def test_drives_without_a_way_say_so() -> None:
    assert {turns for _, turns in turn_lines(sample_round())} == {("no turns are known for this drive",)}


@chromium
def test_the_roads_are_drawn_under_the_round_with_names_that_are_only_text(
    opened: Opener,
    demo: tuple[Round, Background],
) -> None:
    round_, roads = demo
    names = (*roads.names, PlaceName(NASTY, round_.base_latitude + 0.02, round_.base_longitude, 0))
    page = opened(round_map(round_, Background(roads.lines, names, NASTY)))
    assert page.locator(".leaflet-roads-pane canvas").count() == 1
    assert page.locator(".map path.way").count() == 1
    assert page.locator(".map .arrow").count() == len(round_.itineraries[0].stops) + 1
    assert page.locator(".place-name", has_text="Hollinford").is_visible()
    assert page.locator(".place-name", has_text="{{ 7*7 }}").count() == 1
    assert page.locator(".credit").is_visible()
    drawn = """canvas => new Set(canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data).size"""
    assert page.locator(".leaflet-roads-pane canvas").evaluate(drawn) > 5  # shades of more than one colour
