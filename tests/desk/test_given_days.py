"""Days given by hand: what the timing says of them is what the check says, and what breaks is told at its place."""

from __future__ import annotations

import datetime as dt
import random

import pytest

from routing.check import broken_promises
from routing.errors import AskedError
from routing.farm.models import Farm
from routing.planning.ask.given_days import GivenDay, GivenDays, GivenRound, given_in
from routing.planning.ask.given_places import placed
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.round import ReasonCode, Rule
from routing.travel.farm import farm_and_legs, farm_legs
from tests.moving_farm import HEFT, MOVE, SUMMER, legs_of, moving_farm
from tests.planning.paper_farm import JUNE, VAN, crew, days_of, job, paper_farm, span
from tests.random_farms import random_farm, with_tight_loads
from tests.together import then_deep

CHANGES = 12


def given(farm: Farm, *stops: tuple[str, ...]) -> GivenRound:
    """Return what becomes of one crew's day, which the check calls good exactly where it holds."""
    found = GivenDays(days_of(farm)).timed([GivenDay(farm.crews[0].id, JUNE, stops)])
    assert found.untimed or found.holds == (broken_promises(found.round, farm, farm_legs(farm)) == ())
    return found


def one(*jobs: int) -> tuple[str, ...]:
    """Return a stop of jobs of jobs.csv by their lines."""
    return tuple(f"jobs.csv:{line}" for line in jobs)


def shuffled(days: GivenDays, dice: random.Random) -> list[GivenDay]:
    """Return any of the jobs, in stops of one place each, on any crew-days in any order."""
    jobs = [each.id for each in days.instance.jobs]
    stops: dict[tuple[int, str], list[str]] = {}
    for each in dice.sample(jobs, dice.randint(1, len(jobs))):
        place = days.instance.task_places[days.tasks[each]]
        stops.setdefault((place, "" if dice.random() < 0.7 else each), []).append(each)
    order = dice.sample(list(stops.values()), len(stops))
    of_days: dict[tuple[str, dt.date], list[tuple[str, ...]]] = {day: [] for day in days.routes}
    for stop in order:
        of_days[dice.choice(list(of_days))].append(tuple(stop))
    return [GivenDay(*day, tuple(some)) for day, some in of_days.items()]


@pytest.mark.parametrize("seed", then_deep(range(27), range(200)))
def test_what_is_said_to_hold_passes_the_check_and_what_is_said_to_break_fails_it(seed: int) -> None:
    """Over 300 random changes of random farms: one crew or two, one day or two, tight loads on every third farm."""
    farm, date = random_farm(seed)
    farm, legs = farm_and_legs(with_tight_loads(farm, seed) if seed % 3 == 0 else farm)
    dates = (date, date + dt.timedelta(days=1))[: 2 - seed % 2]
    days = GivenDays(build_instance(farm, legs, dates))
    if not days.routes or not days.instance.jobs:
        return
    dice = random.Random(seed)
    for _ in range(CHANGES):
        found = days.timed(shuffled(days, dice))
        broken = broken_promises(found.round, farm, legs)
        assert found.untimed or found.holds == (not broken), (found.breaches, broken)


@pytest.mark.parametrize("seed", range(4))
def test_a_planned_round_given_by_hand_has_the_same_times_to_the_second(seed: int) -> None:
    farm, date = random_farm(seed)
    farm, legs = farm_and_legs(farm)
    instance = build_instance(farm, legs, (date,))
    round_ = plan_days(instance, work=1)
    found = GivenDays(instance).timed(given_in(round_))
    assert found.holds
    assert found.round.itineraries == round_.itineraries


def test_what_is_late_is_told_at_its_stop_and_at_home_with_its_minutes() -> None:
    """From 08:00: 10 min there and 60 of work, gate at 09:00; elm 60 more, home 10:30 for 10:00."""
    gate = {"hours": (span("08:00", "09:00"),)}
    farm = paper_farm([job("ash", 60), job("elm", 60)], 10, sites={"ash": gate}, crews=crew(home_by=dt.time(10)))
    found = given(farm, one(2), one(3))
    assert [(breach.rule, breach.stop) for breach in found.breaches] == [(Rule.HOURS, 0), (Rule.HOME, None)]
    assert found.breaches[0].text == "Finished at 09:10, 10 min after it must be (09:00: opening hours)."
    assert found.breaches[1].text == "Home at 10:30, 30 min after the crew must be (10:00)."
    assert [f"{stop.finish:%H:%M}" for stop in found.round.itineraries[0].stops] == ["09:10", "10:20"]


def test_load_store_and_what_must_be_last_are_told_where_they_break() -> None:
    van = {"van": VAN.model_copy(update={"payload_kg": 100})}
    heavy = paper_farm([job("ash", 6, kind="lift"), job("elm", 6, kind="lift")], 10, vehicles=van)
    assert [(b.rule, b.stop) for b in given(heavy, one(2), one(3)).breaches] == [(Rule.PAYLOAD, 1)]
    fed = paper_farm([job("ash", 60, kind="feed"), job("elm", 60, kind="feed")], 10, stock={"dough": 100})
    assert [(b.rule, b.stop) for b in given(fed, one(2), one(3)).breaches] == [(Rule.STOCK, 1)]
    suspect = paper_farm([job("ash", 10), job("elm", 10)], 10, sites={"ash": {"last_of_day": True}})
    assert [(b.rule, b.stop) for b in given(suspect, one(2), one(3)).breaches] == [(Rule.LAST, 1)]
    assert given(suspect, one(3), one(2)).holds


def test_what_is_not_given_is_left_out_and_what_cannot_be_given_is_refused() -> None:
    farm = paper_farm([job("ash", 10), job("elm", 10)], 10)
    found = given(farm, one(2))
    assert [(left.site, left.reason) for left in found.round.left_out] == [("elm", ReasonCode.NOT_ASKED)]
    for stops, words in (((one(2), one(2)), "twice"), ((one(2, 3),), "at several"), ((one(9),), "not one of those")):
        with pytest.raises(AskedError, match=words):
            given(farm, *stops)
    with pytest.raises(AskedError, match="not out"):
        GivenDays(days_of(farm)).timed([GivenDay("nobody", JUNE, (one(2),))])


def test_a_job_goes_in_where_it_breaks_least_and_joins_a_stop_at_its_site() -> None:
    """Elm's gate is open until 08:30 only: it goes first; a second job at ash joins the stop there."""
    farm = paper_farm(
        [job("ash", 60), job("elm", 10), job("ash", 5, kind="feed")],
        10,
        sites={"elm": {"hours": (span("08:00", "08:30"),)}},
    )
    days = GivenDays(days_of(farm))
    who = farm.crews[0].id
    first = placed(days, (GivenDay(who, JUNE, (one(2),)),), one(3), list(days.routes))
    assert first == (GivenDay(who, JUNE, (one(3), one(2))),)
    assert placed(days, first, one(4), list(days.routes)) == (GivenDay(who, JUNE, (one(3), one(2, 4))),)


def test_a_move_and_other_work_at_its_site_go_in_as_a_stop_each() -> None:
    """Left out together they are one line of one site, and what adds that line says no stop of two places."""
    farm = moving_farm(jobs=(MOVE, HEFT.model_copy(update={"id": "jobs.csv:4", "site": "ridge", "hives": 6})))
    days = GivenDays(build_instance(farm, legs_of(farm), (SUMMER,)))
    (day,) = placed(days, (), (MOVE.id, "jobs.csv:4"), list(days.routes))
    assert sorted(day.stops) == [(MOVE.id,), ("jobs.csv:4",)]
    found = days.timed([day])
    assert found.holds
    assert broken_promises(found.round, farm, legs_of(farm)) == ()
