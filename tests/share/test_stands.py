"""Where the vehicle stops and where the hives stand are told apart, each under its name."""

from __future__ import annotations

import json

from routing.round import Round, StoppingPlace
from routing.share.exports.geojson import round_geojson
from routing.share.exports.gpx import round_gpx
from routing.share.exports.ical import round_calendar
from routing.share.map.map import round_map
from routing.share.map.way import way_points
from routing.share.pages.helper_page import helper_page
from routing.share.wording.emergency import emergency_card
from routing.share.wording.sheet import round_sheet
from tests.share.nicknamed import nicknamed
from tests.share.sample import sample_round

LANE = StoppingPlace(latitude=52.7123, longitude=-2.9345, road="Mill Lane")
VAN, HIVES = "Van stops: Mill Lane, 52.71230, -2.93450", "Hives: 52.71000, -2.93000"


def parked(place: StoppingPlace = LANE) -> Round:
    """Return the sample with a stopping place at Alder's first stop, Mill Bank, whose hives are at 52.71, -2.93."""
    round_ = sample_round()
    day = round_.itineraries[0]
    stops = (day.stops[0].model_copy(update={"stopping_place": place}), *day.stops[1:])
    return round_.model_copy(update={"itineraries": (day.model_copy(update={"stops": stops}), round_.itineraries[1])})


def test_the_emergency_card_names_both_with_grid_reference_and_coordinates() -> None:
    round_ = parked()
    card = emergency_card(round_, round_.itineraries[0], round_sheet(round_).crews[0])
    van, hives = card.places[0].spots
    assert (van.label, van.road, van.coordinates) == ("Van stops", "Mill Lane", "52.71230, -2.93450")
    assert (hives.label, hives.coordinates) == ("Hives", "52.71000, -2.93000")
    assert van.grid.startswith("SJ 369")
    assert van.grid != hives.grid
    assert [spot.label for spot in card.places[1].spots] == [""]
    page = helper_page(round_, 0)
    for text in ("<b>Van stops:</b> <bdi>Mill Lane</bdi>", van.grid, hives.grid, f"<bdi>{VAN}; {HIVES}</bdi>"):
        assert text in page


def test_the_link_to_drive_there_leads_to_the_stopping_place() -> None:
    page = helper_page(parked(), 0)
    assert 'href="geo:52.7123,-2.9345"' in page
    assert 'href="geo:52.71,-2.93"' not in page


def test_gpx_has_a_point_for_each_and_the_route_leads_to_the_stopping_place() -> None:
    text = round_gpx(parked())
    assert '<wpt lat="52.7123" lon="-2.9345">' in text
    assert '<wpt lat="52.71" lon="-2.93">' in text
    assert "A1 Mill Bank - Van stops" in text
    assert "A1 Mill Bank - Hives" in text
    assert '<rtept lat="52.7123" lon="-2.9345">' in text
    assert '<rtept lat="52.71" lon="-2.93">' not in text


def test_geojson_has_a_feature_for_each() -> None:
    features = json.loads(round_geojson(parked()))["features"]
    found = {
        each["properties"]["role"]: (each["geometry"]["coordinates"], each["properties"].get("text"))
        for each in features
        if each["properties"].get("mark") == "A1"
    }
    assert found == {"van stops": ([-2.9345, 52.7123], VAN), "stop": ([-2.93, 52.71], HIVES)}


def test_the_map_draws_and_names_both() -> None:
    text = round_map(parked())
    assert text.count(VAN) >= 2
    assert HIVES in text
    assert "A square with a stop" in text
    assert "A square with a stop" not in round_map(sample_round())


def test_the_calendar_names_both_and_points_to_the_stopping_place() -> None:
    text = round_calendar(parked()).replace("\r\n ", "")
    assert "GEO:52.7123;-2.9345" in text
    assert "Van stops: Mill Lane\\, 52.71230\\, -2.93450\\; Hives: 52.71000" in text


def test_the_line_ends_at_the_stopping_place() -> None:
    round_ = parked()
    assert way_points(round_, round_.itineraries[0])[1] == (52.7123, -2.9345)


def test_nicknames_hide_a_site_s_name_in_the_road_and_keep_the_place() -> None:
    stop = (
        nicknamed(parked(StoppingPlace(latitude=52.7, longitude=-2.9, road="Mill Bank Road"))).itineraries[0].stops[0]
    )
    assert stop.stopping_place is not None
    assert "Mill Bank" not in stop.stopping_place.road
    assert (stop.stopping_place.latitude, stop.stopping_place.longitude) == (52.7, -2.9)


def test_a_road_s_name_makes_no_element() -> None:
    """Names of roads come from a map that anyone may edit."""
    round_ = parked(StoppingPlace(latitude=52.7, longitude=-2.9, road="<img src=x onerror=window.hurt=1>\x1b\u202e"))
    for text in (helper_page(round_, 0), round_map(round_), round_gpx(round_)):
        assert "<img src=x" not in text
        assert "\x1b" not in text
        assert "\u202e" not in text
