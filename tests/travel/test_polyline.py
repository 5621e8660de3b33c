"""Encoded lines: the published example, there and back, and broken texts."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.travel.polyline import decode, encode

DEGREES = st.tuples(st.integers(-90_000_000, 90_000_000), st.integers(-180_000_000, 180_000_000))


def test_the_published_example() -> None:
    """Source: developers.google.com/maps/documentation/utilities/polylinealgorithm, precision 5."""
    points = [(38.5, -120.2), (40.7, -120.95), (43.252, -126.453)]
    text = "_p~iF~ps|U_ulLnnqC_mqNvxq`@"
    assert encode((round(up * 1e5), round(along * 1e5)) for up, along in points) == text
    assert decode(text, 5) == points


@settings(deadline=None)
@given(st.lists(DEGREES, max_size=30))
def test_there_and_back(points: list[tuple[int, int]]) -> None:
    assert decode(encode(points)) == [(up / 1e6, along / 1e6) for up, along in points]


@pytest.mark.parametrize("text", ["_", "?", "\x1f??", "_p~iF~ps|U_"])
def test_broken_texts_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="line"):
        decode(text)
