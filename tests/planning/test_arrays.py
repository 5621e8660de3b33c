"""Plans from plain arrays: what comes back is what went in, to the second."""

from __future__ import annotations

from typing import Any
from unittest.mock import patch

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from routing.errors import AskedError
from routing.planning.array_checks import LARGEST
from routing.planning.arrays import plan_arrays
from routing.planning.search.solution import Solution

HOUR = 3600


def line(**changes: Any) -> dict[str, Any]:
    """Return three places on a line, 10, 20 and 30 minutes from base, with half an hour of work at each."""
    points = np.array([0, 600, 1200, 1800])
    return {
        "travel_seconds": np.abs(points[:, None] - points[None, :]),
        "work_seconds": [1800, 1800, 1800],
        "windows": [[8 * HOUR, 16 * HOUR]] * 3,
        "shift": (7 * HOUR, 17 * HOUR),
    } | changes


def test_a_line_is_driven_out_and_back() -> None:
    """An hour of driving and 90 minutes of work: away 2 h 30, proven, nothing left out; base is left at 7:30 or later."""
    plan = plan_arrays(**line())
    assert plan.proven
    assert plan.away_seconds == plan.away_bound == 2.5 * HOUR
    assert plan.left_out == ()
    assert plan.served == plan.served_bounds == (3, 0, 0, 0)
    (route,) = plan.routes
    assert sorted(stop.place for stop in route.stops) == [1, 2, 3]
    assert route.home - route.leave == 2.5 * HOUR
    assert all(stop.finish - stop.start == 1800 and stop.start >= 8 * HOUR for stop in route.stops)


def test_rank_beats_any_sum_of_prizes_below_it() -> None:
    """There is time for one place; the must of prize 1 is done and the wants of prize 100 are not."""
    shift = (8 * HOUR, 9 * HOUR + 1800)
    plan = plan_arrays(**line(shift=shift, ranks=[1, 1, 0], prizes=[100, 100, 1]))
    assert plan.served == (1, 0, 0, 0)
    assert plan.left_out == (1, 2)


def test_a_crew_that_may_leave_base_thrice_carries_three_loads() -> None:
    """Each place is a load of its own: 20 + 40 + 60 min of driving, 90 of work, and two loadings of 15 in between."""
    once = plan_arrays(**line(loads=[10, 10, 10], capacity=10))
    assert once.served == (1, 0, 0, 0)
    plan = plan_arrays(**line(loads=[10, 10, 10], capacity=10, most_trips=3, reload_seconds=900))
    assert plan.proven
    assert plan.served == (3, 0, 0, 0)
    (route,) = plan.routes
    assert route.returns == (1, 2)
    assert plan.away_seconds == plan.away_bound == (20 + 40 + 60 + 90 + 2 * 15) * 60
    twice = plan_arrays(**line(loads=[10, 10, 10], capacity=10, most_trips=2, reload_seconds=900))
    assert twice.served == (2, 0, 0, 0)
    with pytest.raises(AskedError, match="most_trips is 0; it must be from 1"):
        plan_arrays(**line(most_trips=0))


def test_days_crews_and_loads_share_the_places() -> None:
    """Each carries one load of 10, so three places need three of the four crew-days, and closed days are kept closed."""
    span = [8 * HOUR, 16 * HOUR]
    shut = [1, 0]
    plan = plan_arrays(
        **line(
            days=2, crews=2, loads=[10, 10, 10], capacity=10, windows=[[span, shut, shut], [span, span, span]], work=5
        )
    )
    assert plan.left_out == ()
    assert len(plan.routes) == 3
    assert {stop.place: route.day for route in plan.routes for stop in route.stops} == {1: 0, 2: 1, 3: 1}


def test_crews_may_take_different_times() -> None:
    """The quick crew of two does the work; with the slow one the day would be too short."""
    work = [[3 * HOUR] * 3, [HOUR] * 3]
    plan = plan_arrays(**line(crews=2, work_seconds=work, shift=(8 * HOUR, 13 * HOUR), work=5))
    assert plan.left_out == ()
    assert [route.crew for route in plan.routes] == [1]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"work_seconds": [1800, 1800.5, 1]}, r"work_seconds\[1\] is 1800.5; it must be a whole number"),
        ({"work_seconds": [1800, 1]}, r"work_seconds must have the shape \(3,\)"),
        ({"work_seconds": [1, -1, 1]}, r"work_seconds\[1\] is -1"),
        ({"work_seconds": [1, "ten", 1]}, r"work_seconds\[1\] is 'ten'"),
        ({"work_seconds": [1, None, 1]}, r"work_seconds\[1\] is None"),
        ({"work_seconds": [True, False, True]}, r"work_seconds\[0\] is True"),
        ({"work_seconds": [1, 2**70, 1]}, r"work_seconds\[1\] is 1180591620717411303424; it must be from 0"),
        ({"work_seconds": np.array([1, 2**64 - 1, 1], dtype=np.uint64)}, r"work_seconds\[1\] is 18446744073709551615"),
        ({"work_seconds": [[1, 1, 1], [1, 1]]}, "work_seconds must be an array of numbers, with rows of one length"),
        ({"windows": [[0, 1]]}, "windows must have the shape"),
        ({"windows": [[0, 9], [16 * HOUR, 8 * HOUR], [0, 9]]}, r"windows\[1\] closes before it opens"),
        ({"ranks": [0, 1, 4]}, r"ranks\[2\] is 4; it must be from 0 to 3"),
        ({"prizes": [0, 1, 1]}, r"prizes\[0\] is 0; it must be from 1"),
        ({"loads": [-1, 1, 1]}, r"loads\[0\] is -1; it must be from 0"),
        ({"capacity": -1}, "capacity is -1; it must be from 0"),
        ({"capacity": [1, 2]}, r"capacity must have one number or the shape \(1,\); its shape is \(2,\)"),
        ({"travel_seconds": [[0, 1], [1, float("nan")]]}, r"travel_seconds\[1, 1\] is nan"),
        ({"travel_seconds": [[0, float("inf")], [1, 0]]}, r"travel_seconds\[0, 1\] is inf"),
        ({"travel_seconds": [[0, 1, 2], [1, 0, 2]]}, "square"),
        ({"travel_seconds": 5}, "square"),
        ({"travel_seconds": []}, "square"),
        ({"metres": -np.ones((4, 4))}, r"metres\[0, 0\] and travel_seconds there do not agree"),
        ({"shift": (float("nan"), 9 * HOUR)}, r"shift\[0\] is nan"),
        ({"shift": (17 * HOUR, 7 * HOUR)}, "shift ends before it begins"),
        ({"shift": 7}, r"shift must have the shape \(2,\); it is one number"),
        ({"break_seconds": -1}, "break_seconds is -1"),
        ({"break_seconds": 0.5}, "break_seconds is 0.5"),
        ({"crews": 0}, "crews is 0"),
        ({"days": True}, "days is True"),
        ({"days": "2"}, "days is '2'"),
        ({"seconds": float("nan")}, "seconds must be one number above 0"),
        ({"work": 0}, "work must be one number above 0"),
        ({"seed": -1}, "seed is -1"),
        ({"progress": 3}, "progress must be a function"),
        ({"distance_first": "yes"}, "distance_first must be True or False"),
    ],
)
def test_arrays_that_do_not_fit_are_refused_by_name_and_place(changes: dict[str, Any], said: str) -> None:
    """The message names the argument, the place in it, and what it should be."""
    with pytest.raises(AskedError, match=said):
        plan_arrays(**line(**changes))


ARGUMENTS = (
    *("travel_seconds", "work_seconds", "windows", "shift", "crews", "days", "metres", "loads", "capacity", "ranks"),
    *("prizes", "most_trips", "reload_seconds", "break_seconds", "break_after_seconds", "seed"),
)
ODD: st.SearchStrategy[Any] = st.one_of(
    st.sampled_from([None, True, "x", b"x", float("nan"), float("inf"), 0.5, 2**63, 2**64, -(2**63), 10**400, 1j, {}]),
    st.integers(-(2**70), 2**70),
    st.floats(),
)
HOSTILE = st.one_of(
    ODD,
    st.lists(ODD, max_size=4),
    st.lists(st.lists(ODD, max_size=4), min_size=2, max_size=4),
    arrays(
        st.sampled_from([np.int8, np.uint64, np.float64, np.bool_, np.complex128]),
        st.sampled_from([(), (0,), (2,), (3,), (3, 2), (4, 4), (1, 3, 2)]),
    ),
)


NOTHING = Solution(((),), proven=True, days_proven=True, rank_bounds=(0, 0, 0, 0), away_bound=0)


def refusal(**changes: Any) -> str:
    """Return why arrays are refused, empty where they are not; what is good is not planned, only read."""
    with patch("routing.planning.arrays.solve", return_value=NOTHING):
        try:
            plan_arrays(**line(**changes))
        except AskedError as error:
            return str(error)
    return ""


@settings(max_examples=400, deadline=None)
@given(name=st.sampled_from(ARGUMENTS), value=HOSTILE)
def test_whatever_is_given_is_taken_or_refused_in_words_that_name_it(name: str, value: Any) -> None:
    """No error comes from inside; square travel of another size is told of the first array that does not go with it."""
    why = refusal(**{name: value})
    assert not why or why.startswith(name) or (name == "travel_seconds" and why.startswith("work_seconds"))


@settings(max_examples=200, deadline=None)
@given(number=st.integers(-(2**70), 2**70), place=st.integers(0, 2))
@example(number=2**63, place=0)
def test_a_number_is_taken_as_it_is_or_refused_at_its_place(number: int, place: int) -> None:
    """Nothing is wrapped around: what 64 bits do not hold is refused as what is beyond the limit is."""
    loads = [1, 1, 1]
    loads[place] = number
    why = refusal(loads=loads)
    assert why.startswith(f"loads[{place}] is {number}"[:40]) if not 0 <= number <= LARGEST else not why


def test_days_with_the_largest_numbers_are_planned() -> None:
    """Drives of a quarter of 10 ** 9 seconds: two between three places, one home, all within the largest shift."""
    far = np.full((4, 4), LARGEST // 4)
    plan = plan_arrays(
        **line(travel_seconds=far, windows=[[0, LARGEST]] * 3, shift=(-LARGEST, LARGEST), loads=[LARGEST] * 3)
    )
    assert plan.served == (3, 0, 0, 0)


def test_an_option_that_there_is_not_is_refused_by_name() -> None:
    with pytest.raises(TypeError, match="no option 'breaks'"):
        plan_arrays(**line(breaks=1))
