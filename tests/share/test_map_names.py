"""Nothing on the map covers anything: measured from the boxes of pins, names and landmarks in a real browser."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Page

from routing.farm.folder import read_farm
from routing.round import Round
from routing.share.map.map import round_map
from routing.share.map.map_days import day_class, person_of
from routing.stages.write import background
from routing.travel.background import Background
from routing.travel.land import Land, Mark, RoadName
from tests.share.browser import CHROMIUM, Opener
from tests.share.sample import alder, rowan, sample_round

pytestmark = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no Chromium here")

DEMO = Path(__file__).parents[2] / "examples" / "hollin-vale"
OVERLAPS = """() => {
  const signs = ".pin, .house, .van, .tag, .arrow, .place-name > bdi, .landmark, .road-name, .grid-number, .leaflet-control";
  const seen = Array.from(document.querySelector(".map").querySelectorAll(signs))
    .filter((each) => getComputedStyle(each).visibility === "visible" && each.getBoundingClientRect().width > 0);
  const places = seen.map((each) => each.getBoundingClientRect());
  const meet = (a, b) => a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1;
  const found = places.flatMap((place, n) => places.slice(n + 1).map((other, m) => [n, n + 1 + m])
    .filter((pair) => meet(places[pair[0]], places[pair[1]])));
  return [seen.length, found.map((pair) => pair.map((n) => seen[n].className + " " + seen[n].textContent))];
}"""


VALE = ([52.52, -3.10], [52.70, -2.80])


def crowded_round(sites: int, box: tuple[list[float], list[float]] = VALE) -> Round:
    """Return two crews' rounds of so many sites that lie by chance in a box, some of them close together."""
    chance = np.random.default_rng(7)
    places = chance.uniform(*box, size=(sites, 2))
    places[::5] = places[1::5] + 0.0008
    days = []
    for number, day in enumerate((alder(), rowan())):
        own = places[number::2]
        stops = tuple(
            day.stops[0].model_copy(
                update={
                    "number": n,
                    "site": f"s{number}-{n}",
                    "name": f"Field with a name {n}",
                    "latitude": up,
                    "longitude": along,
                    "drive": day.drive_home,
                }
            )
            for n, (up, along) in enumerate(own.tolist(), start=1)
        )
        days.append(day.model_copy(update={"stops": stops}))
    return sample_round(itineraries=tuple(days))


def land_of(sites: int) -> Land:
    """Return landmarks and road names by chance in the same square."""
    chance = np.random.default_rng(8)
    places = chance.uniform([52.52, -3.10], [52.70, -2.80], size=(sites, 2)).tolist()
    return Land(
        marks=tuple(Mark("church", f"St {n}", up, along) for n, (up, along) in enumerate(places)),
        road_names=tuple(
            RoadName(f"Lane {n}", up, along + 0.001, n % 180 - 90, 900, 0, numbered=n % 2 == 0)
            for n, (up, along) in enumerate(places)
        ),
    )


def overlaps_at_every_scale(page: Page) -> list[int]:
    """Return how many signs are shown at each of six scales. Asserts that none meet, there and after a shift.

    `void`: else the whole map is handed over, value by value, which takes seconds.
    """
    shown = []
    for nearer in (-2, 1, 1, 1.5, 1, 2):
        page.evaluate(f"void map_1.setZoom(map_1.getZoom() + ({nearer}), {{animate: false}})")
        signs, overlaps = page.evaluate(OVERLAPS)
        assert overlaps == []
        page.evaluate("void map_1.panBy([70, 40], {animate: false})")
        assert page.evaluate(OVERLAPS)[1] == []
        shown.append(signs)
    return shown


@pytest.mark.parametrize("width", [360, 1280])
def test_nothing_covers_anything_on_the_demo(opened: Opener, hollin_vale: Round, width: int) -> None:
    farm = read_farm(DEMO)
    page = opened(round_map(hollin_vale, background(farm, hollin_vale)), width)
    stops = len(hollin_vale.itineraries[0].stops)
    assert page.locator(".map .bare:not(.crowded) > .pin:not(.pin-out)").count() == stops  # all, at the first look
    assert min(overlaps_at_every_scale(page)) > 0
    page.evaluate("void map_1.setZoom(10)")  # as by hand, with the library's own motion
    page.wait_for_timeout(600)
    assert page.evaluate(OVERLAPS)[1] == []


@pytest.mark.parametrize("width", [360, 768, 1280, 1920])
def test_nothing_covers_anything_on_eighty_sites_by_chance(opened: Opener, width: int) -> None:
    page = opened(round_map(crowded_round(80), Background({}, (), "nobody", land_of(150))), width)
    assert min(overlaps_at_every_scale(page)) > 0


def test_a_name_that_had_no_room_from_afar_is_there_from_near(opened: Opener) -> None:
    round_ = crowded_round(80)
    page = opened(round_map(round_), 360)
    assert page.locator(".map .tag.crowded").count() > 10
    stop = round_.itineraries[0].stops[0]
    page.evaluate(f"void map_1.setView([{stop.latitude}, {stop.longitude}], 17, {{animate: false}})")
    name = page.locator(".map .tag", has_text="Field with a name 1").first
    assert name.is_visible()
    assert "crowded" not in (name.get_attribute("class") or "")


def test_a_pin_beside_its_place_has_a_line_to_it_and_is_tapped_there(opened: Opener) -> None:
    """Two sites 60 m apart lie on one spot from afar: both signs are whole, and the one that moved still opens."""
    day = alder()
    first = day.stops[0]
    near = day.stops[1].model_copy(update={"latitude": first.latitude + 0.0005, "longitude": first.longitude})
    page = opened(round_map(sample_round(itineraries=(day.model_copy(update={"stops": (first, near)}),), left_out=())))
    assert page.locator(".map .leader").count() == 1
    assert page.evaluate(OVERLAPS)[1] == []
    page.locator(".map .aside > .pin").click()
    assert near.name in page.locator(".leaflet-popup-content").inner_text()


def test_a_pin_that_has_room_stands_on_its_place(opened: Opener) -> None:
    page = opened(round_map(sample_round()), 1280)
    away = page.evaluate("""() => Array.from(document.querySelectorAll(".map .bare:not(.aside) > .pin")).map((pin) => {
      const [one, other] = [pin, pin.parentNode].map((each) => each.getBoundingClientRect());
      return Math.hypot(one.left + one.right - other.left - other.right, one.top + one.bottom - other.top - other.bottom) / 2;
    })""")
    assert len(away) > 5
    assert max(away) < 1


def test_left_out_sites_are_quiet_until_they_are_tapped(opened: Opener) -> None:
    page = opened(round_map(sample_round()))
    out = page.locator(".map .pin-out").first
    assert out.bounding_box()["width"] < page.locator(".map .pin-0").first.bounding_box()["width"]  # type: ignore[index]
    assert page.locator(".map .tag.quiet").first.is_hidden()
    out.click()
    assert "Left out: " in page.locator(".leaflet-popup-content").inner_text()


def two_days() -> Round:
    """Return one person's two days, and another's second day."""
    day = alder()
    later = day.model_copy(update={"date": day.date + dt.timedelta(days=1)})
    other = rowan().model_copy(update={"date": later.date})
    return sample_round(itineraries=(day, later, other), dates=(day.date, later.date))


def test_one_person_has_one_colour_and_pattern_on_all_days(opened: Opener) -> None:
    round_ = two_days()
    assert [person_of(round_, index) for index in range(3)] == [0, 0, 1]
    assert [day_class(round_, index) for index in range(3)] == ["day-0", "day-1", "day-1"]
    page = opened(round_map(round_))
    dashes = page.locator(".map path.way").evaluate_all(
        "all => all.map((each) => [each.getAttribute('stroke-dasharray'), getComputedStyle(each).stroke])"
    )
    assert dashes[0] == dashes[1]
    assert dashes[2][0] != dashes[0][0]
    assert dashes[2][1] != dashes[0][1]


def test_the_switch_shows_one_day_and_all_again(opened: Opener) -> None:
    page = opened(round_map(two_days()))
    stops = page.locator(".map .pin:not(.pin-out):visible")
    whole = stops.count()
    page.get_by_role("button", name="18 Dec").click()
    first = stops.count()
    assert page.locator(".map path.way:visible").count() == 1
    assert page.evaluate(OVERLAPS)[1] == []
    page.get_by_role("button", name="19 Dec").click()
    assert page.locator(".map path.way:visible").count() == 2
    page.get_by_role("button", name="All days").click()
    assert stops.count() >= first > 0
    assert stops.count() == whole


def test_many_days_are_chosen_in_a_list_that_takes_one_line_of_the_map(opened: Opener) -> None:
    """Ten buttons were a column of six rows, over the places in that corner."""
    first = alder()
    days = tuple(first.model_copy(update={"date": first.date + dt.timedelta(days=number)}) for number in range(10))
    page = opened(round_map(sample_round(itineraries=days, dates=tuple(day.date for day in days))), width=360)
    choice = page.get_by_label("Which day to show").locator("select")
    assert choice.locator("option").all_inner_texts()[:2] == ["All days", "Wed 18 Dec"]
    assert page.locator(".days button").count() == 0
    box = page.locator(".days").bounding_box()
    assert box is not None
    assert box["height"] < 60
    assert page.locator(".map path.way:visible").count() == 10
    choice.select_option(index=2)
    assert page.locator(".map path.way:visible").count() == 1
    choice.focus()
    page.keyboard.press("Home")
    assert page.locator(".map path.way:visible").count() == 10


def test_a_round_of_one_day_has_no_switch(opened: Opener) -> None:
    assert opened(round_map(sample_round())).locator(".days").count() == 0
