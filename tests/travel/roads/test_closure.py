"""Ways by other places, on matrices that a person can follow."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from routing.travel.legs import UNREACHABLE
from routing.travel.roads.closure import closed


def test_a_way_by_another_place_is_taken_where_it_is_quicker() -> None:
    """0 to 2 takes 100 s; by 1 it is 30 + 40 = 70 s and 300 + 400 m. Back from 2 to 0 the own drive of 60 s stays."""
    seconds = np.array([[0, 30, 100], [35, 0, 40], [60, 45, 0]], dtype=np.int64)
    found = closed(seconds, seconds * 10)
    assert (found.seconds[0, 2], found.metres[0, 2], found.hops(0, 2)) == (70, 700, [0, 1, 2])
    assert (found.seconds[2, 0], found.metres[2, 0], found.hops(2, 0)) == (60, 600, [2, 0])


def test_what_is_reached_by_another_place_is_reachable_and_the_rest_stays_out_of_reach() -> None:
    none = UNREACHABLE
    seconds = np.array([[0, 10, none], [10, 0, 10], [none, none, 0]], dtype=np.int64)
    found = closed(seconds, seconds)
    assert found.seconds.tolist() == [[0, 10, 20], [10, 0, 10], [none, none, 0]]


@given(arrays.arrays(np.int64, st.tuples(st.integers(2, 7)).map(lambda n: n * 2), elements=st.integers(0, 500)))
def test_no_way_by_another_place_is_ever_quicker_and_hops_add_up(seconds: np.ndarray) -> None:
    np.fill_diagonal(seconds, 0)
    found = closed(seconds, seconds * 7)
    by_another = (found.seconds[:, :, None] + found.seconds[None, :, :]).min(axis=1)
    assert (found.seconds <= by_another).all()
    for i, j in np.ndindex(*seconds.shape):
        hops = found.hops(i, j)
        assert sum(int(seconds[a, b]) for a, b in pairwise(hops)) == found.seconds[i, j]
        assert found.metres[i, j] == 7 * found.seconds[i, j]
