"""A crew that is out already does not wait where it stands for a shorter way home: its time is away already."""

import datetime as dt
from itertools import permutations

from routing.planning.ask.moment import Moment
from routing.stages import ask as ask_stage
from routing.stages import plan as plan_stage
from tests.planning.paper_farm import JUNE, crew, job, paper_farm, span

PLACES = ("base", "A", "B")
DRIVES = dict.fromkeys(permutations(PLACES, 2), 10) | {("A", "base"): 30, ("B", "base"): 5}
FARM = paper_farm(
    [job("A", 30), job("B", 30)],
    DRIVES,
    sites={"A": {"hours": (span("14:00", "16:00"),)}},
    crews=crew(break_minutes=20, break_after_hours=4),
)


def test_the_rest_of_a_day_ends_as_soon_as_it_can() -> None:
    """From 11:30: B to 12:10, A 14:00 to 14:30, home 15:00; A first would be home at 15:15, for less from 13:50 on."""
    told = ask_stage.replan(FARM, JUNE, "ivy", Moment(at=dt.time(11, 30), here="base"))
    (day,) = told.itineraries
    assert [stop.site for stop in day.stops] == ["B", "A"]
    assert (f"{day.leave:%H:%M}", f"{day.home:%H:%M}") == ("11:30", "15:00")
    assert not told.faults


def test_a_wait_in_the_field_counts_toward_the_break() -> None:
    """From 10:00 the same is 5 h away, so a break is due; the wait at A, 110 min long, holds it and home stays 15:00."""
    told = ask_stage.replan(FARM, JUNE, "ivy", Moment(at=dt.time(10), here="base"))
    (day,) = told.itineraries
    assert [stop.site for stop in day.stops] == ["B", "A"]
    assert [stop.rest is not None for stop in day.stops].count(True) == 1
    assert f"{day.home:%H:%M}" == "15:00"
    assert not told.faults


def test_a_whole_day_still_leaves_as_late_as_costs_nothing() -> None:
    """A 14:00 to 14:30, B 14:40 to 15:10, home 15:15, from 13:50: 85 min; B first would be 13:20 to 15:00, 100 min."""
    (day,) = plan_stage.plan(FARM, JUNE).itineraries
    assert [stop.site for stop in day.stops] == ["A", "B"]
    assert (f"{day.leave:%H:%M}", f"{day.home:%H:%M}") == ("13:50", "15:15")
