"""The chance that a plan tells, what would help and what the surest order costs, on days that a pencil can follow."""

from __future__ import annotations

import datetime as dt
import math

import pytest

from routing.check import broken_promises
from routing.farm.models import Farm, Rank
from routing.planning.chance.simulate import odds, simulate
from routing.planning.chance.spread import Spread
from routing.stages import plan as plan_stage
from routing.travel.farm import farm_and_legs
from routing.weather.limits import finish_early_seconds
from tests.planning.paper_farm import JUNE, figure, job, paper_farm, span

ONLY_VISITS = {
    **dict.fromkeys(("site", "day_work", "drive", "day_drive"), figure(0)),
    "visit": figure(0.2),
}
"""Spreads with which only each visit strays, so that one visit's chance is a number from a table."""


def normal_below(value: float) -> float:
    return (1 + math.erf(value / math.sqrt(2))) / 2


def one_must(**hours: str) -> Farm:
    """Return a farm of one must of 60 min that is reached at 08:10 and ends in time on 78 days of 100."""
    site = {"a": {"hours": (span("07:00", hours.get("closes", "09:20")),)}}
    return paper_farm([job("a", 60, Rank.MUST)], 10, sites=site, spreads=ONLY_VISITS)


def test_the_chance_of_one_must_is_the_one_in_the_table() -> None:
    """70 minutes are there for 60: ln(70 / 60) is 0.77 spreads, below which 78 of 100 days lie."""
    chance = plan_stage.plan(one_must(), JUNE).chance
    assert chance is not None
    assert chance.musts == chance.whole == pytest.approx(normal_below(math.log(70 / 60) / 0.2), abs=0.015)
    assert "are in time on 7" in chance.text
    assert "learned from this farm's record" in chance.text


def test_ten_minutes_sooner_make_nine_days_of_ten_and_are_told_as_before_the_wished_start() -> None:
    """5 min more leave 75, under the 77.5 of nine days in ten; 10 more leave 80: 1.44 spreads, 92 days of 100."""
    chance = plan_stage.plan(one_must(), JUNE).chance
    assert chance is not None
    (told,) = chance.remedies
    assert told.startswith("Leaving base at 07:50, 10 min sooner, with the same stops, the whole would hold on 92 % of")
    assert told.endswith("; that begins before the earliest start that you gave.")


def test_what_holds_on_nine_days_of_ten_needs_nothing() -> None:
    chance = plan_stage.plan(one_must(closes="10:00"), JUNE).chance
    assert chance is not None
    assert chance.whole > 0.9
    assert chance.remedies == ()


def test_leaving_out_the_lesser_visit_is_told_with_the_chance_of_the_rest() -> None:
    """Two visits of 60 and three drives of 10 end at 10:30, ten minutes before home-by; one alone leaves an hour."""
    farm = paper_farm([job("a", 60, Rank.MUST), job("b", 60)], 10, spreads=ONLY_VISITS)
    crew = farm.crews[0].model_copy(update={"home_by": dt.time(10, 40)})
    chance = plan_stage.plan(farm.model_copy(update={"crews": (crew,)}), JUNE).chance
    assert chance is not None
    assert chance.whole < 0.9
    assert any(told.startswith("Leaving out B, with the rest as planned") for told in chance.remedies)


def test_without_a_record_the_sentence_says_that_the_figures_are_general() -> None:
    chance = plan_stage.plan(one_must().model_copy(update={"spreads": {}}), JUNE).chance
    assert chance is not None
    assert chance.text.endswith(" of 10,000 simulated days (general figures, until this farm has a longer record).")


def test_musts_and_the_whole_that_are_alike_are_told_in_one_number() -> None:
    """Where the day is its one must, "on 73 %, the whole day on 73 %" says one thing twice."""
    chance = plan_stage.plan(one_must(closes="10:00"), JUNE).chance
    assert chance is not None
    assert chance.text.startswith("The planned musts and the whole day are in time on ")
    assert chance.text.count("%") == 1


def must_and_wants(drive_to_must: int) -> Farm:
    """Return a must that closes at 10:10 and three wants of 40 min; 10 min from anywhere but from base to the must.

    Second it ends at 10:00, first long before: the round is 50 min of drives and 180 of work, and `drive_to_must` - 10
    longer where the must comes first.
    """
    names = ("base", "a", "b", "c", "d")
    drives = {(here, there): 10 for here in names for there in names if here != there}
    drives["base", "a"] = drive_to_must
    jobs = [job("a", 60, Rank.MUST), *(job(name, 40) for name in "bcd")]
    return paper_farm(jobs, drives, sites={"a": {"hours": (span("07:00", "10:10"),)}}, spreads=ONLY_VISITS)


def test_four_minutes_are_given_for_a_must_that_then_holds_and_the_bound_stays_that_of_the_shortest() -> None:
    """4 min of 230 are 1.7 %. Second, the two visits have a mean of 102 and a spread of 14.7: 110 hold on 73 %."""
    farm = must_and_wants(14)
    planned = plan_stage.plan(farm, JUNE)
    assert planned.surest is not None
    assert planned.itineraries[0].stops[0].site == "a"
    assert planned.surest.extra_seconds == 240
    assert planned.surest.musts_before == pytest.approx(0.73, abs=0.02)
    assert planned.surest.musts_after is not None
    assert planned.surest.musts_after > 0.99
    assert planned.surest.text.startswith("This order is 4 min longer than the shortest round of the same jobs; ")
    assert not planned.proof.optimal
    assert planned.proof.away_bound_seconds == 230 * 60
    assert "this one is within 1.8 %. The order was chosen because it holds more surely." in planned.proof.text
    assert broken_promises(planned, *farm_and_legs(farm)) == ()
    assert planned.chance is not None
    assert planned.chance.musts == planned.surest.musts_after


def test_more_than_two_in_a_hundred_are_not_given() -> None:
    planned = plan_stage.plan(must_and_wants(15), JUNE)
    assert planned.surest is None
    assert planned.proof.optimal
    assert planned.itineraries[0].away_seconds == 230 * 60


def test_an_order_as_short_that_holds_more_surely_is_proved_all_the_same() -> None:
    planned = plan_stage.plan(must_and_wants(10), JUNE)
    assert planned.itineraries[0].stops[0].site == "a"
    assert planned.itineraries[0].away_seconds == 230 * 60
    assert planned.proof.optimal


def test_the_plan_tells_the_chance_of_the_simulation_itself() -> None:
    farm = must_and_wants(14)
    planned = plan_stage.plan(farm, JUNE)
    found = odds(simulate(planned, Spread.of(farm), finish_early_seconds(farm.rules)))
    assert planned.chance is not None
    assert (planned.chance.whole, planned.chance.days) == (found.chance, found.days)


def test_the_same_farm_gives_the_same_order_and_chance() -> None:
    assert plan_stage.plan(must_and_wants(14), JUNE) == plan_stage.plan(must_and_wants(14), JUNE)
