"""Jobs shared out as finely as serves most: more payload never serves fewer, and the rest of the program follows."""

from __future__ import annotations

import datetime as dt
import random
from fractions import Fraction

import pytest

from routing.check import broken_promises
from routing.errors import AskedError
from routing.farm.models import Farm, Job, Rank
from routing.planning.explain.split import cut_into, cuts_in
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.planning.split_delivery import (
    TRIED_WORDS,
    WHOLE_WORDS,
    fit_shared,
    own_order_shared,
    plan_shared,
    worth_served,
)
from routing.round import FitProof
from routing.stages import plan as plan_stage
from tests.returning_farm import CREW, SITES, SUMMER, VAN, legs_of, returning_farm
from tests.split_jobs import split_jobs
from tests.together import then_deep

RANKS = (Rank.MUST, Rank.WANT, Rank.PASSING)


def heavy_farm(seed: int) -> Farm:
    """Return a farm of three sites with full supers at most of them, tight in light and in loads."""
    draw = random.Random(seed)
    jobs = [
        Job(
            id=f"jobs.csv:{number}",
            site=site.id,
            kind="supers-off" if number == 2 or draw.random() < 0.7 else "syrup",
            hives=draw.randint(2, site.hives),
            rank=draw.choice(RANKS),
        )
        for number, site in enumerate(SITES, start=2)
    ]
    crew = CREW.model_copy(update={"home_by": dt.time(draw.randint(11, 15)), "trips_a_day": draw.randint(2, 3)})
    return returning_farm(jobs=tuple(jobs), crews=(crew,))


def carrying(farm: Farm, payload_kg: float) -> Farm:
    """Return the farm with another van."""
    return farm.model_copy(update={"vehicles": {"van": VAN.model_copy(update={"payload_kg": payload_kg})}})


def by_rank(worth: tuple[Fraction, ...]) -> str:
    return " ".join(map(str, worth))


@pytest.mark.parametrize(
    ("seed", "payloads"), then_deep([(14, (90, 120, 150)), (37, (420, 450, 480))], [(35, (150, 180, 240, 330))])
)
def test_more_payload_never_serves_fewer(seed: int, payloads: tuple[int, ...]) -> None:
    """A van that could hold a job whole must not do less of it than one for which it has to be shared out."""
    farm = heavy_farm(seed)
    legs = legs_of(farm)
    before: tuple[Fraction, ...] = (Fraction(0),)
    for payload_kg in payloads:
        larger = carrying(farm, payload_kg)
        shared, round_ = plan_shared(larger, legs, (SUMMER,))
        assert broken_promises(round_, shared, legs) == ()
        assert shared == cut_into(larger, cuts_in(larger, round_))
        worth = worth_served(build_instance(shared, legs, (SUMMER,)), round_)
        assert worth >= before, f"{payload_kg} kg: {by_rank(worth)} after {by_rank(before)}"
        before = worth


def test_the_plain_sharing_out_would_serve_fewer() -> None:
    """What the test above guards against is there: the fewest parts that fit alone do less in the larger van."""
    farm = heavy_farm(35)
    legs = legs_of(farm)
    worth = []
    for payload_kg in (150, 180):
        van = carrying(farm, payload_kg)
        days = build_instance(split_jobs(van, legs, (SUMMER,)), legs, (SUMMER,))
        worth.append(worth_served(days, plan_days(days)))
    assert worth[1] < worth[0]


def test_what_the_finer_plan_made_is_a_saved_round_and_an_own_order() -> None:
    """`try` takes the order of a plan that shared out more finely than it had to, and a saved round stays one."""
    farm = carrying(heavy_farm(35), 240)
    legs = legs_of(farm)
    shared, round_ = plan_shared(farm, legs, (SUMMER,))
    assert shared != split_jobs(farm, legs, (SUMMER,))
    saved = plan_stage.saved(farm, round_.model_dump_json())
    assert [[stop.site for stop in day.stops] for day in saved.itineraries] == [
        [stop.site for stop in day.stops] for day in round_.itineraries
    ]
    assert saved.faults == ()
    sites = [stop.site for stop in round_.itineraries[0].stops]
    own = own_order_shared(farm, legs, SUMMER, None, sites)
    assert own.round is not None
    tried = cut_into(farm, cuts_in(farm, own.round))
    held, planned = (build_instance(each, legs, (SUMMER,)) for each in (tried, shared))
    assert worth_served(held, own.round) >= worth_served(planned, round_)


def test_parts_that_the_job_cannot_have_are_refused() -> None:
    """A saved round whose job is cut into more parts than it has hives is no round of this farm."""
    farm = carrying(heavy_farm(35), 240)
    legs = legs_of(farm)
    _, round_ = plan_shared(farm, legs, (SUMMER,))
    text = round_.model_dump_json()
    assert " of 2" in text or " of 3" in text
    forged = text.replace(" of 2", " of 200000").replace(" of 3", " of 300000")
    with pytest.raises(AskedError):
        plan_stage.saved(farm, forged)


def test_fit_and_plan_agree_on_a_job_of_two_loads() -> None:
    """What is too heavy for one load and done in two is no certain no."""
    job = Job(id="jobs.csv:2", site="brook", kind="supers-off", hives=12, rank=Rank.MUST)
    farm = carrying(returning_farm(jobs=(job,)), 220)
    legs = legs_of(farm)
    _, round_ = plan_shared(farm, legs, (SUMMER,))
    assert round_.all_done
    assert fit_shared(farm, legs, SUMMER).fits
    once = farm.model_copy(update={"crews": (CREW.model_copy(update={"trips_a_day": 1}),)})
    answer = fit_shared(once, legs, SUMMER)
    assert (answer.fits, answer.proof) == (False, FitProof.CERTAIN)
    assert not {WHOLE_WORDS, TRIED_WORDS} & set(answer.lines)
