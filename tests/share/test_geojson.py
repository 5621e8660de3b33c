"""GeoJSON follows RFC 7946 by two readers, and by hand where neither looks: the order of the axes."""

import json
from typing import Any

import pytest
from geojson_pydantic import FeatureCollection
from geojson_validator import validate_geometries, validate_structure

from routing.round import Round, Stop
from routing.share.exports.geojson import round_geojson
from tests.share.hostile import broken_round, rounds
from tests.share.sample import itinerary, sample_round, stop


def features(round_: Round, role: str = "") -> list[dict[str, Any]]:
    found = json.loads(round_geojson(round_))["features"]
    return [each for each in found if role in {"", each["properties"]["role"]}]


@pytest.mark.parametrize(
    "round_",
    [sample_round(), sample_round(itineraries=(), left_out=()), broken_round(), *(each for _, each, _ in rounds())],
)
def test_two_readers_accept_it(round_: Round) -> None:
    text = round_geojson(round_)
    FeatureCollection.model_validate_json(text)
    whole = json.loads(text)
    assert validate_structure(whole) == {}
    found = validate_geometries(whole)
    assert (found["invalid"], found["problematic"]) == ({}, {})


def test_longitude_comes_first() -> None:
    """Neither reader can see swapped axes. Source: RFC 7946, section 3.1.1; the base is at 52.61 north, 2.95 west."""
    assert features(sample_round(), "base")[0]["geometry"] == {"type": "Point", "coordinates": [-2.95, 52.61]}
    assert features(sample_round(), "stop")[0]["geometry"]["coordinates"] == [-2.93, 52.71]
    assert features(sample_round(), "left out")[0]["geometry"]["coordinates"] == [-3.30, 52.85]
    assert features(sample_round(), "way")[1]["geometry"] == {
        "type": "LineString",
        "coordinates": [[-2.95, 52.61], [-3.12, 52.60], [-3.20, 52.72], [-2.95, 52.61]],
    }


def test_every_part_of_the_round_is_there() -> None:
    names = [each["properties"].get("name", each["properties"].get("crew")) for each in features(sample_round())]
    assert names == [
        *("The Yard", "Mill Bank", "Long Meadow", "Quarry Top", "Hollow Farm", "Church Orchard", "Upper Dingle"),
        *("Alder", "Rowan", "Far Moor", "Ash Lane", "New Croft"),
    ]
    assert [each["properties"]["reason"] for each in features(sample_round(), "left out")] == [
        *("no vehicle", "no room in the day", "not due"),
    ]
    assert features(sample_round(), "stop")[1]["properties"]["start"] == "2024-12-18T09:35:20+00:00"


def far_stop(number: int, longitude: float) -> Stop:
    return stop(number, f"Stop {number}", (-17.0, longitude), ("08:25:00", "08:25:00", "11:00:00"))


def test_a_way_over_the_antimeridian_is_cut_there() -> None:
    """Source: RFC 7946, section 3.1.9. Half way from 179.5 east to 179.5 west is 180, half way between the latitudes.

    No reader is asked: the one that looks at the antimeridian calls the standard's own example of a cut a crossing.
    """
    day = itinerary("Alder", 2, (far_stop(1, -179.5),), "14:58:10")
    round_ = sample_round(base_latitude=-16.0, base_longitude=179.5, itineraries=(day,), left_out=())
    assert features(round_, "way")[0]["geometry"] == {
        "type": "MultiLineString",
        "coordinates": [
            [[179.5, -16.0], [180.0, -16.5]],
            [[-180.0, -16.5], [-179.5, -17.0], [-180.0, -16.5]],
            [[180.0, -16.5], [179.5, -16.0]],
        ],
    }


def test_a_day_at_base_still_gives_a_line_of_two_positions() -> None:
    """Source: RFC 7946, section 3.1.4."""
    at_base = stop(1, "Yard hives", (52.61, -2.95), ("08:25:00", "08:25:00", "11:00:00"))
    round_ = sample_round(itineraries=(itinerary("Alder", 2, (at_base,), "14:58:10"),))
    assert features(round_, "way")[0]["geometry"]["coordinates"] == [[-2.95, 52.61], [-2.95, 52.61]]


@pytest.mark.parametrize(("_name", "round_", "seen"), rounds())
def test_hostile_text_stays_one_value_and_readable(_name: str, round_: Round, seen: str) -> None:
    base = features(round_, "base")[0]["properties"]
    assert set(base) == {"role", "name"}
    assert seen in json.dumps(features(round_), ensure_ascii=False).replace('\\"', '"').replace("\\\\", "\\")


def test_private_lines_come_only_when_given() -> None:
    assert "4471" not in round_geojson(sample_round())
    assert '"Gate code: 4471"' in round_geojson(sample_round(), {"mill bank": ("Gate code: 4471",)})


def test_the_same_round_gives_the_same_bytes() -> None:
    assert round_geojson(sample_round()) == round_geojson(sample_round())
