"""Plans from plain arrays: what comes back is what went in, to the second."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from routing.errors import AskedError
from routing.planning.arrays import plan_arrays

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
    assert plan.served == plan.served_bounds == (3, 0, 0)
    (route,) = plan.routes
    assert sorted(stop.place for stop in route.stops) == [1, 2, 3]
    assert route.home - route.leave == 2.5 * HOUR
    assert all(stop.finish - stop.start == 1800 and stop.start >= 8 * HOUR for stop in route.stops)


def test_rank_beats_any_sum_of_prizes_below_it() -> None:
    """There is time for one place; the must of prize 1 is done and the wants of prize 100 are not."""
    shift = (8 * HOUR, 9 * HOUR + 1800)
    plan = plan_arrays(**line(shift=shift, ranks=[1, 1, 0], prizes=[100, 100, 1]))
    assert plan.served == (1, 0, 0)
    assert plan.left_out == (1, 2)


def test_a_crew_that_may_leave_base_thrice_carries_three_loads() -> None:
    """Each place is a load of its own: 20 + 40 + 60 min of driving, 90 of work, and two loadings of 15 in between."""
    once = plan_arrays(**line(loads=[10, 10, 10], capacity=10))
    assert once.served == (1, 0, 0)
    plan = plan_arrays(**line(loads=[10, 10, 10], capacity=10, most_trips=3, reload_seconds=900))
    assert plan.proven
    assert plan.served == (3, 0, 0)
    (route,) = plan.routes
    assert route.returns == (1, 2)
    assert plan.away_seconds == plan.away_bound == (20 + 40 + 60 + 90 + 2 * 15) * 60
    twice = plan_arrays(**line(loads=[10, 10, 10], capacity=10, most_trips=2, reload_seconds=900))
    assert twice.served == (2, 0, 0)
    with pytest.raises(AskedError, match="most_trips is 1 or more"):
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
        ({"work_seconds": [1800.5, 1, 1]}, "work_seconds must hold whole numbers"),
        ({"work_seconds": [1800, 1]}, "work_seconds must have the shape"),
        ({"windows": [[0, 1]]}, "windows must have the shape"),
        ({"ranks": [0, 1, 3]}, "ranks are 0 to 2"),
        ({"prizes": [0, 1, 1]}, "prizes 1 or more"),
        ({"loads": [-1, 1, 1]}, "loads and work_seconds are 0 or more"),
        ({"travel_seconds": [[0, 1], [1, float("nan")]]}, "whole numbers"),
        ({"travel_seconds": [[0, 1, 2], [1, 0, 2]]}, "square"),
    ],
)
def test_arrays_that_do_not_fit_are_refused_by_name(changes: dict[str, Any], said: str) -> None:
    """The message names the array and what it should be."""
    with pytest.raises(AskedError, match=said):
        plan_arrays(**line(**changes))
