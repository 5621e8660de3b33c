"""Certain reasons are true by whatever ways there are, with the break before the visit or after it."""

from __future__ import annotations

import datetime as dt

import pytest

from routing.planning.explain.quickest import QuickestWays
from routing.planning.explain.reasons import certain_reasons
from routing.planning.plan import plan_days
from routing.round import ReasonCode
from tests.planning.paper_farm import JUNE, crew, days_of, job, paper_farm, span


def test_a_site_that_is_nearer_by_way_of_another_is_not_too_far() -> None:
    """126 min straight and 20 by way of elm: ash is done after elm on a day of two hours, and for no certain reason not."""
    drives = {("base", "ash"): 126, ("base", "elm"): 10, ("elm", "ash"): 10}
    farm = paper_farm([job("ash", 20), job("elm", 20)], drives, crews=crew(home_by=dt.time(10)))
    days = days_of(farm)
    ways = QuickestWays(days)
    assert (ways.out(0, 1), ways.back(0, 1)) == (20 * 60, 20 * 60)
    assert certain_reasons(days) == {}
    alone = farm.model_copy(update={"jobs": farm.jobs[:1]})
    (left,) = plan_days(days_of(alone), work=5).left_out
    assert not left.reason.certain
    assert "would fit alone" not in left.text


def test_a_site_that_is_too_far_by_every_way_is_told_by_the_quickest() -> None:
    drives = {("base", "ash"): 126, ("base", "elm"): 10, ("elm", "ash"): 50}
    farm = paper_farm([job("ash", 20), job("elm", 20)], drives, crews=crew(home_by=dt.time(10)))
    reason = certain_reasons(days_of(farm))[0]
    assert reason.code is ReasonCode.TOO_FAR
    assert reason.text.startswith("1 h 00 there, 20 min of work and 1 h 00 back do not fit")


def test_hives_are_not_moved_on_the_way_to_another_site() -> None:
    """A move from ash to elm is entered at the one and left from the other: no way leads through it in no time."""
    drives = {("base", "ash"): 10, ("base", "elm"): 60, ("ash", "elm"): 60, ("base", "oak"): 60, ("elm", "oak"): 5}
    drives |= {("ash", "oak"): 60}
    farm = paper_farm([job("ash", 2), job("elm", 2), job("oak", 2)], drives)
    kinds = farm.job_kinds | {
        "shift": farm.job_kinds["look"].model_copy(
            update={"id": "shift", "set_down_minutes_a_hive": farm.job_kinds["look"].minutes_a_hive}
        )
    }
    move = farm.jobs[0].model_copy(update={"id": "jobs.csv:9", "kind": "shift", "to": "elm"})
    days = days_of(farm.model_copy(update={"job_kinds": kinds, "jobs": (*farm.jobs, move)}))
    ways = QuickestWays(days)
    assert ways.out(0, 3) == 60 * 60
    assert (ways.out(0, 4), ways.back(0, 4)) == (10 * 60, 60 * 60)


@pytest.mark.parametrize(
    ("opens", "closes", "home", "certain"),
    [
        ("08:00", "12:00", (12, 30), False),  # 10 + 200 + 10 min and 20 of break before the work: home at 12:00
        ("08:00", "11:40", (12, 0), False),  # the gate leaves no room for a break before; after it, home is at 12:00
        ("08:00", "11:40", (11, 59), True),
        ("08:30", "11:50", (12, 0), False),  # waiting for the gate from 8:10 to 8:30 is the break
        ("08:29", "11:49", (11, 58), True),
    ],
)
def test_the_break_of_a_long_day_costs_its_minutes_before_the_visit_or_after_it(
    opens: str, closes: str, home: tuple[int, int], *, certain: bool
) -> None:
    """A day of 220 min away needs a break of 20 after three hours, and is held against gate and home with it."""
    farm = paper_farm(
        [job("ash", 200)],
        10,
        sites={"ash": {"hours": (span(opens, closes),)}},
        crews=crew(home_by=dt.time(*home), break_minutes=20, break_after_hours=3),
    )
    assert (certain_reasons(days_of(farm)) != {}) is certain


def test_a_job_that_only_a_crew_of_another_day_could_do_is_told_and_no_error() -> None:
    """The crew with the people is off on the day that the site is open: before, this ended in an error."""
    thursday = dt.date(2026, 6, 11)
    farm = paper_farm([job("ash", 20)], 10, sites={"ash": {"closed_dates": frozenset({thursday})}})
    kinds = {"look": farm.job_kinds["look"].model_copy(update={"people": 2})}
    weak, strong = (*crew(), *crew(id="roe", people=2, vehicle="bus", days_off_dates=frozenset({JUNE})))
    vehicles = farm.vehicles | {"bus": farm.vehicles["van"].model_copy(update={"id": "bus"})}
    days = days_of(
        farm.model_copy(update={"job_kinds": farm.job_kinds | kinds, "crews": (weak, strong), "vehicles": vehicles}),
        JUNE,
        thursday,
    )
    reason = certain_reasons(days)[0]
    assert reason.code is ReasonCode.NO_CREW
    assert reason.text == "no crew able to do it works on the dates on which it could be done"
