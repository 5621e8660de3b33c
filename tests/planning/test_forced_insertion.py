"""The cheapest insertion breaks something, and tells its true minutes."""

from __future__ import annotations

import datetime as dt

from routing.farm.models import Rank
from routing.planning.explain.forced_insertion import cheapest_forced, extra_seconds, least_seconds
from routing.planning.explain.outcome import left_out_entries
from routing.planning.explain.reasons import certain_reasons
from routing.planning.model.problem import Planned
from routing.round import ReasonCode
from tests.planning.paper_farm import VAN, crew, days_of, job, paper_farm, span


def test_how_much_longer_a_day_with_returns_would_be_is_not_told() -> None:
    """Three loads of 5 boxes in three trips; what a fourth takes hangs on how its boxes are shared out over them."""
    jobs = [job(site, 5, kind="lift") for site in ("ash", "elm", "oak", "yew")]
    van = {"van": VAN.model_copy(update={"payload_kg": 55})}
    days = days_of(paper_farm(jobs, 10, vehicles=van, crews=crew(trips_a_day=3)))
    order = tuple(Planned(number, (number,)) for number in range(3))
    forced = cheapest_forced(days, (order,), (3,))
    assert forced is not None
    assert forced.insertion.extra_seconds is None
    assert [(fall.what, fall.amount) for fall in forced.insertion.shortfalls] == [("payload", 45)]


def test_a_return_more_counts_with_its_loading() -> None:
    """Carried in two trips of three: the third is 20 min of driving, 5 of work, and loading of 0."""
    jobs = [job(site, 5, kind="lift") for site in ("ash", "elm", "oak")]
    van = {"van": VAN.model_copy(update={"payload_kg": 55})}
    days = days_of(paper_farm(jobs, 10, vehicles=van, crews=crew(trips_a_day=3)))
    two, three = (tuple(Planned(number, (number,)) for number in range(many)) for many in (2, 3))
    assert least_seconds(days.problem, 0, two) == (2 * 20 + 2 * 5) * 60
    assert extra_seconds(days.problem, 0, two, three) == 25 * 60
    assert least_seconds(days.problem, 0, ()) == 0


def test_what_breaks_nothing_has_no_insertion() -> None:
    """Elm would still fit beside ash; oak would not beside both, and is told with what it breaks."""
    farm = paper_farm([job("ash", 60), job("elm", 60), job("oak", 90)], 10, crews=crew(home_by=dt.time(11)))
    days = days_of(farm)
    assert cheapest_forced(days, ((Planned(0, (0,)),),), (1,)) is None
    (left,) = left_out_entries(days, ((Planned(0, (0,)), Planned(1, (1,))),), certain_reasons(days))
    assert left.insertion is not None
    assert left.insertion.shortfalls


def test_what_is_broken_is_told_by_the_least_that_must_give() -> None:
    """Elm's gate shuts at 9:30 and ash takes until 9:10: with 10 min of driving and 40 of work it is 30 min over."""
    farm = paper_farm(
        [job("ash", 60, Rank.MUST), job("elm", 40)],
        10,
        sites={
            "ash": {"hours": (span("08:10", "09:10"),)},
            "elm": {"hours": (span("09:00", "09:30"), span("12:00", "12:50"))},
        },
        crews=crew(home_by=dt.time(12)),
    )
    days = days_of(farm)
    forced = cheapest_forced(days, ((Planned(0, (0,)),),), (1,))
    assert forced is not None
    assert [(fall.what, fall.amount) for fall in forced.insertion.shortfalls] == [("opening hours", 30 * 60)]
    assert (forced.insertion.after, forced.insertion.extra_seconds) == ("ash", 50 * 60)


def test_a_site_reached_only_by_way_of_another_is_told_without_an_insertion_where_there_is_none() -> None:
    """No way leads straight to elm; while ash is not visited nothing can be squeezed in, and no error is raised."""
    farm = paper_farm([job("ash", 30), job("elm", 30)], 10)
    days = days_of(farm)
    problem = days.problem
    for route in problem.routes:
        drives = route.drive_seconds
        drives.setflags(write=True)
        drives[0, 2] = -1
        drives.setflags(write=False)
    assert certain_reasons(days) == {}
    assert cheapest_forced(days, ((),), (1,)) is None
    left = {one.site: one for one in left_out_entries(days, ((),), {})}
    assert left["elm"].reason is ReasonCode.NO_ROOM
    assert left["elm"].insertion is None
    assert "would fit alone" not in left["elm"].text
    assert "no place among them was found" in left["elm"].text


def test_more_work_at_one_site_than_any_day_holds_is_told_job_by_job() -> None:
    """Thirty times an hour at ash as one stop would need no day there is; one hour more is told with what it breaks."""
    farm = paper_farm([job("ash", 60) for _ in range(30)], 10, crews=crew(home_by=dt.time(11)))
    days = days_of(farm)
    entries = left_out_entries(days, ((Planned(0, (0, 1)),),), certain_reasons(days), remedied=0)
    assert [len(entry.jobs) for entry in entries] == [1] * 28
    assert all(entry.insertion is not None and entry.insertion.shortfalls for entry in entries)
