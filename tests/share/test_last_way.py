"""The picture of the last stretch to a stop: what is drawn, where it is drawn, and how much of it."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from routing.round import Drive, Round, StoppingPlace
from routing.share.map.last_way import LARGEST, SIDE, last_ways
from routing.share.pages.helper_page import helper_page
from routing.travel.background import Background, RoadClass
from routing.travel.land import Land, LineKind, Mark, RoadName
from routing.travel.leg_origin import LegOrigin
from routing.travel.polyline import encode
from tests.share.browser import CHROMIUM, Opener
from tests.share.long_day import long_day
from tests.share.sample import HOSTILE, alder, sample_round
from tests.share.test_map_size import fullest

VAN = (52.71, -2.93)
HIVES = (52.7109, -2.93)  # 100 m north: a degree of latitude is 111.2 km


def units(*points: tuple[float, float]) -> str:
    return encode([(round(up * 1e5), round(along * 1e5)) for up, along in points])


LANE = units((52.70, -2.93), VAN)
STREAM = units((52.70, -2.9281), (52.72, -2.9281))


def one_stop(**changes: object) -> Round:
    day = alder()
    way = encode([(round(up * 1e6), round(along * 1e6)) for up, along in ((52.70, -2.93), VAN)])
    stop = day.stops[0].model_copy(
        update={
            "latitude": HIVES[0],
            "longitude": HIVES[1],
            "stopping_place": StoppingPlace(latitude=VAN[0], longitude=VAN[1], road="Elm Lane"),
            "drive": Drive(seconds=60, metres=1112, origin=LegOrigin.ROAD, shape=way),
            **changes,
        }
    )
    return sample_round(itineraries=(day.model_copy(update={"stops": (stop,)}),), left_out=())


def background(name: str = "Elm Lane") -> Background:
    roads: dict[RoadClass, tuple[str, ...]] = {"lane": (LANE,)}
    lines: dict[LineKind, tuple[str, ...]] = {"stream": (STREAM,)}
    marks = (Mark("gate", "", 52.709, -2.93), Mark("gate", "", 52.69, -2.93))
    names = (RoadName(name, 52.7075, -2.93, 90, 400, 2, numbered=False),)
    return Background(roads, (), "nobody", Land({}, lines, marks, names))


def picture(round_: Round, roads: Background | None) -> str:
    return str(last_ways(round_, round_.itineraries[0], ["1"], roads)[0])


def test_without_a_road_map_there_is_none() -> None:
    assert picture(one_stop(), None) == ""


def test_van_hives_walk_gate_and_way_stand_where_they_are() -> None:
    """500 m are half of the picture, so 100 m north are a tenth of it up; the gate lies 111 m south of the van."""
    drawn = picture(one_stop(), background())
    middle, metre = SIDE / 2, SIDE / 1000
    hives = re.search(r'class="l-hives" cx="([\d.]+)" cy="([\d.]+)"', drawn)
    assert hives is not None
    assert float(hives[1]) == pytest.approx(middle, abs=0.2)
    assert float(hives[2]) == pytest.approx(middle - 100 * metre, abs=0.3)
    (gate,) = re.findall(r'class="l-gate" transform="translate\(([\d.]+) ([\d.]+)\)"', drawn)  # the far one is left out
    assert (float(gate[0]), float(gate[1])) == pytest.approx((middle, middle + 111.2 * metre), abs=0.3)
    assert f'd="M{middle} {middle}L{hives[1]} {hives[2]}"' in drawn
    way = re.search(r'class="l-way" d="M(\d+) (\d+)l0(-\d+)"', drawn)
    assert way is not None
    assert int(way[2]) + int(way[3]) == pytest.approx(middle, abs=1)
    stream = re.search(r'class="l-stream" d="M(\d+) ', drawn)
    assert stream is not None  # 0.0019 degrees east, 128 m at this latitude
    assert int(stream[1]) == pytest.approx(middle + 0.0019 * 111_195 * math.cos(math.radians(52.71)) * metre, abs=1.5)
    assert ">Elm Lane<" in drawn
    assert ">100 yards<" in drawn


def test_where_only_the_site_is_known_there_is_neither_van_nor_walk() -> None:
    drawn = picture(one_stop(stopping_place=None), background())
    assert "l-hives" in drawn
    assert "l-van" not in drawn
    assert "l-walk" not in drawn


def test_hives_farther_off_are_in_the_picture_too() -> None:
    drawn = picture(one_stop(latitude=52.722), background())  # 1.3 km from the van
    hives = re.search(r'cy="([\d.]+)"', drawn)
    assert hives is not None
    assert 10 < float(hives[1]) < SIDE / 2


def test_names_of_roads_are_text_and_nothing_more() -> None:
    drawn = picture(one_stop(), background(HOSTILE))
    assert "<img" not in drawn
    assert "<script" not in drawn


def test_the_pictures_of_a_long_day_on_the_fullest_map_stay_small() -> None:
    round_ = long_day(20)
    drawn = last_ways(round_, round_.itineraries[0], [str(n) for n in range(1, 21)], fullest())
    assert all(drawn)
    assert sum(map(len, drawn)) < 1.5 * LARGEST


@pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no Chromium here")
def test_it_is_opened_at_its_stop(opened: Opener) -> None:
    page = opened(helper_page(one_stop(), 0, roads=background()), 360)
    assert page.locator(".last-way").is_hidden()
    page.get_by_text("The last 500 m", exact=True).click()
    assert page.locator(".last-way").is_visible()
    assert "dots: straight from it to the hives" in page.locator(".last-figure figcaption").inner_text()
