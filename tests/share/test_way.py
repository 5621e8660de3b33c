"""The line of a day: straight between places, or along a road's shape where there is one."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.round import Drive, Round
from routing.share.map import way
from routing.share.map.way import shape_points, way_points
from routing.travel.leg_origin import LegOrigin
from tests.share.sample import sample_round


def encoded(points: list[tuple[int, int]]) -> str:
    """Encode whole steps of a degree's fraction, written from the published description and not from the decoder."""
    text, before = "", (0, 0)
    for point in points:
        for value, last in zip(point, before, strict=True):
            step = value - last
            left = (-step * 2 - 1) if step < 0 else step * 2
            while left >= 32:
                text += chr((left % 32 + 32) + 63)
                left //= 32
            text += chr(left + 63)
        before = point
    return text


def drive(shape: str) -> Drive:
    return Drive(seconds=1, metres=1, origin=LegOrigin.ROAD, shape=shape)


def test_the_published_example_is_read() -> None:
    """Source: Google, Encoded Polyline Algorithm Format: its example has five decimals, so here a tenth of the value."""
    assert shape_points(drive("_p~iF~ps|U_ulLnnqC_mqNvxq`@")) == ((3.85, -12.02), (4.07, -12.095), (4.3252, -12.6453))


@given(st.lists(st.tuples(st.integers(-90_000_000, 90_000_000), st.integers(-180_000_000, 180_000_000)), max_size=20))
def test_what_is_encoded_comes_back(points: list[tuple[int, int]]) -> None:
    assert shape_points(drive(encoded(points))) == tuple(
        (round(north / 1e6, 6), round(east / 1e6, 6)) for north, east in points
    )


@pytest.mark.parametrize("text", ["_p~iF", "_p~iF~", "\x1f\x1f", "é é", "~~~~~~~~~~??", encoded([(91_000_000, 0)])])
def test_what_is_no_shape_is_no_line(text: str) -> None:
    assert shape_points(drive(text)) == ()


def test_without_shapes_the_line_goes_straight_from_stop_to_stop_and_home() -> None:
    round_ = sample_round()
    points = way_points(round_, round_.itineraries[1])
    assert points == ((52.61, -2.95), (52.60, -3.12), (52.72, -3.20), (52.61, -2.95))


def test_with_a_shape_the_line_follows_it_and_holds_no_point_twice_running(monkeypatch: pytest.MonkeyPatch) -> None:
    road = ((52.61, -2.95), (52.615, -3.0), (52.60, -3.12))

    def shape(drive: object) -> tuple[tuple[float, float], ...]:
        return road if drive is round_.itineraries[1].stops[0].drive else ()

    round_: Round = sample_round()
    monkeypatch.setattr(way, "shape_points", shape)
    points = way_points(round_, round_.itineraries[1])
    assert points == (*road, (52.72, -3.20), (52.61, -2.95))
