"""What follows a search ends by the clock too: by no more than the promised time, and with less told, never with a fault."""

from __future__ import annotations

import datetime as dt
import threading
import time

import pytest

from routing.farm.models import Farm, Rank
from routing.planning.ahead import Question, explained
from routing.planning.explain.outcome import left_out_entries
from routing.planning.explain.reasons import certain_reasons
from routing.planning.model.instance import Instance
from routing.planning.model.order_costs import OrderCosts
from routing.planning.plan import Wish, plan_days
from routing.planning.running.stoppable import stoppable
from routing.planning.running.time_limit import TimeOverError, heed, over, within
from routing.planning.search.insertion import construct
from tests.planning.paper_farm import crew, days_of, job, paper_farm


def past() -> float:
    return time.monotonic() - 1


def three_musts_of_two() -> Farm:
    """Three musts of 60 min 10 min apart, and a day of 150: any two fit (30 + 120), all three do not."""
    jobs = [job(site, 60, Rank.MUST) for site in ("ash", "elm", "oak")]
    return paper_farm(jobs, 10, crews=crew(home_by=dt.time(10, 30)))


@pytest.fixture
def day() -> Instance:
    return days_of(three_musts_of_two())


def test_a_solver_that_blocks_is_told_to_stop_when_the_time_is_over() -> None:
    told = threading.Event()
    with within(past()), pytest.raises(TimeOverError):
        stoppable(lambda: told.wait(60), told.set)
    assert told.is_set()
    assert stoppable(told.is_set) == (True, False), "with no end before it, a call returns what it returns"


def test_local_search_gives_up_when_the_time_is_over(day: Instance) -> None:
    every = frozenset(range(3))
    with within(past()), pytest.raises(TimeOverError):
        construct(OrderCosts(day.problem), every)
    with within(None):
        assert any(construct(OrderCosts(day.problem), every))


def test_of_two_ends_the_sooner_holds_and_is_gone_after() -> None:
    with within(time.monotonic() + 1000):
        with within(past()), within(time.monotonic() + 1000):
            assert over()
        assert not over()
    assert not over()


def test_remedies_and_a_clash_are_told_where_there_is_time_and_only_they_are_left_away(day: Instance) -> None:
    certain, orders = certain_reasons(day), construct(OrderCosts(day.problem), frozenset(range(3)))
    question = Question(day, frozenset(range(3)), certain, orders, surest=False)
    in_time, late = explained(question), explained(question, None, past())
    assert [entry.site for entry in late.entries] == [entry.site for entry in in_time.entries]
    assert in_time.clash.startswith("These 3 musts cannot all be done")
    assert late.clash == ""
    assert in_time.entries[0].remedies
    assert not any(entry.remedies for entry in late.entries)
    assert [entry.text for entry in late.entries] == [entry.text for entry in in_time.entries]
    assert left_out_entries(day, orders, certain, deadline=past()) == late.entries


def test_a_plan_by_the_clock_seeks_no_surer_order_after_its_time(
    day: Instance, monkeypatch: pytest.MonkeyPatch
) -> None:
    def late(*_: object, **__: object) -> None:
        end = time.monotonic() + 60
        while time.monotonic() < end:
            heed()
            time.sleep(0.01)

    monkeypatch.setattr("routing.planning.plan.surer", late)
    from_search = plan_days(day, wish=Wish(seconds=0.5))
    assert from_search.itineraries
    assert from_search.surest is None
