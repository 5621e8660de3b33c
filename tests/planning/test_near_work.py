"""The driving that left-out work adds to a day: over all gaps of the day, one way after the other."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from routing.planning.near_work import _least_detours


def by_hand(drives: list[list[int]], places: list[int], there: int) -> int | None:
    more = [
        drives[here][there] + drives[there][after] - drives[here][after]
        for here, after in pairwise(places)
        if drives[here][there] >= 0 and drives[there][after] >= 0
    ]
    return max(0, min(more)) if more else None


@given(st.data())
def test_least_detours_are_those_of_each_gap_looked_at(data: st.DataObject) -> None:
    size = data.draw(st.integers(2, 6))
    drive = st.one_of(st.just(-1), st.integers(0, 3000))
    drives = [[0 if here == there else data.draw(drive) for there in range(size)] for here in range(size)]
    stops = data.draw(st.lists(st.integers(1, size - 1), max_size=5))
    there = data.draw(st.lists(st.integers(1, size - 1), max_size=4))
    places = [0, *stops, 0]
    found = _least_detours(np.array(drives, dtype=np.int32), places, there)
    assert found == [by_hand(drives, places, each) for each in there]
