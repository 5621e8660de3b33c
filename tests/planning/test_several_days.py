"""Several days in one round, on the four-site example with pencil and paper (drives in its drives.csv)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path

from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.round import ReasonCode, Round
from routing.stages import plan as plan_stage

EXAMPLE = Path(__file__).parents[2] / "examples" / "four-sites"
WEDNESDAY = dt.date(2026, 6, 10)
THURSDAY = dt.date(2026, 6, 11)


def farm(home_by: dt.time, **jobs: Mapping[str, object]) -> Farm:
    """Return the example with another home-by and some jobs changed."""
    read = read_farm(EXAMPLE)
    changed = tuple(job.model_copy(update=jobs.get(job.site, {})) for job in read.jobs)
    crew = read.crews[0].model_copy(update={"home_by": home_by})
    return read.model_copy(update={"crews": (crew,), "jobs": changed})


def visited(planned: Round) -> dict[dt.date, set[str]]:
    return {day.date: {stop.site for stop in day.stops} for day in planned.itineraries}


def test_two_short_days_do_what_one_cannot() -> None:
    """180 min hold A and B (100 + 10 + 10 + 25) or B and C (100 + 25 + 10 + 20), never three (150 + 50): two days do all."""
    one = plan_stage.plan(farm(dt.time(11)), WEDNESDAY)
    two = plan_stage.plan(farm(dt.time(11)), WEDNESDAY, THURSDAY)
    assert not one.all_done
    assert two.all_done
    assert set.union(*visited(two).values()) == set("ABCD")
    assert two.dates == (WEDNESDAY, THURSDAY)


def test_a_job_is_done_by_its_due_date_where_it_can_be() -> None:
    """C and D are due on Wednesday, A and B only on Thursday; nothing else decides which day they take."""
    due = {
        site: {"due_by": WEDNESDAY if site in "CD" else THURSDAY, "not_before": None if site in "CD" else THURSDAY}
        for site in "ABCD"
    }
    planned = plan_stage.plan(farm(dt.time(11), **due), WEDNESDAY, THURSDAY)
    assert visited(planned) == {WEDNESDAY: {"C", "D"}, THURSDAY: {"A", "B"}}


def test_a_job_that_cannot_be_done_in_time_is_done_late_rather_than_not_at_all() -> None:
    """All four are due on Wednesday, which holds two: the other two are done on Thursday, one day overdue."""
    planned = plan_stage.plan(
        farm(dt.time(11), **{site: {"due_by": WEDNESDAY} for site in "ABCD"}), WEDNESDAY, THURSDAY
    )
    assert planned.all_done
    late = [
        job.days_overdue
        for day in planned.itineraries
        if day.date == THURSDAY
        for stop in day.stops
        for job in stop.jobs
    ]
    assert late == [1, 1]


def test_stock_is_shared_over_the_days() -> None:
    """Fondant for three sites of four (12.5 kg each, 40 kg in store) serves three over both days, the musts."""
    base = farm(dt.time(17))
    jobs = tuple(job.model_copy(update={"kind": "fondant"}) for job in base.jobs)
    planned = plan_stage.plan(base.model_copy(update={"jobs": jobs, "stock": {"fondant": 40.0}}), WEDNESDAY, THURSDAY)
    assert [left.site for left in planned.left_out] == ["D"]


def test_a_crew_has_its_day_off_and_a_site_its_closed_day() -> None:
    """The crew is off on Wednesday and A is closed on Thursday: A waits, for certain, and the rest go on Thursday."""
    base = farm(dt.time(17))
    crew = base.crews[0].model_copy(update={"days_off_dates": frozenset({WEDNESDAY})})
    sites = tuple(
        site.model_copy(update={"closed_dates": frozenset({THURSDAY})}) if site.id == "A" else site
        for site in base.sites
    )
    planned = plan_stage.plan(base.model_copy(update={"crews": (crew,), "sites": sites}), WEDNESDAY, THURSDAY)
    assert visited(planned) == {THURSDAY: set("BCD")}
    (left,) = planned.left_out
    assert left.site == "A"
    assert left.reason.certain
    assert left.reason is not ReasonCode.NOT_DUE


def test_a_job_too_long_for_one_day_is_shared_out_over_several() -> None:
    """40 hives at A take 10 + 320 min; 180 min less 20 of driving hold 18 hives: three parts of 14, 13 and 13."""
    planned = plan_stage.plan(
        farm(dt.time(11), A={"hives": 40}, B={"not_before": dt.date(2027, 1, 1)}, C={"not_before": dt.date(2027, 1, 1)},
             D={"not_before": dt.date(2027, 1, 1)}),
        WEDNESDAY, THURSDAY, dt.date(2026, 6, 12), dt.date(2026, 6, 15),
    )  # fmt: skip
    parts = [job for day in planned.itineraries for stop in day.stops for job in stop.jobs]
    assert sorted(part.hives for part in parts) == [13, 13, 14]
    assert all("40 hives in all" in part.note for part in parts)
    assert planned.all_done
    assert len({day.date for day in planned.itineraries}) == 3


def test_a_job_too_long_for_all_the_days_stays_whole_and_is_left_out() -> None:
    """On one day nothing can be shared out: the job is told whole, with the most hives that would fit."""
    planned = plan_stage.plan(farm(dt.time(11), A={"hives": 40}), WEDNESDAY)
    left = {entry.site: entry for entry in planned.left_out}["A"]
    assert left.jobs[0].hives == 40
    assert left.reason.certain


def test_home_before_dark_is_kept_where_a_crew_asks_for_it() -> None:
    """In December civil dusk at the base is long before the 22:00 that the crew would else have."""
    december = dt.date(2026, 12, 10)
    base = farm(dt.time(22))
    crew = base.crews[0].model_copy(update={"home_before_dark": True})
    planned = plan_stage.plan(base.model_copy(update={"crews": (crew,)}), december)
    (day,) = planned.itineraries
    assert day.home <= day.home_by
    assert f"{day.home_by:%H:%M}" == "16:37"  # civil dusk at 52.3 N 2.5 W by skyfield with DE421
