"""An order of one's own: every choice of hours and jobs that keeps every rule is found; else what stands in the way."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from routing.check import broken_promises
from routing.errors import AskedError
from routing.farm.models import Farm, Rank
from routing.planning.ask.own_order import OwnOrder, own_order
from routing.planning.plan import plan_days
from routing.round import Round
from routing.stages import ask as ask_stage
from routing.stages import plan as plan_stage
from routing.travel.farm import farm_legs
from tests.moving_farm import SUMMER, legs_of, moving_farm
from tests.planning.paper_farm import JUNE, VAN, crew, days_of, job, paper_farm, span
from tests.random_farms import random_farm, with_tight_loads
from tests.returning_farm import JOBS, SITES, returning_farm
from tests.split_jobs import split_jobs
from tests.together import then_deep


def tried(farm: Farm, order: str, crew_id: str | None = None) -> OwnOrder:
    """Return what becomes of an order, checked where it makes a round."""
    found = own_order(days_of(farm), crew_id, order.split())
    if found.round is not None:
        assert broken_promises(found.round, farm, farm_legs(farm)) == ()
    return found


def named(round_: Round) -> list[str]:
    """Return an order as a person would write it: a move as its two sites."""
    (day,) = round_.itineraries
    moves = {stop.number: job.to for stop in day.stops for job in stop.jobs if job.to}
    return [
        f"{stop.site}:{moves[stop.number]}" if stop.number in moves else stop.site
        for stop in day.stops
        if stop.set_down is None
    ]


GATES: dict[str, Any] = {"hours": (span("08:00", "08:30"), span("13:00", "15:00"))}


def test_every_span_of_hours_is_tried() -> None:
    """Elm's first span is too short after ash; in the second it is done. Before, only the first was looked at."""
    farm = paper_farm([job("ash", 60), job("elm", 60)], 10, sites={"elm": GATES})
    found = tried(farm, "ash elm")
    assert found.round is not None
    assert [f"{stop.start:%H:%M}" for stop in found.round.itineraries[0].stops] == ["11:50", "13:00"]


def test_an_order_that_no_hours_allow_names_the_site_the_time_and_the_pair() -> None:
    """Elm until 11:00 at the latest, then oak at 9: with ash in between all is told, and which two cannot be."""
    late = {"hours": (span("10:00", "11:00"),)}
    soon = {"hours": (span("08:00", "09:00"),)}
    farm = paper_farm([job("elm", 30), job("ash", 10), job("oak", 30)], 10, sites={"elm": late, "oak": soon})
    found = tried(farm, "elm ash oak")
    assert found.round is None
    late_by, pair, clock = found.lines
    assert late_by == "Oak would be finished at 11:30, 2 h 30 after it must be (09:00, by its opening hours)."
    assert pair == "Elm and after it Oak cannot both be done, even with nothing else."
    assert "base is left at 09:50; Elm from 10:00 to 10:30; Ash from 10:40 to 10:50; Oak from 11:00" in clock


def test_a_load_or_a_store_that_is_too_small_is_told_with_its_numbers() -> None:
    van = {"van": VAN.model_copy(update={"payload_kg": 100})}
    farm = paper_farm([job("ash", 6, kind="lift"), job("elm", 6, kind="lift")], 10, vehicles=van)
    assert tried(farm, "ash elm").lines[0] == (
        "In one trip 120 kg would be on board at Elm, over the payload of 100 kg."
    )
    fed = paper_farm([job("ash", 60, kind="feed"), job("elm", 60, kind="feed")], 10, stock={"dough": 100})
    assert tried(fed, "ash elm").lines[0] == "It needs 120 kg of Dough, and 100 kg are in store."


def test_what_must_be_last_is_named_with_what_follows_it() -> None:
    farm = paper_farm([job("ash", 10), job("elm", 10)], 10, sites={"ash": {"last_of_day": True}})
    assert tried(farm, "ash elm").lines[0] == "Ash must be last of the day, and Elm comes after it."


def test_a_stop_does_as_many_jobs_as_the_order_holds_and_says_which_it_does_not() -> None:
    """60 + 30 + 30 min of driving and 40 more of the second job would pass the day of 130."""
    jobs = [job("ash", 60, Rank.MUST), job("ash", 40, kind="feed"), job("elm", 30)]
    found = tried(paper_farm(jobs, 10, crews=crew(home_by=dt.time(10, 10))), "ash elm")
    assert found.round is not None
    assert found.lines == ("This order keeps every rule.", "It does not hold Feed at Ash as well.")
    (left,) = found.round.left_out
    assert left.text == "at a site of your order, which does not hold it as well"


def test_a_site_named_twice_is_stopped_at_twice() -> None:
    """Elm is open from 9:10 to 9:40 only, between the two jobs at ash; more stops than jobs are refused."""
    jobs = [job("ash", 60), job("elm", 20), job("ash", 60, kind="feed")]
    gate = {"elm": {"hours": (span("09:15", "09:45"),)}}
    farm = paper_farm(jobs, 5, sites=gate, crews=crew(home_by=dt.time(11)))
    found = tried(farm, "ash elm ash")
    assert found.round is not None
    assert [len(stop.jobs) for stop in found.round.itineraries[0].stops] == [1, 1, 1]
    with pytest.raises(AskedError, match="named more often"):
        tried(farm, "ash elm ash ash")


def test_the_crew_that_is_out_and_can_is_taken_where_none_is_named() -> None:
    """The first has the day off, the second is home too soon; base may be named and is no site."""
    crews = (
        *crew(days_off_dates=frozenset({JUNE})),
        *crew(id="roe", vehicle="bus", home_by=dt.time(8, 30)),
        *crew(id="sal", vehicle="car"),
    )
    vehicles = {name: VAN.model_copy(update={"id": name}) for name in ("van", "bus", "car")}
    farm = paper_farm([job("ash", 60)], 10, crews=crews, vehicles=vehicles)
    found = tried(farm, "base ash base")
    assert found.round is not None
    assert [day.crew for day in found.round.itineraries] == ["sal"]
    assert "Home would be at 09:20, 50 min after the crew must be home (08:30)." in tried(farm, "ash", "roe").lines
    with pytest.raises(AskedError, match='crew "ivy" is not out'):
        tried(farm, "ash", "ivy")
    with pytest.raises(AskedError, match="no crew is out"):
        tried(farm.model_copy(update={"crews": crews[:1]}), "ash")
    with pytest.raises(AskedError, match="name one site"):
        tried(farm, "base")


def test_why_a_site_has_no_job_is_said() -> None:
    farm = paper_farm([job("ash", 60), job("elm", 10)], 10, sites={"ash": {"closed_dates": frozenset({JUNE})}})
    with pytest.raises(AskedError, match="has no job that this crew could do on 2026-06-10: the site is closed"):
        tried(farm, "elm ash")


def test_the_order_of_a_plan_with_returns_parts_and_moves_is_kept() -> None:
    """A plan's own order, written down as it is shown, keeps every rule and does all that the plan does."""
    big = SITES[0].model_copy(update={"id": "big", "name": "Big", "hives": 20})
    supers = JOBS[0].model_copy(update={"id": "jobs.csv:6", "site": "big", "hives": 20})
    farm = returning_farm(sites=(*SITES, big), jobs=(*JOBS, supers))
    whole = plan_stage.plan(farm, dt.date(2026, 7, 21))
    again = ask_stage.try_order(farm, dt.date(2026, 7, 21), None, named(whole))
    assert again.round is not None
    assert again.round.itineraries[0].away_seconds <= whole.itineraries[0].away_seconds
    moving = moving_farm()
    planned = plan_stage.plan(moving, SUMMER)
    moved = ask_stage.try_order(moving, SUMMER, "ash", named(planned))
    assert moved.round is not None
    assert moved.round.itineraries[0].stops == planned.itineraries[0].stops
    assert legs_of(moving).places[0] == "base"


@pytest.mark.parametrize("seed", then_deep(range(7000, 7009), range(7000, 7100)))
def test_the_order_of_any_plan_is_kept(seed: int) -> None:
    """Random farms of one crew with tight loads: what the plan does in its order is no less than it did."""
    farm, date = random_farm(seed)
    farm = with_tight_loads(farm, seed)
    farm = farm.model_copy(update={"crews": farm.crews[:1]})
    legs = farm_legs(farm)
    days = days_of(split_jobs(farm, legs, (date,)), date)
    planned = plan_days(days, work=2)
    if planned.itineraries:
        found = own_order(days, None, named(planned))
        assert found.round is not None, found.lines
        assert broken_promises(found.round, days.farm, legs) == ()
        jobs = [sum(len(stop.jobs) for stop in one.itineraries[0].stops) for one in (planned, found.round)]
        assert jobs[1] >= jobs[0]
