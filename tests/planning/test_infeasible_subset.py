"""The smallest clashing set, on the four-site example with all four as musts."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from routing.farm.models import Farm, Rank
from routing.planning.explain import infeasible_subset
from routing.planning.explain.infeasible_subset import clash_words
from routing.stages import plan as plan_stage
from tests.planning.paper_farm import crew, days_of, job, paper_farm, span

EXAMPLE = Path(__file__).parents[2] / "examples" / "four-sites"
JUNE = dt.date(2026, 6, 10)


def all_musts(home_by: dt.time) -> Farm:
    read = read_farm(EXAMPLE)
    crew = read.crews[0].model_copy(update={"home_by": home_by})
    jobs = tuple(job.model_copy(update={"rank": Rank.MUST}) for job in read.jobs)
    return read.model_copy(update={"crews": (crew,), "jobs": jobs})


def test_musts_that_clash_are_named_and_any_one_less_is_enough() -> None:
    """All four need 270 min; any three at most 220 or 225, so with 240 all clash."""
    planned = plan_stage.plan(all_musts(dt.time(12)), JUNE)
    assert "These 4 musts cannot all be done" in planned.clash
    for name in ("Alder", "Birch", "Cherry", "Damson"):
        assert name in planned.clash


def test_the_set_is_as_small_as_it_can_be() -> None:
    """With 140 min two fit only as A, B (100 + 45 is 145: no) or alone with C or D: the smallest clash has two musts."""
    planned = plan_stage.plan(all_musts(dt.time(10, 20)), JUNE)
    assert "These 2 musts cannot all be done" in planned.clash


def test_no_clash_is_told_where_all_musts_fit() -> None:
    assert plan_stage.plan(all_musts(dt.time(13)), JUNE).clash == ""


def test_musts_that_two_stops_at_a_site_can_do_are_no_clash(monkeypatch: pytest.MonkeyPatch) -> None:
    """Elm is open from 9:10 to 9:30, and ash has an hour before it and one after: in one stop at ash it cannot be done.

    The quick search is held back, so that only the exact one answers; before, it said that they clash.
    """
    jobs = [job("ash", 60, Rank.MUST), job("elm", 10, Rank.MUST), job("ash", 60, Rank.MUST, "feed")]
    gate = {"elm": {"hours": (span("09:10", "09:30"),)}}
    farm = paper_farm(jobs, 5, sites=gate, crews=crew(home_by=dt.time(10, 40)))
    monkeypatch.setattr(infeasible_subset, "construct", lambda *_: ((),))
    assert clash_words(days_of(farm), frozenset({0, 1, 2})) == ""
    shorter = farm.model_copy(update={"crews": crew(home_by=dt.time(10, 20))})
    assert clash_words(days_of(shorter), frozenset({0, 1, 2})).startswith(
        "These 3 musts cannot all be done on Wednesday"
    )


def test_musts_whose_stock_is_short_clash_and_any_one_less_is_enough() -> None:
    """Two of 30 kg are served by 50 kg one at a time."""
    jobs = [job("ash", 30, Rank.MUST, "feed"), job("elm", 30, Rank.MUST, "feed")]
    days = days_of(paper_farm(jobs, 5, stock={"dough": 50}))
    assert "Ash (Feed), Elm (Feed)" in clash_words(days, frozenset({0, 1}))
    assert clash_words(days, frozenset({0})) == ""


def test_musts_between_which_another_site_lies_on_a_quicker_way_are_no_clash() -> None:
    """Ash and elm are 90 min apart but 10 by way of oak: with a stop at oak both are done, 75 min in all.

    In an hour they clash even by that way: 10 + 20 + 10 + 20 + 10 min.
    """
    jobs = [job("ash", 20, Rank.MUST), job("elm", 20, Rank.MUST), job("oak", 5)]
    names = ("base", "ash", "elm", "oak")
    drives = {(one, other): 5 if "oak" in (one, other) else 10 for one in names for other in names if one != other}
    drives |= {("ash", "elm"): 90, ("elm", "ash"): 90}
    farm = paper_farm(jobs, drives, crews=crew(home_by=dt.time(9, 20)))
    assert clash_words(days_of(farm), frozenset({0, 1})) == ""
    hour = farm.model_copy(update={"crews": crew(home_by=dt.time(9))})
    assert clash_words(days_of(hour), frozenset({0, 1})).startswith("These 2 musts cannot all be done")
